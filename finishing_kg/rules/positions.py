"""Where things stand in a rule file: ``tomllib`` reads values but does not say on which line they were."""

import re

from finishing_kg.record import field, record

_HEADER = re.compile(r"^\s*\[\[\s*rule\s*\]\]")
_PART = re.compile(r"^\s*\[\s*rule\s*\.\s*([A-Za-z_-]+)\s*\]")
_KEY = re.compile(r"^\s*([A-Za-z_-]+)\s*=")
_STRING = re.compile(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_FENCE = re.compile(r'"""|\'\'\'')


@record()
class RulePlace:
    """Lines of one rule, counted from 1.

    Attributes:
        line: of its ``[[rule]]``.
        keys: line of each key.
        items: for each key, the lines of the strings of its value, in their order.
        columns: for each key, the columns at which those strings begin behind their quotation mark, counted from 1.
    """

    line: int
    keys: dict[str, int] = field(default_factory=dict)
    items: dict[str, list[int]] = field(default_factory=dict)
    columns: dict[str, list[int]] = field(default_factory=dict)

    def item(self, key: str, index: int) -> int:
        """Line of a string in a key's list, or the best known line before it."""
        lines = self.items.get(key, [])
        return lines[index] if index < len(lines) else self.keys.get(key, self.line)

    def column(self, key: str, index: int, within: int) -> int:
        """Column in the file of a column within a string of a key's list; 0 where it is not known."""
        columns = self.columns.get(key, [])
        return columns[index] + within - 1 if index < len(columns) else 0


def rule_places(text: str) -> list[RulePlace]:
    """The places of all ``[[rule]]`` tables, in the order in which tomllib lists them."""
    places: list[RulePlace] = []
    key, fenced = "", False
    # TOML ends lines with a line feed only; ``splitlines`` would also count other characters.
    for number, line in enumerate(text.split("\n"), 1):
        if not fenced and line.lstrip().startswith("#"):
            continue
        if fenced or _FENCE.search(line):
            if not fenced and places and (match := _KEY.match(line)):
                places[-1].keys[match.group(1)] = number
            fenced = fenced ^ (len(_FENCE.findall(line)) % 2 == 1)
            continue
        if _HEADER.match(line):
            places.append(RulePlace(number))
            key = ""
        elif places and (match := _PART.match(line)):
            places[-1].keys.setdefault(match.group(1), number)
            key = ""
        elif places:
            rest = line
            if match := _KEY.match(line):
                key = match.group(1)
                places[-1].keys[key] = number
                rest = line[match.end() :]
            strings = list(_STRING.finditer(rest.split("#")[0] if '"' not in rest and "'" not in rest else _uncommented(rest)))
            places[-1].items.setdefault(key, []).extend([number] * len(strings))
            places[-1].columns.setdefault(key, []).extend(len(line) - len(rest) + found.start() + 2 for found in strings)
    return places


def _uncommented(line: str) -> str:
    """The line without a comment that stands after its strings."""
    blanked = _STRING.sub(lambda match: "x" * len(match.group()), line)
    mark = blanked.find("#")
    return line if mark < 0 else line[:mark]
