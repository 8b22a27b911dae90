"""How long it takes to index the ontology's words and to read a turn, beside a bare loop over the same text.

Run by hand: ``python tests/benchmarks/reading.py``. It asserts nothing about time. With ``--held-out`` it prints instead how
many of the held-out questions are understood, by recipe, beside what was recorded on their first run; with ``--held-out second``
to ``--held-out seventeenth`` those of that set, and what was not right of each.
"""

import statistics
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from finishing_kg.chat.indexing import index
from finishing_kg.chat.read import read
from finishing_kg.places import shipped
from finishing_kg.vocabulary import load_vocabulary

QUESTION = "Cast relief in lead crystal, straight from the mould, I only have pumice, a brush wheel and F400 carbide; to a pre-polish please"


def median_ms(run: Callable[[], object], times: int = 21) -> float:
    """Median time of several runs in milliseconds."""
    taken = []
    for _ in range(times):
        began = time.perf_counter()
        run()
        taken.append((time.perf_counter() - began) * 1000)
    return statistics.median(taken)


def held_out(which: str) -> None:
    """Print the figures of the held-out questions: of the first set, or of the one that ``which`` names."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    import held_out
    import held_out_sets

    from finishing_kg.engine import Knowledge

    knowledge = Knowledge.shipped()
    kinds = (held_out.FULL, held_out.PARTLY, held_out.MISREAD)
    file = held_out_sets.SETS.get(which, held_out.FILE)
    first_set = file == held_out.FILE
    # A set has no first run before it is read for the first time.
    recorded = tomllib.loads(file.read_text(encoding="utf-8")).get("first_run", {})
    now = held_out.figures(knowledge) if first_set else held_out_sets.figures(knowledge, file)
    unread = dict.fromkeys(kinds, 0)
    rows = [(recipe, [counts[kind] for kind in kinds], [recorded.get(recipe, unread)[kind] for kind in kinds]) for recipe, counts in now.items()]
    rows.append(("all", *([sum(row[place][at] for row in rows) for at in range(len(kinds))] for place in (1, 2))))  # type: ignore[arg-type]
    print(f"{'':16}fully partly misread   first run")
    for recipe, counts, first in rows:
        print(f"{recipe:16}{counts[0]:5} {counts[1]:6} {counts[2]:7}   {first[0]} {first[1]} {first[2]}")
    for question in [] if first_set else held_out_sets.questions(file):
        kind, wrong = held_out_sets.judged(knowledge, question)
        if wrong:
            print(f"{kind}: {question['ask']}\n    {'; '.join(wrong)}")


def main() -> None:
    """Print the table."""
    if "--held-out" in sys.argv[1:]:
        held_out(sys.argv[-1])
        return
    vocabulary = load_vocabulary(shipped("ontology"))
    read(vocabulary, QUESTION)
    words = median_ms(lambda: [word.casefold() for word in QUESTION.split()])
    for name, figure in (
        ("splitting the text into words", words),
        ("reading it", median_ms(lambda: read(vocabulary, QUESTION))),
        ("reading twenty of it", median_ms(lambda: read(vocabulary, QUESTION * 20))),
        ("indexing all words", median_ms(lambda: index(vocabulary), 5)),
    ):
        print(f"{name:32} {figure:9.3f} ms  {figure / words:9.0f} x splitting")


if __name__ == "__main__":
    main()
