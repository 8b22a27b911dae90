"""What can be said to a maker who does not know what was asked: the route that is safe whatever it is, or why none is."""

from __future__ import annotations

from decimal import Decimal

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.complete import complete
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.routes import Case
from finishing_kg.statements import option_parts

_WHY_NONE = {
    "finish": "How it should end is yours to say: every step follows from it, and what is taken off too far cannot be put back.",
    "form": "Where the work is decides what may touch it, and no tool is right for every place.",
    "surface": "No beginning is right for every surface that it could be.",
}
_MOST_EXAMPLES = 2


def safest_surface(knowledge: Knowledge, case: Case) -> Case | None:
    """The case with the roughest surface supposed that a route begins from; ``None`` if there is no route from any.

    A route that begins coarse enough for the roughest surface removes the marks of any finer one as well; it only takes longer.

    Args:
        knowledge: ontology and rules.
        case: with the finish known, and the form where the finish needs one.
    """
    vocabulary = knowledge.vocabulary
    found: list[tuple[Decimal, str]] = []
    for name in vocabulary.things("surface"):
        advice = Advice(knowledge, complete(vocabulary, replace(case, surface=name.id, surface_grade=None)))
        start = advice.search.start()
        if start is not None and advice.found:
            found.append((start.grain.mid, name.id))
    if not found:
        return None
    _, surface = max(found)
    label = vocabulary.names[surface].label
    because = (
        f"You do not know what the surface is like; it is taken as the roughest that it could be, {label}. "
        "If it is finer, leave out the steps whose marks are not there; if it is bright and sound, leave it and ask first."
    )
    return case.supposing("surface", surface, because)


def why_none_is_safe(knowledge: Knowledge, case: Case, about: str) -> str:
    """Why nothing can be said while something is not known, with what two of its values would come to, where that can be told."""
    examples = _examples(knowledge, case, about)
    told = f" For example: {'; '.join(examples)}." if len(examples) == _MOST_EXAMPLES else ""
    return f"Then I cannot go on safely. {_WHY_NONE.get(about, 'The answer hangs on it.')}{told}"


def _examples(knowledge: Knowledge, case: Case, about: str) -> list[str]:
    vocabulary = knowledge.vocabulary
    if about not in ("form", "finish") or (case.surface is None and complete(vocabulary, case).surface is None):
        return []
    if case.finish is None and about != "finish":
        return []
    told: dict[str, str] = {}
    for name in vocabulary.things(about):
        changed = complete(vocabulary, replace(case, **{about: name.id}))
        if changed.form is None:
            continue
        advice = Advice(knowledge, changed)
        if advice.found and (option := advice.found[0].places[0].option):
            mineral, _, carrier, _ = option_parts(option)
            method = f"{vocabulary.names[mineral].label} on the {vocabulary.names[carrier].label}"
            told.setdefault(method, f"{name.label} would begin with {method}")
        if len(told) == _MOST_EXAMPLES:
            break
    return list(told.values())
