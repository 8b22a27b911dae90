"""Exit statuses, and input that a command cannot use."""

# 0 answered, 1 a finding of level stop, 2 input that cannot be used, 3 a fact is missing or nothing was understood.
USED, STOPPED, UNUSABLE, OPEN = 0, 1, 2, 3


class Unusable(Exception):
    """Says in ``text`` what was wrong and what to write instead, and in ``where`` where it was."""

    def __init__(self, text: str, where: str | None = None) -> None:
        super().__init__(text)
        self.text, self.where = text, where
