"""``finishing-kg rules impact``, and what ``studio add rule`` shows before it saves: what a change to the rules would change."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg.cli.casebook import progress
from finishing_kg.cli.errors import USED, Unusable
from finishing_kg.cli.output import print_json, visible

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge
    from finishing_kg.rules import RuleBase
    from finishing_kg.studio import Studio
    from finishing_kg.studio.impact import Impact
    from finishing_kg.studio.say import Account


def looks_first(options: argparse.Namespace) -> bool:
    """Whether somebody is there to read what a change would change: a preview was asked for, or will be answered on a terminal."""
    return bool(options.preview or (not options.yes and sys.stdin is not None and sys.stdin.isatty()))


def impact_of(before: Studio | None, after: Knowledge, shipped: Knowledge | None = None, first: Callable[[Account], None] | None = None) -> Impact:
    """What changes from a studio, or from what is shipped, to some knowledge; progress is told on a terminal.

    Args:
        before: the studio, ``None`` for what is shipped.
        after: the knowledge with the change.
        shipped: the shipped knowledge, if it is at hand.
        first: is told at once where the change has a say; ``None`` prints it.

    Raises:
        KeyboardInterrupt: Ctrl-C; nothing was changed.
    """
    from finishing_kg.studio.impact import impact, in_short
    from finishing_kg.studio.library import library_of
    from finishing_kg.studio.say import lines_of_account

    def tell(what: str) -> None:
        progress(f"{what} (Ctrl-C leaves off)" if what else "")

    library = library_of(before, lambda done, of: tell(f"the cases as they are now: {done} of {of}"), upon=shipped)
    said: list[str] = []

    def shown(account: Account) -> None:
        tell("")
        if lines := lines_of_account(account):
            print(*map(visible, lines), "", sep="\n", flush=True)

    found = impact(
        library,
        after,
        first=first or shown,
        progress=lambda done, of: tell(f"{done} of {of} cases that may change, {len(said)} do; {said[-1]}" if said else f"{done} of {of} cases"),
        hear=lambda change: said.append(in_short(change)),
    )
    tell("")
    return found


def show(found: Impact) -> None:
    """An impact for people."""
    from finishing_kg.studio.impact import lines_of

    for line in lines_of(found):
        print(visible(line))


def rules_impact(options: argparse.Namespace) -> int:
    """What the rules of a file would change if they were added, and what others would if they were taken out."""
    from finishing_kg.cli.studio import studio_of
    from finishing_kg.engine import Knowledge

    if not options.file and not options.without:
        raise Unusable("Name a file of rules, or say --without ID. See: finishing-kg rules impact --help")
    shipped = Knowledge.shipped()
    studio = studio_of(options, shipped)
    before = studio.knowledge if studio is not None else shipped
    after = Knowledge(before.vocabulary, before.language, _base(before, options.file, options.without))
    accounts: list[Account] = []
    found = impact_of(studio, after, shipped, accounts.append if options.json else None)
    if options.json:
        print_json(
            {
                "rules": found.rules,
                "cases": found.cases,
                "has_a_say": [asdict(say) for account in accounts for say in account.says],
                "looked_at": found.looked_at,
                "changes": [asdict(change) for change in found.changes],
                "why_nothing": found.why_nothing,
            }
        )
    else:
        show(found)
    return USED


def _base(before: Knowledge, file: str | None, without: list[str]) -> RuleBase:
    """The rules with those of a file and without some; rules of the file take the place of those of the same id.

    Raises:
        Unusable: the file cannot be used, or there is no such rule, or a safety rule would go.
    """
    from finishing_kg.record import replace
    from finishing_kg.rules import RuleFileError, load_rules, make_base
    from finishing_kg.studio.guard import guard_of, rule_faults

    for name in without:
        if name not in before.base.by_id:
            raise Unusable(f"There is no rule {name[:80]!r}. See: finishing-kg rules list", "--without")
        if before.base.by_id[name].safety:
            raise Unusable(f"The rule {name} guards against harm to people. It is never taken out, not even to see what would be.", "--without")
    base = before.base
    if without:
        kept = (rule for rule in base.rules if rule.id not in without)
        base = make_base(replace(rule, overrides=tuple(each for each in rule.overrides if each not in without)) for rule in kept)
    if not file:
        return base
    try:
        widened = load_rules([Path(file)], before.language, base)
    except RuleFileError as error:
        raise Unusable(str(error), f"{len(error.faults)} faults in the rules" if len(error.faults) > 1 else None) from error
    added = [rule for rule in widened.rules if rule.id not in base.by_id]
    if faults := list(rule_faults(guard_of(before.vocabulary, before.base), before.language, added)):
        raise Unusable(str(faults[0]))
    return widened
