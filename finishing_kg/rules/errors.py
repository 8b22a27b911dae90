"""What is wrong with rule files; all of it at once."""

from finishing_kg.record import record


@record(frozen=True, slots=True)
class RuleFault:
    """One thing that is wrong.

    Attributes:
        file, line: where; the line is counted from 1.
        rule: the rule's id, or empty if it has none.
        part: which part of the rule, e.g. ``if 2``; or empty.
        text: what was understood, why it will not do, and what to write instead.
        column: of the first letter that could not be read, counted from 1; 0 where the whole part is meant.
    """

    file: str
    line: int
    rule: str
    part: str
    text: str
    column: int = 0

    def __str__(self) -> str:
        column = f"column {self.column}" if self.column else ""
        where = ", ".join(filter(None, [self.file, f"line {self.line}", column, f'rule "{self.rule}"' if self.rule else "", self.part]))
        return f"{where}\n{self.text}"


class RuleFileError(Exception):
    """Rule files that cannot be used; nothing of them is loaded."""

    def __init__(self, faults: list[RuleFault]) -> None:
        super().__init__("\n\n".join(str(fault) for fault in faults))
        self.faults = faults
