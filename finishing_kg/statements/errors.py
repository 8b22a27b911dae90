"""What went wrong with a sentence, where, and what would be accepted instead."""

from finishing_kg.record import record


@record()
class StatementError(Exception):
    """A sentence that cannot be read.

    Attributes:
        sentence: as it was given.
        column: of the first character that could not be read, counted from 1.
        width: how many characters the trouble spans, at least 1.
        why: what was understood and why it goes no further, in full sentences.
        repair: a sentence that would be accepted, or empty if none is near.
        nearest: known words near the ones not understood.
    """

    sentence: str
    column: int
    width: int
    why: str
    repair: str = ""
    nearest: tuple[str, ...] = ()

    def __str__(self) -> str:
        lines = [f"  {self.sentence}", "  " + " " * (self.column - 1) + "^" * max(1, self.width), self.why]
        if self.nearest:
            lines.append("Nearest known: " + ", ".join(self.nearest) + ".")
        if self.repair:
            lines.append(f"Write: {self.repair}")
        return "\n".join(lines)
