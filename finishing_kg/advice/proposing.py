"""From an advice that the maker rejects to rules that would bring about what they want, as sentences that a studio can save."""

from __future__ import annotations

import json
import re
import shlex
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import ProposedRule
from finishing_kg.engine import Knowledge
from finishing_kg.health import faults_of_base
from finishing_kg.record import record, replace
from finishing_kg.routes import PARTS, PIECE
from finishing_kg.rules import RuleFileError, load_rules
from finishing_kg.statements import Statement, Variable, option_parts
from finishing_kg.visible import visible

if TYPE_CHECKING:
    from finishing_kg.rules import Rule, RuleBase

_OPTION = Variable("option")
_USES = {"mineral": "usesMineral", "hold": "hasHold", "carrier": "usesCarrier"}
# From the narrowest to the widest: which parts of the case a rule names beside the things.
_SCOPES: tuple[tuple[str, ...], ...] = (("glass", "form", "stage"), ("form", "stage"), ("stage",), ())
_LONGEST = 300


@record(frozen=True)
class Candidate:
    """A rule that would bring it about.

    Attributes:
        proposed: as it is told.
        knowledge: with the rule.
    """

    proposed: ProposedRule
    knowledge: Knowledge


def candidates(advice: Advice, things: Sequence[str], said: str) -> Iterator[Candidate]:
    """Rules by which the rejected advice would no longer be given, the narrowest first; each was tried on the case.

    Every one rules out something more, so none can let in what another rule keeps out, and none touches a safety rule.

    Args:
        advice: the judged case whose first route was rejected.
        things: ids of the minerals, holds and carriers that were rejected; if there are none, the last step as a whole is meant.
        said: the maker's words; they become the reason.
    """
    options = [place.option for place in advice.found[0].places if place.option] if advice.found else []
    meant = [option for option in options if not set(things).isdisjoint(option_parts(option)[:3])] if things else options[-1:]
    told: set[str] = set()
    for option in reversed(meant):
        for named in _named(option, things):
            for scope in _SCOPES:
                found = _candidate(advice, option, named, scope, said)
                if found is not None and found.proposed.id not in told:
                    told.add(found.proposed.id)
                    yield found


def _named(option: str, things: Sequence[str]) -> list[tuple[str, ...]]:
    """What a rule about an option would name of it: what was rejected, or else the whole method, then its carrier, then its mineral."""
    mineral, hold, carrier, _ = option_parts(option)
    if rejected := tuple(part for part in (mineral, hold, carrier) if part in things):
        return [rejected]
    return [(mineral, carrier), (carrier,), (mineral,)]


def _candidate(advice: Advice, option: str, named: tuple[str, ...], scope: tuple[str, ...], said: str) -> Candidate | None:
    knowledge, case = advice.knowledge, advice.case
    names, stage = knowledge.vocabulary.names, option_parts(option)[3]
    conditions = [Statement(PARTS[part], PIECE, case.part(part)) for part in scope if part in PARTS and case.part(part)]
    if len(conditions) < len([part for part in scope if part in PARTS]):
        return None  # of a part that nobody named there is nothing to say
    conditions += [Statement(_USES[names[thing].kind], _OPTION, thing) for thing in named]
    conditions += [Statement("worksToward", _OPTION, stage)] if "stage" in scope else []
    about = [names[thing].notation for thing in named]
    about += ["for", names[stage].notation] if "stage" in scope else []
    about += ["on", *(names[str(case.part(part))].notation for part in scope if part in PARTS)] if len(scope) > 1 else []
    name = _free(knowledge.base, re.sub(r"[^a-z0-9]+", "-", "-".join(["no", *about]).lower()).strip("-")[:70].rstrip("-"))
    because = f"Said at the bench: {' '.join(visible(said).split())[:_LONGEST]}"
    sentences = [knowledge.language.print(condition) for condition in conditions]
    verdict = knowledge.language.print(Statement("isRuledOut", _OPTION))
    made = _with_rule(knowledge, name, sentences, verdict, because)
    if made is None:
        return None
    after, rule = made
    tried = Advice(after, case, advice.whole, advice.wished)
    used = [place.option for place in tried.found[0].places if place.option] if tried.found else []
    if any(option_parts(each)[3] == stage and set(named) <= set(option_parts(each)[:3]) for each in used):
        return None  # it would not bring it about
    proposed = ProposedRule(
        id=name,
        conditions=sentences,
        conclusions=[verdict],
        overrides=list(rule.overrides),
        because=because,
        instead=[knowledge.language.names.label(each) for each in used],
        command=_command(name, sentences, verdict, because, rule.overrides),
    )
    return Candidate(proposed, after)


def _free(base: RuleBase, name: str) -> str:
    return next(each for each in (name, *(f"{name}-{number}" for number in range(2, 1000))) if each not in base.by_id)


def _with_rule(knowledge: Knowledge, name: str, conditions: list[str], verdict: str, because: str) -> tuple[Knowledge, Rule] | None:
    """The knowledge with a rule of the studio; it overrides what it contradicts. ``None`` if it would have to override a safety rule."""
    overrides: list[str] = []
    for _ in range(2):
        lists = {"if": conditions, "then": [verdict], "overrides": overrides}
        base = _loaded(knowledge, {"id": name, **lists, "because": because})
        if base is None:
            return None
        found = [fault for fault in faults_of_base(knowledge.language, base, frozenset({name})) if fault.fault == "conflict"]
        if not found:
            return Knowledge(knowledge.vocabulary, knowledge.language, base), base.by_id[name]
        overrides = sorted({rule for fault in found for rule in fault.rules if rule != name})
    return None


def _loaded(knowledge: Knowledge, entry: dict[str, str | list[str]]) -> RuleBase | None:
    """The rules with one more, read as from a studio's file; ``None`` if it is refused."""
    # A text or a list of texts looks the same in JSON and in TOML; what JSON leaves as it is and TOML does not allow is not visible.
    lines = [f"{key} = {json.dumps(value)}" for key, value in entry.items()]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "ours.toml")
        file.write_text("\n".join(["[[rule]]", *lines, 'basis = { kind = "studio" }', ""]), encoding="utf-8")
        try:
            return load_rules([file], knowledge.language, knowledge.base)
        except RuleFileError:
            return None


def _command(name: str, conditions: list[str], verdict: str, because: str, overrides: Sequence[str]) -> str:
    parts = ["finishing-kg", "studio", "add", "rule", "--id", name, *(part for each in conditions for part in ("--if", each))]
    parts += ["--then", verdict, *(part for each in overrides for part in ("--overrides", each)), "--because", because]
    return shlex.join(parts)


def with_impact(proposed: ProposedRule, cases: int, changed: Sequence[str]) -> ProposedRule:
    """A proposed rule with how many cases it would change, and which."""
    return replace(proposed, cases=cases, changes=list(changed))
