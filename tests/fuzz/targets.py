"""Everything that reads what people or files say, each fed with bytes by the way that its text usually comes in."""

import hashlib
import io
import json
import warnings
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import NamedTuple

from finishing_kg.advice.plan import PlanError
from finishing_kg.advice.plan_file import read_plan
from finishing_kg.chat import Dialogue
from finishing_kg.chat.pieces import remarks_of
from finishing_kg.chat.read import read
from finishing_kg.chat.session import SessionError
from finishing_kg.chat.session import load as load_session
from finishing_kg.engine import Knowledge
from finishing_kg.measure import QuantityError, read_quantity
from finishing_kg.quantities import UnknownGrade, describe_grade
from finishing_kg.rules import RuleFileError, load_rules
from finishing_kg.statements import StatementError
from finishing_kg.studio import StudioError, init, log, read_studio, shelf
from finishing_kg.studio.archive import MANIFEST
from finishing_kg.studio.errors import StudioFault
from finishing_kg.studio.folder import settings
from finishing_kg.studio.pack import pack_bytes, read_pack
from finishing_kg.studio.place import SETTINGS
from finishing_kg.vocabulary import OntologyError
from finishing_kg.vocabulary.load import parse_turtle, vocabulary_of
from fuzz.guard import ROOT, SECONDS, TooSlow, the_guard


class Target(NamedTuple):
    """One way in.

    Attributes:
        name: as ``--only`` takes it.
        feed: takes an input; true if it was taken, false if it was refused with a reason. Whatever else it raises is a finding.
        seeds: inputs that are taken, or nearly.
        of_a_million: how many of a million inputs it gets; quick ways in get more of them.
        again: whether even a sample of each check has time for many of them.
    """

    name: str
    feed: Callable[[bytes], bool]
    seeds: tuple[bytes, ...]
    of_a_million: int
    again: bool = True


@cache
def _read() -> Knowledge:
    shipped = Knowledge.shipped()
    return Knowledge(shipped.vocabulary, shipped.language, shipped.base)  # nothing is compiled upon it: every input is read


@cache
def knowledge() -> Knowledge:
    """The shipped knowledge, used once; whoever feeds asks for it before, so that no input is blamed for what is loaded late."""
    for question in _QUESTIONS:
        dialogue = Dialogue(_read())
        for turn in question.decode().split("\n"):
            dialogue.say(turn)
    return _read()


_told: list[str] = []


@contextmanager
def refusals() -> Iterator[list[str]]:
    """What inputs are refused with in the meantime."""
    _told.clear()
    yield _told


def _refused(error: Exception) -> bool:
    """A refusal says something, and not without end."""
    text = str(error)
    _told[:] = [text]
    assert text.strip(), f"{type(error).__name__} without a word"
    assert len(text) < 200_000, "a refusal without end"
    return False


def _text(data: bytes) -> str:
    # As a command line comes in: bytes that are no text become lone surrogates.
    return data.decode("utf-8", "surrogateescape")


def _put(name: str, data: bytes) -> Path:
    file = the_guard().place / name
    file.write_bytes(data)
    return file


def _watched(work: Callable[[], object], *refusals: type[Exception], seconds: float = SECONDS) -> bool:
    try:
        return _once(work, *refusals, seconds=seconds)
    except TooSlow:
        # What is loaded late, or cleared away meanwhile, is blamed on no input: one that is slow is slow again.
        return _once(work, *refusals, seconds=seconds)


def _once(work: Callable[[], object], *refusals: type[Exception], seconds: float) -> bool:
    with the_guard().watching(seconds):
        try:
            work()
        except refusals as error:
            return _refused(error)
    return True


def _sentence(data: bytes) -> bool:
    taken = []
    _watched(lambda: taken.append(knowledge().language.readable(_text(data))))
    return taken[0]


def _repair(data: bytes) -> bool:
    return _watched(lambda: knowledge().language.parse(_text(data)), StatementError)


def _quantity(data: bytes) -> bool:
    units = knowledge().vocabulary.units
    return _watched(lambda: units.settle(read_quantity(_text(data))), QuantityError)


def _grade(data: bytes) -> bool:
    return _watched(lambda: describe_grade(knowledge().vocabulary, _text(data)[:100]), UnknownGrade)


def _words(data: bytes) -> bool:
    vocabulary, text = knowledge().vocabulary, _text(data)
    return _watched(lambda: (read(vocabulary, text, (), begins=True), remarks_of(vocabulary, text)))


def _turn(data: bytes) -> bool:
    dialogue = Dialogue(knowledge())
    return _watched(lambda: [dialogue.say(turn) for turn in _text(data).split("\n")[:2]])


def _plan(ending: str) -> Callable[[bytes], bool]:
    def feed(data: bytes) -> bool:
        file = _put(f"plan{ending}", data)
        return _watched(lambda: read_plan(knowledge(), file), PlanError)

    return feed


def _rules(data: bytes) -> bool:
    file = _put("ours.toml", data)
    return _watched(lambda: load_rules([file], knowledge().language), RuleFileError)


def _turtle(data: bytes) -> bool:
    file = _put("ours.ttl", data)
    return _watched(lambda: vocabulary_of(parse_turtle([file])), OntologyError)


def _session(data: bytes) -> bool:
    file = _put("talk.json", data)
    return _watched(lambda: load_session(knowledge(), file), SessionError)


def _log(data: bytes) -> bool:
    folder, faults = _put(log.FILE, data).parent, list[StudioFault]()
    _watched(lambda: log.read(folder, knowledge().vocabulary, faults))
    return not faults or _refused(StudioError(faults))


def _shelf(data: bytes) -> bool:
    folder, faults = _put(shelf.FILE, data).parent, list[StudioFault]()
    _watched(lambda: shelf.read_shelf(folder, knowledge().vocabulary, faults))
    return not faults or _refused(StudioError(faults))


def _settings(data: bytes) -> bool:
    folder = _put(SETTINGS, data).parent
    return _watched(lambda: settings(folder), StudioError)


@cache
def _folder() -> Path:
    folder = the_guard().place / "studio"
    init(folder)
    return folder


def _studio(name: str, seconds: float = SECONDS) -> Callable[[bytes], bool]:
    def feed(data: bytes) -> bool:
        file = _folder() / name
        before = file.read_bytes() if file.exists() else None
        file.write_bytes(data)
        try:
            return _watched(lambda: read_studio(_folder(), knowledge()), StudioError, seconds=seconds)
        finally:
            file.unlink() if before is None else file.write_bytes(before)

    return feed


def _pack(data: bytes) -> bool:
    return _watched(lambda: read_pack(data, "theirs.zip"), StudioError)


def _zipped(data: bytes) -> bytes:
    """A pack of files that stand one after the other, each after a line with its name: so a change reaches names, manifest and contents.

    Where the manifest says no checksums, it is given those that are right, so that what is in the files is looked at too.
    """
    entries = [part.partition(b"\n")[::2] for part in data.split(_NEXT)[1:]]
    files = [(name.decode("utf-8", "replace"), text) for name, text in entries]
    sums = "".join(f'{json.dumps(name)} = "{hashlib.sha256(text).hexdigest()}"\n' for name, text in files if name != MANIFEST)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive, warnings.catch_warnings(action="ignore"):  # of one name twice
        for name, text in files:
            archive.writestr(zipfile.ZipInfo(name), text + f"[sha256]\n{sums}".encode() * (name == MANIFEST and b"sha256" not in text))
    return stream.getvalue()


def _packed(data: bytes) -> bool:
    return _pack(_zipped(data))


def _pack_in_studio(data: bytes) -> bool:
    (_folder() / "packs").mkdir(exist_ok=True)
    return _studio("packs/theirs.zip", 5)(_zipped(data))


def _of(*texts: str) -> tuple[bytes, ...]:
    return tuple(text.encode() for text in texts)


def _shipped(pattern: str, parts: int) -> tuple[bytes, ...]:
    """The first paragraphs of some shipped files; each file's own beginning stands before them."""
    found = []
    for file in sorted(ROOT.glob(pattern)):
        head, *rest = file.read_text(encoding="utf-8").split("\n\n")
        found.append("\n\n".join([head, *rest[:parts]]))
    return _of(*found)


@cache
def _sentences() -> tuple[bytes, ...]:
    language = _read().language
    every = [statement for rule in _read().base.rules for statement in (*rule.conditions, *rule.exceptions, *rule.conclusions)]
    return _of(*dict.fromkeys(map(language.print, every)))


_QUESTIONS = _of(
    "Relief cast panel in soda-lime glass, straight from the mould, to pre-polish",
    "inside of a lead crystal bowl 40 mm wide, sawn, I only have diamond pads, how do I polish it in under 30 minutes?",
    "orange peel after the felt wheel on F400\nwhat if it were borosilicate",
    "why not cerium oxide?\nwhat if without rule wet-only",
)
_TALK = {"format": "finishing-kg conversation", "version": 1, "settings": {"whole": False}, "turns": ["polish a rim"]}
_LOG = {"at": "2026-01-31T10:00:00+00:00", "minutes": "12 min", "mineral": "silicon-carbide", "hold": "loose", "carrier": "flat-lap"}
_MORE = {"glass": "lead-crystal", "grade": "F400", "found": "F220", "found_hold": "loose", "area": "80 cm²", "note": "x"}
_CASE = '[[question]]\nid = "ours"\nask = "polish a rim"\nkind = ["question"]\n'
_SHELF = '[[shelf]]\nthing = "felt-wheel"\nmarked_speed = "1400 rpm"\n[[shelf]]\nthing = "pumice"\ngrades = ["2F"]\n'
_THING = """@prefix fk: <https://finishing-kg.example/onto#> . @prefix src: <https://finishing-kg.example/source#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> . @prefix dcterms: <http://purl.org/dc/terms/> .
fk:our-wheel a fk:Carrier ; skos:prefLabel "our wheel"@en ; skos:definition "Ours."@en ; dcterms:source src:common-practice ;
    fk:takesHold fk:loose ; fk:reaches fk:rim ; fk:isDrivenBy fk:lathe ; fk:spins true .
"""


_NEXT = b"\n=== "
_PACK = f"""
=== {MANIFEST}
name = "theirs"
version = "1.0"
written_for = "0.1.0"
licence = "CC0"
studio = "Theirs"
format = 1

=== rules/ours.toml
[[rule]]
id = "no-tripoli"
if = ["?option uses mineral tripoli"]
then = ["?option is ruled out"]
because = "So it has turned out here."
basis = {{ kind = "studio" }}

=== things/ours.ttl
{_THING}
=== cases/ours.toml
{_CASE}"""


def _packs() -> tuple[bytes, ...]:
    """Packs as files: with three parts, with one, and not compressed."""
    rules = _PACK.partition("\n=== things")[0]
    plain = pack_bytes(read_pack(_zipped(rules.encode()), "theirs.zip"))
    return _zipped(_PACK.encode()), _zipped(rules.encode()), plain


def targets() -> tuple[Target, ...]:
    """All ways in. A new one goes here, with seeds that are taken."""
    return (
        Target("quantity", _quantity, _of("10 to 20 µm", "0.5 (0.1 to 1) mm", "1400 rpm", "30 min"), 280_000),
        Target("sentence", _sentence, _sentences(), 260_000),
        Target("repair", _repair, _sentences(), 1_000),
        Target("grade", _grade, _of("F220", "P600", "D126", "120 mesh", "6 µm", "1/2 pumice"), 20_000),
        Target("words", _words, _QUESTIONS, 10_000),
        Target("turn", _turn, _QUESTIONS, 200, again=False),
        Target("plan-toml", _plan(".toml"), tuple(file.read_bytes() for file in sorted((ROOT / "examples").glob("*.toml"))), 80_000),
        Target("plan-csv", _plan(".csv"), tuple(file.read_bytes() for file in sorted((ROOT / "examples").glob("*.csv"))), 60_000),
        Target("rules", _rules, _shipped("rules/*.toml", 2), 3_000),
        Target("turtle", _turtle, (*_shipped("ontology/*.ttl", 2), *_of(_THING)), 20_000),
        Target("session", _session, _of(json.dumps({**_TALK, "turns": []}), json.dumps(_TALK, indent=1)), 130_000),
        Target("log", _log, _of(json.dumps(_LOG) + "\n", json.dumps(_LOG | _MORE) + "\n" + json.dumps(_LOG)), 40_000),
        Target("shelf", _shelf, _of(_SHELF), 30_000),
        Target("settings", _settings, _of('name = "Ours"\nformat = 1\n'), 21_000),
        Target("cases", _studio("cases/ours.toml"), _of(_CASE), 3_700),
        Target("studio-rules", _studio("rules/ours.toml"), _shipped("rules/*.toml", 1), 1_000, again=False),
        # The whole ontology is read beside a studio's things, which takes more than a second by itself on a busy machine.
        Target("things", _studio("things/ours.ttl", 5), _of(_THING), 100, again=False),
        Target("pack", _pack, _packs(), 20_000),
        Target("packed", _packed, _of(_PACK, _PACK.partition("\n=== things")[0]), 19_900),
        Target("studio-pack", _pack_in_studio, _of(_PACK), 100, again=False),
    )


@cache
def warm(name: str) -> Target:
    """A target that has been fed once, so that what it loads late is blamed on no input."""
    knowledge()
    target = next(target for target in targets() if target.name == name)
    target.feed(target.seeds[0])
    return target
