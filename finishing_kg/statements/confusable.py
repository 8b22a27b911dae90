"""Whether two phrases of a vocabulary could make the same sentence."""

from collections import deque
from collections.abc import Iterator

from finishing_kg.statements.language import Language
from finishing_kg.statements.word_graph import WordGraph

_Pair = tuple[int, int]


def confusable(language: Language) -> list[tuple[str, str, str]]:
    """All pairs of phrases that share a sentence.

    Two readings are followed side by side through the graph of all sentences, word by word, so nothing is
    sampled: if a pair is not listed, no sentence can be read with both.

    Returns:
        The ids of both phrases, the lesser first, and the shortest sentence that they share; sorted.
    """
    graph = language.graph
    found: dict[tuple[str, str], str] = {}
    came_from: dict[_Pair, tuple[_Pair, str] | None] = {(0, 0): None}
    work = deque([(0, 0)])
    while work:
        here = work.popleft()
        first, second = (graph.ends.get(node) for node in here)
        if first is not None and second is not None and first < second:
            found.setdefault((first, second), _spelt(here, came_from, graph))
        for word, there in _steps(graph, *here):
            if there not in came_from:
                came_from[there] = (here, word)
                work.append(there)
    return sorted((first, second, sentence) for (first, second), sentence in found.items())


def _steps(graph: WordGraph, a: int, b: int) -> Iterator[tuple[str, _Pair]]:
    """Every word that leads on from both nodes, with the nodes that it leads to."""
    for word in graph.words[a]:
        for after_a in sorted(graph.words[a][word]):
            for after_b in sorted(graph.words[b].get(word, ())):
                yield word, (after_a, after_b)
    for left, right, turned in ((a, b, False), (b, a, True)):
        for kind, after in graph.classes[left]:
            for word, others in graph.words[right].items():
                if kind.pattern.fullmatch(word):
                    yield from ((word, (other, after) if turned else (after, other)) for other in sorted(others))
    for kind_a, after_a in graph.classes[a]:
        for kind_b, after_b in graph.classes[b]:
            if (sample := kind_a.common(kind_b)) is not None:
                yield sample, (after_a, after_b)


def _spelt(end: _Pair, came_from: dict[_Pair, tuple[_Pair, str] | None], graph: WordGraph) -> str:
    words: list[str] = []
    step = came_from[end]
    while step is not None:
        end, word = step
        words.append(graph.shown.get(word, word))
        step = came_from[end]
    return " ".join(reversed(words))
