"""Text from anywhere as text that does nothing: no cursor moves, no writing direction turns, nothing is hidden."""

import unicodedata


def visible(text: str, keep: str = "") -> str:
    """The text with every character that is not shown as itself written out, such as ``\\x1b``.

    Args:
        text: from anywhere.
        keep: characters that stay although they are not printable, such as a line end.
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter in keep else _written_out(letter) for letter in text)


def _written_out(letter: str) -> str:
    return " " if unicodedata.category(letter) == "Zs" else letter.encode("unicode_escape").decode("ascii")
