"""What is not wrong with a studio's rules but ought to be looked at: rules that never fire, say the same as another, or are masked."""

from finishing_kg.health.base import KINDS
from finishing_kg.studio.contents import Studio, contradictions


def notes(studio: Studio, only: str | None = None) -> list[str]:
    """A paragraph each, with a case that shows it.

    Args:
        studio: whose rules are looked at.
        only: the id of the one rule to look at; unless given, all of the studio's.
    """
    base, language = studio.knowledge.base, studio.knowledge.language
    own = {only} if only is not None else {rule.id for rule in studio.own_rules}
    if not own:
        return []
    return [str(each) for each in contradictions(language, base, own, frozenset(KINDS) - {"conflict", "leaves out"})]
