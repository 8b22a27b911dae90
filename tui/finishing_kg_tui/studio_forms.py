"""The forms that add to a studio: a rule, a thing, something on the shelf, a line of the bench log."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from finishing_kg_tui.screens.choose import Choice
from finishing_kg_tui.screens.form import Field, Form, Progress, Values

if TYPE_CHECKING:
    from finishing_kg.advice.contract import ProposedRule
    from finishing_kg.statements import Language
    from finishing_kg.statements.next_words import Place
    from finishing_kg_tui.keeping import Kept

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LEAST_REASON = 10
_YES = [Choice("yes", "yes, it guards against harm")]
_TEXTS = {"how": "How to use", "done-when": "Done when", "before-next": "Before the next"}


def form_for(section: str, kept: Kept) -> Form | None:
    """The form that adds to a section; None where nothing is added by a form."""
    made = {"Rules": rule_form, "Things": thing_form, "Shelf": shelf_form, "Bench log": log_form}
    return made[section](kept) if section in made else None


def _one(values: Values, key: str) -> str:
    return values[key][0] if values[key] else ""


def _hyphened(text: str) -> str:
    """A text as an identifier: ``Leather wheel`` as ``leather-wheel``."""
    return "-".join(re.findall(r"[a-z0-9]+", text.casefold()))


def _identifier(taken: Callable[[str], bool]) -> Callable[[Values, str], str]:
    def refused(_values: Values, text: str) -> str:
        if not _ID.fullmatch(text):
            made = _hyphened(text)
            return "Small letters, digits and hyphens" + (f", such as {made}" if made else "") + "."
        return "This name is taken; take another." if taken(text) else ""

    return refused


# A rule


def rule_form(kept: Kept, proposed: ProposedRule | None = None) -> Form:
    """Write a rule: sentences of what is legal next, a reason and a basis.

    Args:
        kept: the studio.
        proposed: a rule that it begins with.
    """
    from finishing_kg.rules.draft import PARTS, draft_of
    from finishing_kg.studio.guard import guard_of

    studio = kept.studio
    language, base = studio.knowledge.language, studio.knowledge.base
    closed = frozenset(guard_of(kept.shipped.vocabulary, kept.shipped.base).closed)

    def at(part: str) -> Callable[[Values], tuple[Language, Place, str]]:
        return lambda values: (language, draft_of(language, {each: values[each] for each in PARTS}).place(language, part, closed), "")

    basis = studio.knowledge.vocabulary.basis_order
    fields = (
        Field(
            *("id", "Name", "A short name of its own: small letters, digits and hyphens, such as no-felt-on-reliefs."),
            needed=True,
            refusal=_identifier(lambda text: text in base.by_id),
        ),
        Field("if", "If", "What must hold, all of it; in sentences made of the words that may come next.", "sentence", True, True, sentence=at("if")),
        Field("unless", "Unless", "What blocks the rule, any of it.", "sentence", many=True, sentence=at("unless")),
        Field("then", "Then", "What follows, such as: ?option is ruled out.", "sentence", True, True, sentence=at("then")),
        Field("because", "Because", "The reason, in a full sentence that a maker reads.", needed=True, refusal=_reason),
        Field("basis", "Basis", "What it rests on.", "choice", True, choices=lambda _: [Choice(kind, kind) for kind in basis]),
        Field("source", "Source", "Where it can be looked up, if it can."),
        Field(
            *("overrides", "Wins over", "A rule that this one contradicts and wins over.", "choice"),
            many=True,
            choices=lambda _: [Choice(rule.id, rule.id, rule.because) for rule in base.rules if not rule.safety],
        ),
        Field("safety", "Safety", "Whether it guards against harm to people: nothing then wins over it.", "choice", choices=lambda _: _YES),
    )
    return Form("write a rule", fields, lambda values: _save_rule(kept, values), _foreseen(kept), (*_begun(proposed), ("basis", "studio")))


def _begun(proposed: ProposedRule | None) -> list[tuple[str, str]]:
    """A proposed rule as the values that its form begins with."""
    if proposed is None:
        return []
    parts = {"id": [proposed.id], "if": proposed.conditions, "then": proposed.conclusions, "because": [proposed.because]}
    return [(key, value) for key, values in {**parts, "overrides": proposed.overrides}.items() for value in values]


def _reason(_values: Values, text: str) -> str:
    return "" if len(text) >= _LEAST_REASON else "A full sentence, so that whoever reads it knows why."


def rule_entry(values: Values) -> dict[str, Any]:
    """The keys of a ``[[rule]]`` table."""
    entry: dict[str, Any] = {"id": _one(values, "id"), "if": values["if"], "unless": values["unless"], "then": values["then"]}
    entry |= {"because": _one(values, "because"), "basis": {"kind": _one(values, "basis"), "source": _one(values, "source")}}
    return entry | {"overrides": values["overrides"], "safety": bool(values["safety"])}


def _save_rule(kept: Kept, values: Values) -> str:
    from finishing_kg.studio.add import add_rule

    add_rule(kept.studio.folder, rule_entry(values))
    return f"Saved the rule {_one(values, 'id')}. The next new piece is answered with it; to undo it, take it out of the list."


def _foreseen(kept: Kept) -> Callable[[Values, Progress, Callable[[], bool]], list[str]]:
    """Which answers of the case library would change: the rule is tried on a copy of the studio's files, and nothing is written."""

    def lines(values: Values, progress: Progress, stop: Callable[[], bool]) -> list[str]:
        from finishing_kg.studio.add import add_rule
        from finishing_kg.studio.edit import copied
        from finishing_kg.studio.impact import impact, in_short, lines_of
        from finishing_kg.studio.library import library_of
        from finishing_kg.studio.say import Account, lines_of_account

        with copied(kept.studio.folder) as trial:
            after = add_rule(trial, rule_entry(values)).knowledge
        library = library_of(kept.studio, progress, stop, upon=kept.shipped)
        said: list[str] = []
        where: list[str] = []

        def first(account: Account) -> None:
            where.extend(lines_of_account(account))

        def going(done: int, of: int) -> None:
            found = [f"{len(said)} answer otherwise, the last {said[-1]}"] if said else []
            progress(done, of, "\n".join([*found, *where]))

        return lines_of(impact(library, after, progress=going, stop=stop, first=first, hear=lambda change: said.append(in_short(change))))

    return lines


# A thing


def thing_form(kept: Kept) -> Form:
    """Add a thing with what is held of it, or further names of one that is there."""
    from finishing_kg.studio.things import KINDS

    studio = kept.studio
    names = studio.knowledge.vocabulary.names

    def said(values: Values) -> tuple[Language, Place, str]:
        from finishing_kg.statements.next_words import Place

        label = _one(values, "label")
        if not (label and values["id"] and values["kind"]):
            raise ValueError("First say its kind, its name and how it is called; what is held of it begins with that.")
        return _with_thing(kept, values), Place("fact"), label

    fields = (
        Field("kind", "Kind", "What kind of thing it is; leave it empty to add names to a thing that is there.", "choice", choices=_kinds(KINDS)),
        Field("label", "Called", "How it is called in sentences, such as leather wheel."),
        Field(
            *("id", "Name", "A short name, such as leather-wheel; of a thing that is there its own."),
            needed=True,
            refusal=_thing_id(names),
            suggested=lambda values: _hyphened(_one(values, "label")),
        ),
        Field("also", "Also called", "Another name, a plural or another spelling.", many=True),
        Field("definition", "What it is", "One sentence."),
        Field("says", "Held of it", "What it takes, reaches, is driven by; what is still owed is told.", "sentence", many=True, sentence=said),
        *(Field(role, label, "A sentence that a maker reads.") for role, label in _TEXTS.items()),
    )
    return Form("add a thing", fields, lambda values: _save_thing(kept, values))


def _kinds(kinds: tuple[str, ...]) -> Callable[[Values], list[Choice]]:
    return lambda _: [Choice(kind, kind) for kind in kinds]


def _thing_id(names: Mapping[str, Any]) -> Callable[[Values, str], str]:
    new, there = _identifier(lambda text: text in names), _identifier(lambda text: text not in names)

    def refused(values: Values, text: str) -> str:
        if values["kind"]:
            return new(values, text)
        return "" if not there(values, text) else "There is no thing of this name. For a new one first choose its kind."

    return refused


def _with_thing(kept: Kept, values: Values) -> Language:
    """The language with the new thing in it, so that something can be said of it."""
    from finishing_kg.record import replace
    from finishing_kg.statements import Language
    from finishing_kg.vocabulary import Name

    vocabulary = kept.studio.knowledge.vocabulary
    thing = Name(_one(values, "id"), _one(values, "id"), _one(values, "kind"), _one(values, "label"))
    return Language(replace(vocabulary, names={**vocabulary.names, thing.id: thing}))


def _save_thing(kept: Kept, values: Values) -> str:
    from finishing_kg.studio.add import add_thing

    add_thing(
        kept.studio.folder,
        _one(values, "id"),
        kind=_one(values, "kind") or None,
        label=_one(values, "label") or None,
        also=values["also"],
        definition=_one(values, "definition") or None,
        says=values["says"],
        texts=[(role, _one(values, role)) for role in _TEXTS if values[role]],
    )
    return f"Saved {_one(values, 'id')}. To undo it, take it out of the list."


# The shelf, the bench log


def shelf_form(kept: Kept) -> Form:
    """Put something on the shelf."""
    from finishing_kg.studio.shelf import KINDS

    vocabulary = kept.studio.knowledge.vocabulary
    there = {item.thing for item in kept.studio.shelf.items}
    found = [(name, kind) for kind in KINDS for name in vocabulary.things(kind) if name.id not in there]
    things = [Choice(name.notation, f"{name.label} ({kind})", name.note) for name, kind in found]

    def grades(values: Values) -> list[Choice]:
        from finishing_kg_tui.planning import choices

        return [grade for grade in choices(kept.studio.knowledge, "grade", {"mineral": _one(values, "thing")}) if grade.value not in values["grades"]]

    def speed(_values: Values, text: str) -> str:
        from finishing_kg_tui.planning import refusal

        return refusal(kept.studio.knowledge, "rated_speed", {}, text)

    fields = (
        Field("thing", "Thing", "A mineral, hold, carrier or machine that is there.", "choice", True, choices=lambda _: things),
        Field("grades", "Grades", "Of a mineral: the grades that are there.", "choice", many=True, choices=grades),
        Field("marked_speed", "Marked for", "Of a wheel: the greatest turning speed marked on it, such as 1400 rpm.", refusal=speed),
    )
    return Form("put something on the shelf", fields, lambda values: _save_shelf(kept, values))


def _save_shelf(kept: Kept, values: Values) -> str:
    from finishing_kg.studio.add import add_to_shelf

    add_to_shelf(kept.studio.folder, _one(values, "thing"), values["grades"], _one(values, "marked_speed") or None)
    return f"On the shelf: {_one(values, 'thing')}. To undo it, take it out of the list."


def log_form(kept: Kept) -> Form:
    """Write down what was done and how long it took."""
    from finishing_kg_tui import planning

    knowledge = kept.studio.knowledge

    def part(key: str, kind: str = "") -> Callable[[Values], list[Choice]]:
        return lambda values: planning.choices(knowledge, kind or key, said(values, "mineral", "hold", "carrier"))

    def said(values: Values, *keys: str) -> dict[str, str]:
        return {each: values[each][0] for each in keys if values.get(each)}

    def grade(values: Values, text: str) -> str:
        return planning.refusal(knowledge, "grade", said(values, "mineral", "hold"), text)

    def time(_values: Values, text: str) -> str:
        return planning.refusal(knowledge, "minutes", {}, text)

    fields = (
        Field("minutes", "Took", "How long it took, such as 12 min.", needed=True, refusal=time),
        Field("glass", "Glass", "Which glass it was.", "choice", choices=part("glass")),
        Field("form", "Form", "Where the work was.", "choice", choices=part("form")),
        Field("mineral", "Mineral", "What cut.", "choice", choices=part("mineral")),
        Field("hold", "Hold", "How the grain was held.", "choice", choices=part("hold")),
        Field("grade", "Grade", "The grade that was used.", choices=part("grade"), refusal=grade),
        Field("carrier", "Carrier", "What carried it.", "choice", choices=part("carrier")),
        Field("found", "Left by", "The grade that had left the surface before.", refusal=lambda _, text: grade({}, text)),
        Field("found_hold", "Its hold", "How the grain of that grade was held.", "choice", choices=part("found_hold", "hold")),
        Field("area", "Area", "Of the face that was worked, such as 80 cm²."),
        Field("note", "Note", "Anything in words."),
    )
    return Form("write into the bench log", fields, lambda values: _save_record(kept, values))


def _save_record(kept: Kept, values: Values) -> str:
    from finishing_kg.studio import log, read_studio

    folder = kept.studio.folder
    log.write(folder, log.record_of(kept.studio.knowledge.vocabulary, {key: _one(values, key) for key in values}))
    compared = read_studio(folder, kept.shipped).jobs[-1]
    return "Written into the bench log." + (f" It counts for no pace: {compared.why_not}" if compared.why_not else "")
