"""What is wrong with a studio's files; all of it at once."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StudioFault:
    """One thing that is wrong.

    Attributes:
        file: its name within the studio's folder.
        line: counted from 1; 0 where the whole file is meant.
        part: which rule, thing or entry, and which part of it; or empty.
        text: what was understood, why it will not do, and what to write instead.
        column: counted from 1; 0 where the whole part is meant.
    """

    file: str
    line: int
    part: str
    text: str
    column: int = 0

    @property
    def where(self) -> str:
        """The place in one line."""
        line, column = f"line {self.line}" if self.line else "", f"column {self.column}" if self.column else ""
        return ", ".join(filter(None, [self.file, line, column, self.part]))

    def __str__(self) -> str:
        return f"{self.where}\n{self.text}"


class StudioError(Exception):
    """Files that cannot be used; nothing of the studio is loaded and nothing was changed."""

    def __init__(self, faults: list[StudioFault]) -> None:
        super().__init__("\n\n".join(str(fault) for fault in faults))
        self.faults = faults


def fault(text: str, file: str = "", line: int = 0, part: str = "") -> StudioError:
    """An error of one fault."""
    return StudioError([StudioFault(file, line, part, text)])
