"""Proposed rules in the order of how few other cases they change."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from finishing_kg.advice.contract import ProposedRule
from finishing_kg.advice.proposing import Candidate, with_impact
from finishing_kg.casebook.recorded import Library
from finishing_kg.engine import Knowledge
from finishing_kg.studio.contents import Studio
from finishing_kg.studio.impact import impact, in_short
from finishing_kg.studio.library import kept_library

_SECONDS = 1.0
"""For one candidate; what is not looked at by then counts as changed."""

_CANDIDATES = 6

_TOLD = 3


@dataclass(frozen=True)
class Ranking:
    """Ranks by what the rules would change in a case library.

    Attributes:
        library: as it is now; it must be of the knowledge that the conversation uses.
    """

    library: Library

    def __call__(self, found: Iterator[Candidate]) -> list[ProposedRule]:
        ranked = [self._looked_at(each) for each in islice(found, _CANDIDATES)]
        return [proposed for _, proposed in sorted(ranked, key=lambda entry: (entry[0], entry[1].id))]

    def _looked_at(self, candidate: Candidate) -> tuple[int, ProposedRule]:
        seen = impact(self.library, candidate.knowledge, within=_SECONDS)
        changed = [in_short(change) for change in seen.changes if change.advice]
        count = len(changed) + len(seen.left)
        more = [f"and {len(seen.left)} more may change; there was no time to look"] if seen.left else []
        return count, with_impact(candidate.proposed, count, [*changed[:_TOLD], *more])


def ranked(studio: Studio | None, shipped: Knowledge, found: Iterator[Candidate]) -> Sequence[ProposedRule]:
    """Proposed rules by what they would change in the case library, where that was recorded before; else the narrowest first.

    Args:
        studio: whose knowledge the conversation uses; ``None`` for the shipped one.
        shipped: the shipped knowledge.
        found: the rules that are proposed.
    """
    library = kept_library(studio, shipped)
    return Ranking(library)(found) if library is not None else [each.proposed for each in found]
