"""Rule files to a checked ``RuleBase``; every fault of every file is reported at once."""

import tomllib
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from finishing_kg.files import Readable
from finishing_kg.record import replace
from finishing_kg.rules.entry import BASIS_KEYS, KEYS, RuleFileEntry
from finishing_kg.rules.errors import RuleFault, RuleFileError
from finishing_kg.rules.kinds import check_variables
from finishing_kg.rules.levels import level_fault, levelled
from finishing_kg.rules.model import Rule, RuleBase, override_facts
from finishing_kg.rules.overrides import check_overrides
from finishing_kg.rules.positions import RulePlace, rule_places
from finishing_kg.rules.strata import NotStratifiable, stratify
from finishing_kg.statements import Language, Statement, StatementError, rule_id
from finishing_kg.texts import MOST_TABLES, NotReadable, text_of
from finishing_kg.vocabulary import Basis

_REPAIRED = 10
"""Sentences of which is said what to write instead: that is searched for, and nobody mends more at a time."""


def load_rules(files: Iterable[Readable], language: Language, onto: RuleBase | None = None) -> RuleBase:
    """Read and check rule files together.

    Args:
        files: of rules.
        language: that their sentences are written in.
        onto: rules that were checked before and that these are added to; they stay as they were read.

    Raises:
        RuleFileError: with everything that is wrong.
    """
    faults: list[RuleFault] = []
    unread: list[RuleFault] = []
    rules: list[Rule] = list(onto.rules) if onto else []
    for file in files:
        rules += _read_file(file, language, faults, unread)
    if len(unread) > _REPAIRED:
        _tell_how_many(faults, unread)
    broken = frozenset(fault.rule for fault in faults if fault.rule)
    faults += _repeated(rules)
    faults += check_overrides(rules, language.vocabulary, broken)
    try:
        base = make_base(rules)
    except NotStratifiable as error:
        first = error.cycle[0][0]
        faults.append(RuleFault(first.file, first.line, first.id, "", error.spelt(language)))
    if faults:
        raise RuleFileError(faults)
    return base


def _tell_how_many(faults: list[RuleFault], unread: list[RuleFault]) -> None:
    """Say with the first sentence that has no repair how many there are in all."""
    first = unread[_REPAIRED]
    total = f"{len(unread)} sentences cannot be read. Of the first {_REPAIRED} I say what to write; mend those, and I say it of the next."
    faults[faults.index(first)] = replace(first, text=f"{first.text}\n{total}")


def make_base(rules: Iterable[Rule]) -> RuleBase:
    """Put checked rules into order.

    Raises:
        NotStratifiable: no order exists.
    """
    ordered = tuple(sorted(rules, key=lambda rule: rule.id))
    return RuleBase(ordered, stratify(ordered), override_facts(ordered))


def _read_file(file: Readable, language: Language, faults: list[RuleFault], unread: list[RuleFault]) -> list[Rule]:
    try:
        text = text_of(file)
        tables = tomllib.loads(text)
    except OSError as error:
        faults.append(RuleFault(str(file), 1, "", "", f"The file cannot be read ({error.strerror})."))
        return []
    except NotReadable as error:
        faults.append(RuleFault(file.name, error.line, "", "", str(error)))
        return []
    except ValueError as error:  # a number of thousands of digits is a plain ValueError
        faults.append(RuleFault(file.name, _line_of(error, text), "", "", f"This is not TOML: {error}."))
        return []
    except RecursionError:
        faults.append(RuleFault(file.name, 1, "", "", "This is not a rule file: it nests lists in lists too deeply."))
        return []
    if extra := sorted(set(tables) - {"rule"}):
        faults.append(RuleFault(file.name, 1, "", "", f"A rule file holds [[rule]] tables only; I found {', '.join(extra)}."))
    entries = tables.get("rule", [])
    wrong = ""
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        wrong = "Write each rule as a table of its own, under a line [[rule]]."
    elif len(entries) > MOST_TABLES:
        wrong = f"A rule file holds at most {MOST_TABLES} rules; this one has {len(entries)}. Split it."
    if wrong:
        faults.append(RuleFault(file.name, 1, "", "", wrong))
        return []
    places = rule_places(text)
    places += [RulePlace(1)] * (len(entries) - len(places))
    read = (_read_rule(entry, place, file, language, faults, unread=unread) for entry, place in zip(entries, places, strict=False))
    return [rule for rule in read if rule is not None]


def _line_of(error: ValueError, text: str) -> int:
    """The line that the message ends with, ``(at line 3, column 5)``, or the last: ``(at end of document)``."""
    digits = str(error).partition("(at line ")[2].partition(",")[0]
    return int(digits) if digits.isdecimal() else max(1, text.rstrip().count("\n") + 1)


def _read_rule(
    entry: dict[str, Any], place: RulePlace, file: Readable, language: Language, faults: list[RuleFault], *, unread: list[RuleFault]
) -> Rule | None:
    """One rule; what is wrong with it is added to ``faults``, and what is wrong with the grammar of a sentence to ``unread`` too."""
    name = str(entry.get("id", ""))[:80]

    def fault(line: int, part: str, text: str, column: int = 0) -> None:
        faults.append(RuleFault(file.name, line, name, part, text, column))

    before = len(faults)
    try:
        read = RuleFileEntry.model_validate(entry)
    except ValidationError as error:
        for problem in error.errors(include_url=False):
            key, *inner = [*problem["loc"], ""]
            if isinstance(inner[0], int):
                fault(place.item(str(key), inner[0]), f"{key} {inner[0] + 1}", _in_words(problem["type"], str(key), "", problem["msg"]))
            else:
                fault(place.keys.get(str(key), place.line), str(key), _in_words(problem["type"], str(key), str(inner[0]), problem["msg"]))
        return None
    if read.basis.kind not in language.vocabulary.basis_order:
        known = ", ".join(language.vocabulary.basis_order)
        fault(place.keys.get("basis", place.line), "basis", f"I know no kind of basis {read.basis.kind!r}. Write one of: {known}.")

    def sentences(key: str, texts: list[str]) -> tuple[Statement, ...]:
        found = []
        for index, text in enumerate(texts):
            try:
                found.append(language.parse(text, repair=len(unread) < _REPAIRED))
            except StatementError as error:
                said = str(error) if len(unread) < _REPAIRED else error.why
                fault(place.item(key, index), f"{key} {index + 1}", said, place.column(key, index, error.column))
                unread.append(faults[-1])
        return tuple(found)

    conditions, exceptions, conclusions = sentences("if", read.if_), sentences("unless", read.unless), sentences("then", read.then)
    if len(faults) == before:
        for key, index, text in check_variables(language, conditions, exceptions, conclusions):
            fault(place.item(key, index), f"{key} {index + 1}", text)
    for index, conclusion in enumerate(conclusions):
        if wrong := level_fault(language, conclusion):
            fault(place.item("then", index), f"then {index + 1}", wrong)
    if len(faults) > before:
        return None
    conclusions = tuple(levelled(language.vocabulary, conclusion) for conclusion in conclusions)
    return Rule(
        id=read.id,
        subject=file.stem,
        file=file.name,
        line=place.line,
        conditions=conditions,
        exceptions=exceptions,
        conclusions=_proposals(read, conditions, conclusions, language),
        because=read.because,
        basis=Basis(read.basis.kind, read.basis.source, read.basis.locator),
        overrides=tuple(read.overrides),
        safety=read.safety,
    )


def _proposals(
    read: RuleFileEntry, conditions: tuple[Statement, ...], conclusions: tuple[Statement, ...], language: Language
) -> tuple[Statement, ...]:
    """The conclusions with verdicts turned into proposals; a rule that overrides others also says that it judges the option."""
    made = tuple(_proposed(conclusion, read.id, conditions, language) for conclusion in conclusions)
    proposing = [after for before, after in zip(conclusions, made, strict=True) if before != after] if read.overrides else []
    judging = dict.fromkeys(Statement("isJudgedBy", proposal.subject, rule_id(read.id)) for proposal in proposing)
    return (*made, *judging)


def _proposed(conclusion: Statement, rule: str, conditions: tuple[Statement, ...], language: Language) -> Statement:
    """A verdict turned into this rule's proposal of it.

    The rules that make verdicts of proposals are the ones that look at the proposal; they conclude the verdict itself.
    """
    phrase = language.vocabulary.phrases[conclusion.predicate]
    if not phrase.verdict or any(condition.predicate == phrase.proposed_through for condition in conditions):
        return conclusion
    return Statement(phrase.proposed_through, conclusion.subject, rule_id(rule))


def _in_words(kind: str, key: str, inner: str, message: str) -> str:
    """A fault of the form of a rule, in the words of the file; ``inner`` is a key within the basis."""
    if kind == "extra_forbidden":
        unknown, keys = (inner, BASIS_KEYS) if inner else (key, KEYS)
        near = get_close_matches(unknown, keys, 1)
        return f"I know no key {unknown!r} here." + (f" Write {near[0]!r}." if near else f" The keys are: {', '.join(keys)}.")
    if key == "basis" and (inner or kind != "missing"):
        return 'The basis is a table with a kind, such as { kind = "common practice" }; source and locator are text.'
    if kind == "missing":
        return f"The rule has no {key!r}. Every rule has: id, if, then, because, basis."
    if kind == "string_pattern_mismatch":
        return f"{key}: an identifier is small letters, digits and single hyphens, such as bristles-for-relief."
    plain = {
        "list_type": f'{key} is a list of texts. Write it in brackets: ["..."].',
        "too_short": f"{key} is an empty list; it needs at least one sentence.",
        "string_type": f"{key} is text in quotes.",
        "string_too_short": f"{key} says too little; give it in a full sentence.",
        "string_too_long": f"{key} says too much; a sentence has at most 300 characters, a reason 600.",
        "bool_type": f"{key} is true or false, without quotes.",
    }
    return plain.get(kind, f"{key}: {message}.")


def _repeated(rules: list[Rule]) -> list[RuleFault]:
    first: dict[str, Rule] = {}
    faults = []
    for rule in rules:
        if rule.id in first:
            other = first[rule.id]
            text = f"This identifier is taken by the rule in {other.file}, line {other.line}. Give one of them another."
            faults.append(RuleFault(rule.file, rule.line, rule.id, "id", text))
        first.setdefault(rule.id, rule)
    return faults
