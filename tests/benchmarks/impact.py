"""How fast it is told what a rule would change: 500 rules, 300 cases; run by hand, it asserts nothing.

The shipped rules are filled up with copies that name one glass more, the shipped cases with questions about combinations of glass, form,
surface and finish. Rules to add are shipped rules narrowed as a studio narrows them, and some that concern nearly every case. All seconds are
processor time, of all processes together; where the machine is shared, clock time says more of its other users. On a machine of one's own
``--cores`` and the clock, which is printed too, tell what several cores save.
"""

import argparse
import gc
import os
import tempfile
import time
from itertools import product
from pathlib import Path
from statistics import median

from finishing_kg.casebook import Case
from finishing_kg.casebook.recorded import Library
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.rules import Rule, RuleBase, load_rules, make_base
from finishing_kg.statements import Statement
from finishing_kg.studio.impact import impact
from finishing_kg.studio.library import shipped_cases
from finishing_kg.studio.say import Account

RULES, CASES = 500, 300
REASON = 'because = "So it has turned out here."\nbasis = { kind = "studio" }\n'
NARROW = [
    ["the piece has glass fused-silica", "?option uses carrier felt-wheel"],
    ["the piece has form bas-relief", "?option uses carrier brush-wheel", "?option works toward pre-polish"],
    ["the piece has form rim", "the piece has glass lead-crystal", "?option uses carrier belt"],
    ["the piece has glass opal-glass", "?option uses mineral cerium-oxide"],
    ["the piece has form deep-recess", "?option uses mineral pumice"],
    ["the piece has surface etched", "?option uses carrier plate"],
    ["the piece has make slumped", "?option uses mineral silicon-carbide"],
    ["the piece has glass borosilicate", "the piece has form edge", "?option uses carrier cork-wheel"],
    ["the bench is limited in minerals", "?option uses mineral diamond"],
    ["the piece has form convex", "the piece has glass lead-crystal", "?option uses carrier felt-wheel"],
]
WIDE = [["?option uses carrier felt-wheel"], ["?option uses mineral cerium-oxide", "?option works toward polish"]]


def grown_rules(knowledge: Knowledge) -> RuleBase:
    """The shipped rules, and copies of them for the glasses in turn, which fire where those do and that glass is worked."""
    glasses = [name.id for name in knowledge.vocabulary.things("glass")]
    able = [rule for rule in knowledge.base.rules if not rule.overrides and rule.subject != "verdicts"]
    made: list[Rule] = []
    for glass, rule in product(glasses, able):
        if len(knowledge.base.rules) + len(made) == RULES:
            break
        conclusions = [made._replace(object=f"rule/{rule.id}-on-{glass}") if made.object == f"rule/{rule.id}" else made for made in rule.conclusions]
        conditions = (*rule.conditions, Statement("hasGlass", "piece", glass))
        made.append(replace(rule, id=f"{rule.id}-on-{glass}", conditions=conditions, conclusions=tuple(conclusions)))
    return make_base([*knowledge.base.rules, *made])


def grown_cases(knowledge: Knowledge) -> list[Case]:
    """The shipped cases, and questions about further pieces."""
    cases = shipped_cases()
    label = knowledge.language.names.label
    forms, glasses = (["flat-face", "edge", "rim", "convex", "bevel"], [name.id for name in knowledge.vocabulary.things("glass")])
    asks = (f"{label(form)} of {label(glass)}, sawn, to {finish}" for finish, glass, form in product(("polish", "satin"), glasses, forms))
    more = [Case(f"grown-{number}", "question", "grown", {"ask": ask}) for number, ask in enumerate(asks)]
    return [*cases, *more][:CASES]


def with_rule(knowledge: Knowledge, conditions: list[str]) -> Knowledge:
    """The knowledge with one rule more."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "ours.toml")
        lines = f'[[rule]]\nid = "tried"\nif = {conditions}\nthen = ["?option is ruled out"]\n'.replace("'", '"')
        file.write_text(lines + REASON, encoding="utf-8")
        return Knowledge(knowledge.vocabulary, knowledge.language, load_rules([file], knowledge.language, knowledge.base))


def spent() -> float:
    """Seconds of processor time, with those of processes that have ended."""
    return sum(os.times()[:4])


def main() -> None:
    """Print what each rule takes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--within", type=float, help="leave off after so many seconds of clock time, as a form does")
    parser.add_argument("--cores", type=int, default=1, help="on how many cores the cases are run; 1 unless given")
    options = parser.parse_args()
    shipped = Knowledge.shipped()
    gc.set_threshold(100_000, *gc.get_threshold()[1:])  # as in every command
    knowledge = Knowledge(shipped.vocabulary, shipped.language, grown_rules(shipped))
    cases = grown_cases(shipped)
    began = spent()
    library = Library.of(knowledge, cases)
    print(f"{len(knowledge.base.rules)} rules, {len(library.cases)} cases; to record them once: {spent() - began:.1f} s")
    for name, rules in (("narrow", NARROW), ("wide", WIDE)):
        taken, first, told = [], [], []
        for conditions in rules:
            after, heard, accounts = with_rule(knowledge, conditions), list[float](), list[tuple[float, Account]]()
            began, clock = spent(), time.monotonic()
            found = impact(
                library,
                after,
                within=options.within,
                hear=lambda _, heard=heard: heard.append(spent()),  # type: ignore[misc]
                first=lambda account, accounts=accounts: accounts.append((time.monotonic(), account)),  # type: ignore[misc]
                cores=options.cores,
            )
            taken.append(spent() - began)
            first += [each - began for each in heard[:1]]
            told += [each - clock for each, _ in accounts]
            has_a_say = len({say.case for _, account in accounts for say in account.says})
            what = f"has a say in {has_a_say}, {len(found.changes)} of {found.cases} change, {found.looked_at} run again, {len(found.left)} left"
            print(f"  {taken[-1]:6.2f} s ({time.monotonic() - clock:.2f} by the clock)  {what}: {', '.join(conditions)}")
        print(
            f"{name}: median {median(taken):.2f} s, longest {max(taken):.2f} s (target: 1 s); the first change is told after {median(first):.2f} s,"
        )
        print(f"  and where a rule has a say at all after {median(told):.2f} s by the clock, at the latest {max(told):.2f} s")


if __name__ == "__main__":
    main()
