"""What is wrong with a rule base, and a case that shows it."""

from dataclasses import dataclass

from finishing_kg.statements import Language, Statement


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault.

    Attributes:
        fault: its kind, such as ``duplicate``.
        rules: ids of the rules concerned, the one to change first.
        about: what it is about, as a waiver names it.
        text: what is wrong and what would mend it, in full sentences.
        facts: a case that shows it: what a question or a plan would say.
        shown: what is seen when the case is run, or the sentence that is shared.
        note: it is only to be looked at; it may well be meant.
    """

    fault: str
    rules: tuple[str, ...]
    about: str
    text: str
    facts: tuple[Statement, ...] = ()
    shown: str = ""
    note: bool = False

    def witness(self, language: Language) -> str:
        """The case in words."""
        said = "; ".join(language.print(fact) for fact in self.facts)
        return ": ".join(part for part in (said, self.shown) if part)


def quoted(language: Language, *statements: Statement) -> str:
    """Sentences in quotation marks, for a text."""
    return " and ".join(f"“{language.print(statement)}”" for statement in statements)
