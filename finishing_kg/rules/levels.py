"""How grave a finding is: the level that follows from what it threatens."""

from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Vocabulary

# What a consequence calls for, the gravest first, with the phrase of its level.
_LEVELS = (("stopsTheWork", "isStoppedBy"), ("callsForCare", "isCautionedFor"), ("isWorthANote", "isNotedFor"))
_PHRASES = tuple(phrase for _, phrase in _LEVELS)
_LOWER = {"bringsUp": 0, "mayBringUp": 1}


def level_of(vocabulary: Vocabulary, finding: str, *, possible: bool = False) -> str | None:
    """The phrase of the level of a finding, one lower where it is only held possible; ``None`` where it threatens nothing that is known."""
    for consequence in vocabulary.related(finding, "threatens"):
        for place, (trait, _) in enumerate(_LEVELS):
            if vocabulary.holds(consequence, trait):
                return _PHRASES[min(place + possible, len(_PHRASES) - 1)]
    return None


def levelled(vocabulary: Vocabulary, conclusion: Statement) -> Statement:
    """A conclusion that brings a finding up, with the level of that finding; any other as it is."""
    if conclusion.predicate not in _LOWER or not isinstance(conclusion.object, str):
        return conclusion
    level = level_of(vocabulary, conclusion.object, possible=bool(_LOWER[conclusion.predicate]))
    return Statement(level, conclusion.subject, conclusion.object) if level else conclusion


def level_fault(language: Language, conclusion: Statement) -> str | None:
    """What is wrong with the level in a conclusion; ``None`` where it follows from what the finding threatens."""
    vocabulary, finding = language.vocabulary, conclusion.object
    if conclusion.predicate not in (*_PHRASES, *_LOWER):
        return None
    if not isinstance(finding, str) or finding not in vocabulary.names:
        return "A rule that brings something up names the finding." if conclusion.predicate in _LOWER else None
    sure, possible = level_of(vocabulary, finding), level_of(vocabulary, finding, possible=True)
    if sure is None:
        return f"Nobody says what {finding} threatens, so its level is not known. Say it of the finding: fk:threatens fk:time-lost"
    if conclusion.predicate in (sure, possible, *_LOWER):
        return None
    better = language.print(Statement("bringsUp", conclusion.subject, finding))
    return f"The level of {finding} follows from what it threatens, and is another. Write: {better}"
