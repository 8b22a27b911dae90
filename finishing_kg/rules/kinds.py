"""Whether the variables of a rule can mean anything: bound where they are used, of one kind, in one unit."""

from collections import Counter
from collections.abc import Iterator

from finishing_kg.statements import Language, Statement, Variable
from finishing_kg.statements.names import kinds_in, one_of

Fault = tuple[str, int, str]
"""Key of the rule, index of the sentence in it, and what is wrong."""


def check_variables(
    language: Language, conditions: tuple[Statement, ...], exceptions: tuple[Statement, ...], conclusions: tuple[Statement, ...]
) -> Iterator[Fault]:
    """All faults of the variables of one rule, worded for its writer."""
    bound = {name for condition in conditions if condition.comparison == "is" for name in condition.variables()}
    bound |= {condition.subject.name for condition in conditions if isinstance(condition.subject, Variable)}
    for index, condition in enumerate(conditions):
        if condition.comparison != "is" and isinstance(condition.object, Variable) and condition.object.name not in bound:
            example = f"the {language.vocabulary.phrases[condition.predicate].words} of ?other is {condition.object}"
            yield "if", index, f"{condition.object} is compared with, but no condition says what it is. Add one such as: {example}"
    for index, conclusion in enumerate(conclusions):
        for name in conclusion.variables():
            if name not in bound:
                use = f"Add a condition with ?{name}, or use one of: {_listed(bound)}."
                yield "then", index, f"?{name} is concluded about, but no condition says what it is. {use}"
        if conclusion.comparison != "is":
            yield "then", index, f"A conclusion says what is so; {language.print(conclusion)!r} only compares."
    loose = Counter(name for exception in exceptions for name in set(exception.variables()) - bound)
    for index, exception in enumerate(exceptions):
        for name in exception.variables():
            if name not in bound and loose[name] > 1:
                yield (
                    "unless",
                    index,
                    (
                        f"?{name} stands in several 'unless' sentences and in no condition. Each 'unless' blocks the rule by itself; "
                        f"for a joint exception conclude it in a rule of its own, and name that here."
                    ),
                )
        if exception.comparison != "is" and isinstance(exception.object, Variable) and exception.object.name not in bound:
            yield "unless", index, f"{exception.object} is compared with, but no condition says what it is."
    yield from _exact(language, {"if": conditions, "unless": exceptions})
    yield from _kinds(language, {"if": conditions, "unless": exceptions, "then": conclusions})


def _listed(names: set[str]) -> str:
    return ", ".join(f"?{name}" for name in sorted(names)) or "no variable is bound yet"


def _exact(language: Language, parts: dict[str, tuple[Statement, ...]]) -> Iterator[Fault]:
    """Quantities that would have to be the same as written: 1 mm is then not 1000 µm, and a range meets nothing."""
    met: dict[str, Statement] = {}
    for key, sentences in parts.items():
        for index, sentence in enumerate(sentences):
            phrase = language.vocabulary.phrases[sentence.predicate]
            if phrase.shape != "quantity" or sentence.comparison != "is":
                continue
            subject = language.names.label(sentence.subject) if isinstance(sentence.subject, str) else str(sentence.subject)
            if isinstance(sentence.object, Variable):
                first = met.setdefault(sentence.object.name, sentence)
                if first is not sentence:
                    said = f"{sentence.object} would have to be exactly what {language.print(first)!r} says."
                    yield key, index, f"{said} Compare: the {phrase.words} of {subject} is at least {sentence.object}"
            else:
                said = f"{sentence.object} is met only as it is written, not by the same in another unit nor by a range."
                yield key, index, f"{said} Compare: the {phrase.words} of {subject} is at least {sentence.object}"


def _kinds(language: Language, parts: dict[str, tuple[Statement, ...]]) -> Iterator[Fault]:
    """A variable that would have to be of two kinds at once, or a quantity of two dimensions."""
    vocabulary = language.vocabulary
    possible: dict[str, frozenset[str]] = {}
    first: dict[str, str] = {}
    for key, sentences in parts.items():
        for index, sentence in enumerate(sentences):
            phrase = vocabulary.phrases[sentence.predicate]
            subjects, objects = kinds_in(vocabulary, phrase)
            for term, kinds in ((sentence.subject, subjects), (sentence.object, objects)):
                if not isinstance(term, Variable):
                    continue
                before = possible.get(term.name)
                if before is None:
                    possible[term.name], first[term.name] = kinds, language.print(sentence)
                elif not before & kinds:
                    clash = f"{term} would have to be {one_of(sorted(kinds)[:3])} here and {one_of(sorted(before)[:3])} in {first[term.name]!r}."
                    yield key, index, f"{clash} Use another variable, or another phrase."
                else:
                    possible[term.name] = before & kinds
