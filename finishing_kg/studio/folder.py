"""Where a studio's folder is, what it is made of, and whether this program can read it.

``studio.toml`` holds the studio's name and the version of the format; beside it lie ``rules/*.toml``, ``things/*.ttl``, ``cases/*.toml``,
``shelf.toml`` and ``log.jsonl``. All of it is text that can be edited by hand and kept under version control.
"""

import os
import tomllib
from dataclasses import dataclass
from pathlib import Path

from finishing_kg.studio.errors import fault
from finishing_kg.studio.place import SETTINGS, UNNAMED, VARIABLE, usual_folder
from finishing_kg.studio.write import locked, replace_file
from finishing_kg.texts import NotReadable, text_of

FORMAT = 1
"""The newest version of the folder's format that this program reads and writes."""

_NAME = 80

BEGUN = {
    ".gitignore": ".lock\n*.part\n",
    "rules/ours.toml": """\
# The studio's own rules, in the form of the shipped ones. `finishing-kg rules show ID` shows what one looks like.
# A rule that wins over a shipped one names it: overrides = ["id"]. Rules marked safety are overridden by nobody.
""",
    "things/ours.ttl": """\
@prefix fk: <https://finishing-kg.example/onto#> .
@prefix src: <https://finishing-kg.example/source#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix qudt: <http://qudt.org/schema/qudt/> .
@prefix unit: <http://qudt.org/vocab/unit/> .

# The studio's own things, and its own words for shipped ones:  fk:pumice skos:altLabel "bims"@en .
# What is known only here rests on src:studio.

src:studio a fk:Source ; dcterms:title "The studio's own knowledge" ; fk:basisKind "studio" .
""",
    "cases/ours.toml": """\
# Questions with what a good answer must show, in the form of the shipped cases. `finishing-kg studio check` asks them.
""",
    "shelf.toml": """\
# What is there. Answers keep to it where `--from-shelf` is given, and `check` tells of what a plan uses and is not there.
#   [[shelf]]
#   thing = "felt-wheel"             # a mineral, hold, carrier or machine, by its id or any of its names
#   grades = ["F220", "F400"]        # of a mineral, if it is graded
#   marked_speed = "1400 rpm"        # of a wheel: what is marked on it
""",
}
"""The files of a new folder, by their names, as they are begun."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What ``studio.toml`` says: the studio's name and the version of its format."""

    name: str
    format: int


def find(given: str | None = None) -> Path | None:
    """The studio's folder: the one given, else the one that ``FINISHING_KG_STUDIO`` names, else the current one, else the usual one.

    Returns:
        ``None`` where none was named and neither the current nor the usual folder is a studio's.

    Raises:
        StudioError: the folder that was named is no studio's.
    """
    named = given or os.environ.get(VARIABLE)
    if named:
        folder = Path(named)
        if not (folder / SETTINGS).is_file():
            how = "" if given else f" (named by {VARIABLE})"
            raise fault(f"This is no studio{how}: it has no {SETTINGS}. Make one with: finishing-kg studio init --studio {named}", str(named))
        return folder
    return next((folder for folder in (Path(), Path(usual_folder())) if (folder / SETTINGS).is_file()), None)


def settings(folder: Path) -> Settings:
    """What ``studio.toml`` says.

    Raises:
        StudioError: it cannot be read, or the folder was written by a newer version of this program; nothing else is then looked at.
    """
    try:
        table = tomllib.loads(text_of(folder / SETTINGS))
    except OSError as error:
        raise fault(f"It cannot be read ({error.strerror}).", SETTINGS) from error
    except NotReadable as error:
        raise fault(str(error), SETTINGS, error.line) from error
    except (ValueError, RecursionError) as error:
        raise fault(f'This is not TOML: {error}. It holds two lines, such as: name = "Our studio" and format = {FORMAT}', SETTINGS, 1) from error
    version, name = table.get("format"), table.get("name")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise fault(f"The version of the format is a number. Write: format = {FORMAT}", SETTINGS, 1, "format")
    if version > FORMAT:
        raise fault(
            f"This studio has format {version}, and this program knows formats up to {FORMAT}: a newer version wrote it. "
            "Nothing was read or changed; install that version.",
            SETTINGS,
            1,
            "format",
        )
    if not isinstance(name, str) or not 0 < len(name) <= _NAME:
        raise fault(f'The name of the studio is text of at most {_NAME} letters. Write: name = "Our studio"', SETTINGS, 1, "name")
    if extra := sorted(set(table) - {"name", "format"}):
        raise fault(f"I know no key {extra[0]!r} here. The keys are: name, format.", SETTINGS, 1, extra[0])
    return Settings(name, version)


def init(folder: Path, name: str = UNNAMED) -> list[str]:
    """Make a studio's folder; files that are there already stay as they are.

    Returns:
        The names of the files that were made, ``studio.toml`` last: until it is there the folder is no studio's.

    Raises:
        StudioError: the folder is a studio's already, or cannot be made.
    """
    import tomlkit

    if (folder / SETTINGS).exists():
        raise fault("There is a studio here already; nothing was changed.", str(folder / SETTINGS))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise fault(f"The folder cannot be made ({error.strerror}).", str(folder)) from error
    document = tomlkit.document()
    document.add("name", tomlkit.string(name))
    document.add("format", tomlkit.integer(FORMAT))
    made = []
    with locked(folder):
        for file, text in {**BEGUN, SETTINGS: tomlkit.dumps(document)}.items():
            if not (folder / file).exists():
                replace_file(folder / file, text)
                made.append(file)
    return made
