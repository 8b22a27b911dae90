"""Packs: one file carries what a studio knows to another; what is not as it must be is refused, and what was taken in goes without a trace."""

import hashlib
import io
import random
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studio_folders import ASK, GLASS, HEAD, REFUSED_RULES, ROOT, contents, rule, things, written_rule

from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.studio import StudioError, init, read_studio
from finishing_kg.studio.add import add_rule, add_thing, remove_rule, remove_thing
from finishing_kg.studio.pack import Pack, is_for_newer, pack_bytes, read_pack
from finishing_kg.studio.packs import add_pack, make_pack, remove_pack, tried

pytestmark = pytest.mark.usefixtures("shipped_once")

CANAL = ROOT / "examples" / "studio"
NO_TRIPOLI = written_rule("no-tripoli", '"?option uses mineral tripoli"', '"?option is ruled out"')


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new studio."""
    init(tmp_path / "studio")
    return tmp_path / "studio"


def pack(*, name: str = "theirs", written_for: str = "0.1.0", **files: str) -> Pack:
    """A pack of files, each given as folder and text."""
    ending = {"things": "ttl"}
    held = {f"{part}/more.{ending.get(part, 'toml')}": text.encode() for part, text in files.items()}
    return Pack(name, "1.0", written_for, "CC BY 4.0", "Theirs", held)


def why_refused(folder: Path, refused: Pack, knowledge: Knowledge) -> str:
    """What speaks against a pack; the folder must be untouched."""
    before = contents(folder)
    with pytest.raises(StudioError) as caught:
        tried(folder, refused, knowledge)
    assert contents(folder) == before
    return str(caught.value)


# One file, made the same everywhere, taken in and out


def test_a_pack_comes_and_goes_without_a_trace(folder: Path, tmp_path: Path, knowledge: Knowledge, capsys: pytest.CaptureFixture[str]) -> None:
    """A pack of a whole studio brings its rules, things and cases; taken out, every file is as before and no folder is left."""
    file, at = tmp_path / "canal-rules.zip", ["--studio", str(folder)]
    assert main(["studio", "pack", str(file), "--licence", "CC BY 4.0", "--studio", str(CANAL)]) == 0
    before = contents(folder)
    assert main(["studio", "add", str(file), "--preview", "--yes", *at]) == 0
    assert "1 rule, 2 things, 1 case" in capsys.readouterr().out and contents(folder) == before
    assert main(["studio", "add", str(file), "--yes", *at]) == 0
    own, theirs = read_studio(CANAL, knowledge), read_studio(folder, knowledge)
    assert [each.id for each in theirs.own_rules] == [each.id for each in own.own_rules]
    assert (set(theirs.own_things), [each.id for each in theirs.cases]) == (set(own.own_things), [each.id for each in own.cases])
    assert theirs.knowledge.vocabulary.names["canal-batch"].label == "canal batch" and not theirs.shelf.items and not theirs.jobs
    assert contents(folder) == {**before, folder / "packs/canal-rules.zip": file.read_bytes()}
    for removed in (lambda: remove_rule(folder, own.own_rules[0].id), lambda: remove_thing(folder, "canal-batch")):
        with pytest.raises(StudioError, match="studio remove pack canal-rules"):
            removed()
    assert main(["studio", "remove", "canal-rules", *at]) == 0
    assert contents(folder) == before and not (folder / "packs").exists()


def test_a_pack_is_the_same_to_the_byte(folder: Path, knowledge: Knowledge) -> None:
    """The same contents give the same bytes, and what is read from them gives them again."""
    add_rule(folder, rule("no-tripoli", ["?option uses mineral tripoli"], ["?option is ruled out"]))
    made = pack_bytes(make_pack(folder, "ours", "1.0", "CC0")[0])
    file = folder / "rules/ours.toml"
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))  # as an editor elsewhere leaves it
    assert pack_bytes(make_pack(folder, "ours", "1.0", "CC0")[0]) == made
    assert pack_bytes(read_pack(made, "ours.zip")) == made


def test_a_pack_must_stand_by_itself(folder: Path, tmp_path: Path, knowledge: Knowledge) -> None:
    """What rests on the pack of somebody else cannot be packed without it; what is taken out may not be needed by the rest."""
    theirs = pack(things=HEAD + f'fk:ours {GLASS} ; fk:isFreeOfLead true ; skos:prefLabel "their batch"@en .\n')
    add_pack(folder, theirs, tried(folder, theirs, knowledge))
    add_rule(folder, rule("for-theirs", ["the piece has glass their batch", "?option uses mineral tripoli"], ["?option is ruled out"]))
    with pytest.raises(StudioError, match="does not stand by itself"):
        make_pack(folder, "ours", "1.0", "CC0")
    with pytest.raises(StudioError, match="Without the pack theirs"):
        remove_pack(folder, "theirs")
    assert (folder / theirs.file).exists()


def test_a_newer_version_takes_the_place_of_an_older(folder: Path, knowledge: Knowledge) -> None:
    """The same pack again is refused, a changed one of the same studio replaces it, and one of another studio does not."""
    first = pack(rules=NO_TRIPOLI)
    add_pack(folder, first, tried(folder, first, knowledge))
    assert "here already" in why_refused(folder, first, knowledge)
    second = pack(rules=NO_TRIPOLI.replace("tripoli", "rottenstone"))
    found = tried(folder, second, knowledge)
    assert found.replaces == first
    add_pack(folder, second, found)
    assert [each.id for each in read_studio(folder, knowledge).own_rules] == ["no-rottenstone"]
    other = Pack("theirs", "1.0", "0.1.0", "CC0", "Somebody else", first.files)
    assert "of Theirs" in why_refused(folder, other, knowledge)


def test_what_was_tried_is_what_is_taken_in(folder: Path, knowledge: Knowledge) -> None:
    """If the studio has changed since a pack was tried, the pack is not taken in."""
    theirs = pack(rules=NO_TRIPOLI)
    found = tried(folder, theirs, knowledge)
    things(folder, 'fk:pumice skos:altLabel "bims"@en .')
    with pytest.raises(StudioError, match="in the meantime"):
        add_pack(folder, theirs, found)
    assert not (folder / "packs").exists()


# What its contents may not say


def test_packs_that_contradict_each_other(folder: Path, knowledge: Knowledge) -> None:
    """A pack whose rule contradicts another pack's is refused, and both rules are named; so is one that takes its identifiers."""
    liked = pack(name="liked", rules=written_rule("tripoli-first", '"?option uses mineral tripoli"', '"?option is preferred"'))
    add_pack(folder, liked, tried(folder, liked, knowledge))
    told = why_refused(folder, pack(rules=NO_TRIPOLI), knowledge)
    assert "tripoli-first" in told and "no-tripoli" in told and "packs/" in told
    same = pack(rules=NO_TRIPOLI.replace("no-tripoli", "tripoli-first"))
    assert "taken by the rule in packs/liked.zip" in why_refused(folder, same, knowledge)


@pytest.mark.parametrize("what", [name for name in REFUSED_RULES if name != "the same id without safety"])
def test_a_pack_weakens_no_safety_rule(folder: Path, knowledge: Knowledge, what: str) -> None:
    """What no studio may say, no pack may say either: its rules go through the same guard."""
    table = REFUSED_RULES[what]
    listed = [", ".join(f'"{each}"' for each in table[key]) for key in ("if", "then")]
    text = written_rule(table["id"], *listed) + "".join(f'overrides = ["{each}"]\n' for each in table.get("overrides", []))
    assert "packs/theirs.zip/rules/more.toml" in why_refused(folder, pack(rules=text), knowledge)


def test_a_pack_denies_no_hazard(folder: Path, knowledge: Knowledge) -> None:
    """Turtle in a pack may widen what is shipped and never change it."""
    told = why_refused(folder, pack(things=HEAD + "fk:lead-crystal fk:isFreeOfLead true .\n"), knowledge)
    assert "packs/theirs.zip/things/more.ttl" in told and "is shipped" in told


def test_no_source_silences_the_safety_rule_of_another(folder: Path, knowledge: Knowledge) -> None:
    """A studio's own safety rule is closed to packs as the shipped ones are; what the studio itself says beside it stays open."""
    guarded = written_rule("mind-tripoli", '"?option uses mineral tripoli"', '"?option is ruled out"')
    guarded += 'unless = ["?option is discouraged"]\nsafety = true\n'
    silences = written_rule("tripoli-is-poor", '"?option uses mineral tripoli"', '"?option is discouraged"')
    (folder / "rules/ours.toml").write_text(guarded, encoding="utf-8")
    told = why_refused(folder, pack(rules=silences), knowledge)
    assert "packs/theirs.zip" in told and "a safety rule is silent where this is so" in told


def test_a_pack_for_a_newer_version_is_refused(folder: Path, knowledge: Knowledge) -> None:
    """A pack that was written for a version to come says so; numbers count as numbers, and 1.0 is no newer than 1."""
    assert "Install the newer one" in why_refused(folder, pack(written_for="99.0", rules=NO_TRIPOLI), knowledge)
    newer = {("0.10", "0.9"): True, ("0.9", "0.10"): False, ("1.0", "1"): False, ("1.0.1", "1"): True, ("0.2", "0.2.dev1"): False}
    assert {pair: is_for_newer(pack(written_for=pair[0]), pair[1]) for pair in newer} == newer


ASKED = f'[[question]]\nid = "panel"\nask = "{ASK}"\n'


def test_cases_decide(folder: Path, knowledge: Knowledge) -> None:
    """A pack is refused if one of its cases falls short, cannot be asked, or makes a case of the studio fall short that did not before."""
    told = why_refused(folder, pack(cases=f'{ASKED}kind = ["no_route"]\n'), knowledge)
    assert "packs/theirs.zip/cases/more.toml, panel" in told and "kind is route" in told
    assert "cannot be asked" in why_refused(folder, pack(cases='[[dialogue]]\nid = "talk"\nturns = 3\n'), knowledge)
    harmless, ours = pack(rules=NO_TRIPOLI), folder / "cases/ours.toml"
    ours.write_text(f'{ASKED}first_step = {{ mineral = ["quartz-sand"] }}\n', encoding="utf-8")
    assert tried(folder, harmless, knowledge).after.own_rules, "it fell short before"
    ours.write_text(f'{ASKED}no_cautions = ["lead-dust"]\n', encoding="utf-8")
    harmful = pack(rules=written_rule("lead-anyway", '"the piece has glass ?glass"', '"the piece calls for caution lead-dust"'))
    assert "cases/ours.toml, panel" in why_refused(folder, harmful, knowledge)


# What is no pack


def archive(change: Callable[[zipfile.ZipFile], object] | None = None, how: int = zipfile.ZIP_STORED, **sums: str) -> bytes:
    """A pack with one rule, written by hand, and what is put into it besides."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", how) as file:
        listed = "".join(f'"{name}" = "{value}"\n' for name, value in ({"rules/a.toml": sha(NO_TRIPOLI)} | sums).items() if value)
        told = f'name = "theirs"\nversion = "1"\nwritten_for = "0.1"\nlicence = "CC0"\nstudio = "Theirs"\nformat = 1\n[sha256]\n{listed}'
        file.writestr("pack.toml", told)
        file.writestr("rules/a.toml", NO_TRIPOLI)
        if change:
            change(file)
    return stream.getvalue()


def sha(text: str | bytes) -> str:
    """A checksum."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


def put(name: str, data: str | bytes = "# nothing", mode: int = 0, how: int = zipfile.ZIP_STORED) -> Callable[[zipfile.ZipFile], object]:
    """Adds an entry by a name that no writer of ours would give it, with a mode of Unix."""

    def change(file: zipfile.ZipFile) -> None:
        entry = zipfile.ZipInfo("x" * len(name))
        entry.filename = name  # as it stands: the class would tidy it
        entry.external_attr = mode << 16
        entry.compress_type = how
        file.NameToInfo.pop(name, None)  # else the library warns of what is meant here
        file.writestr(entry, data)

    return change


def many(file: zipfile.ZipFile) -> None:
    """More files than a pack holds."""
    for number in range(200):
        file.writestr(f"rules/{number}.toml", "")


def many_large(file: zipfile.ZipFile) -> None:
    """Files that are each within the bounds, and together are not."""
    chance = random.Random(1)
    for number in range(8):
        put(f"rules/b{number}.toml", f"# {chance.randbytes(200_000).hex()}", how=zipfile.ZIP_DEFLATED)(file)


def encrypted(data: bytes) -> bytes:
    """Says of every entry that it is encrypted."""
    for mark, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        place = data.find(mark)
        while place >= 0:
            data = data[: place + at] + bytes([data[place + at] | 1]) + data[place + at + 1 :]
            place = data.find(mark, place + 4)
    return data


inner = archive()
HOSTILE: dict[str, tuple[bytes, str]] = {
    "an absolute path": (archive(put("/etc/rules.toml")), "leads out"),
    "a path upwards": (archive(put("rules/../../a.toml")), "leads out"),
    "a drive": (archive(put("C:/rules/a.toml")), "leads out"),
    "a backslash": (archive(put("rules\\..\\a.toml")), "plain letters"),
    "a name cut off by a nought": (archive(put("rules/b.toml\x00.exe")), "plain letters"),
    "letters that look alike": (archive(put("rules/а.toml")), "plain letters"),
    "a link": (archive(put("rules/b.toml", "/etc/passwd", stat.S_IFLNK | 0o777)), "link, a folder or a device"),
    "a device": (archive(put("rules/b.toml", "", stat.S_IFCHR | 0o666)), "link, a folder or a device"),
    "a pipe": (archive(put("rules/b.toml", "", stat.S_IFIFO | 0o666)), "link, a folder or a device"),
    "a folder": (archive(put("rules/", "", stat.S_IFDIR | 0o755)), "link, a folder or a device"),
    "a name twice": (archive(put("rules/a.toml", NO_TRIPOLI)), "twice"),
    "a name that differs in case": (archive(put("rules/A.toml")), "twice"),
    "code": (archive(put("rules/a.py", "print()")), "nothing else"),
    "a pack in a pack": (archive(put("rules/inner.zip", inner)), "nothing else"),
    "a pack that calls itself a rule": (archive(put("rules/b.toml", inner), **{"rules/b.toml": sha(inner)}), "UTF-8|plain text"),
    "a file beside the folders": (archive(put("studio.toml")), "nothing else"),
    "a file deeper down": (archive(put("rules/deep/a.toml")), "nothing else"),
    "too many files": (archive(many), "at most 100"),
    "a bomb by ratio": (archive(put("rules/b.toml", "#" * 900_000, how=zipfile.ZIP_DEFLATED)), "hundredfold"),
    "a bomb by size": (archive(put("rules/b.toml", "#" * 1_500_000)), "at most 1000000"),
    "a bomb of many": (archive(many_large), "more than 2000000"),
    "compressed otherwise": (archive(put("rules/b.toml", how=zipfile.ZIP_BZIP2)), "not read here"),
    "encrypted": (encrypted(archive()), "encrypted"),
    "another encoding": (archive(put("rules/b.toml", "# café".encode("latin-1"))), "UTF-8"),
    "control characters": (archive(put("rules/b.toml", "# \x1b[2J")), "plain text"),
    "a checksum that differs": (archive(**{"rules/a.toml": sha("else")}), "checksum"),
    "a checksum that is missing": (archive(put("rules/b.toml")), "checksum"),
    "a file that is missing": (archive(**{"rules/b.toml": sha("")}), "not in the pack"),
    "no manifest": (b"PK\x05\x06" + bytes(18), "no pack.toml"),
    "too long": (archive() + bytes(2_000_000), "at most 2000000"),
    "cut off": (archive()[:-30], "zip file"),
    "nothing": (b"", "zip file"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_what_is_no_pack_is_refused(what: str) -> None:
    """An archive that is not as packs are is refused with the reason, before anything in it is looked at."""
    data, why = HOSTILE[what]
    assert read_pack(archive(), "theirs.zip").files == {"rules/a.toml": NO_TRIPOLI.encode()}, "without the change it is a pack"
    with pytest.raises(StudioError, match=why) as caught:
        read_pack(data, "theirs.zip")
    assert str(caught.value).startswith("theirs.zip") and str(caught.value).replace("\n", "").isprintable()


def test_packed_anew_a_pack_is_read_as_well() -> None:
    """An archive that was packed anew, and so compressed, is the same pack."""
    assert read_pack(archive(how=zipfile.ZIP_DEFLATED), "a.zip") == read_pack(archive(), "b.zip")


@given(place=st.integers(0, 10_000), byte=st.integers(1, 255), cut=st.booleans())
def test_a_damaged_pack_is_refused_or_whole(place: int, byte: int, cut: bool) -> None:
    """With any byte changed or the end cut off a pack is refused, or the damage changes nothing that is in it."""
    whole = archive(how=zipfile.ZIP_DEFLATED)
    place %= len(whole)
    spoilt = whole[:place] if cut else whole[:place] + bytes([whole[place] ^ byte]) + whole[place + 1 :]
    try:
        assert read_pack(spoilt, "a.zip") == read_pack(whole, "a.zip")
    except StudioError:
        return


@given(data=st.binary(max_size=200), pretends=st.booleans())
def test_no_bytes_end_in_anything_but_a_refusal(data: bytes, pretends: bool) -> None:
    """Whatever a file holds, it is refused in words."""
    with pytest.raises(StudioError):
        read_pack((archive()[:60] if pretends else b"") + data, "a.zip")


BAD_MANIFESTS = {
    'name = "theirs"': 'name = "../theirs"',
    'version = "1"': 'version = "one"',
    'written_for = "0.1"': 'written_for = "1.x"',
    'licence = "CC0"': 'licence = ""',
    "format = 1": "format = 2",
    'studio = "Theirs"': 'studio = 3\nurl = "https://elsewhere.example"',
    "[sha256]": "[sha",
}


@pytest.mark.parametrize("right", BAD_MANIFESTS)
def test_what_a_pack_says_of_itself_is_checked(right: str) -> None:
    """Each key of the manifest is held against what it may be, and one that is not known is refused."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(archive())) as old, zipfile.ZipFile(stream, "w") as new:
        for entry in old.infolist():
            text = old.read(entry).decode()
            assert entry.filename != "pack.toml" or right in text
            new.writestr(entry.filename, text.replace(right, BAD_MANIFESTS[right]) if entry.filename == "pack.toml" else text)
    with pytest.raises(StudioError, match=r"a\.zip/pack\.toml"):
        read_pack(stream.getvalue(), "a.zip")


def test_a_spoilt_pack_can_be_taken_out(folder: Path, knowledge: Knowledge) -> None:
    """A pack that spoils the studio is told of with its place, and can be taken out all the same."""
    before = contents(folder)
    (folder / "packs").mkdir()
    (folder / "packs/theirs.zip").write_bytes(b"PK")
    with pytest.raises(StudioError, match=r"packs/theirs\.zip"):
        read_studio(folder, knowledge)
    with pytest.raises(StudioError, match="theirs"):
        remove_pack(folder, "others")
    remove_pack(folder, "theirs")
    assert contents(folder) == before


def test_adding_says_what_is_no_pack(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that is missing or no pack ends with status 2 and a way on."""
    assert main(["studio", "add", "nothing.zip", "--studio", str(folder)]) == 2
    assert "rule, thing or shelf" in capsys.readouterr().err
    assert main(["studio", "add", "pack", str(folder / "studio.toml"), "--studio", str(folder)]) == 2
    assert "zip file" in capsys.readouterr().err


def test_a_things_other_name_may_come_in_a_pack(folder: Path, knowledge: Knowledge) -> None:
    """A pack's names for shipped things are read, and a name that two sources give to different things is refused."""
    add_thing(folder, "rottenstone", also=["bims"])
    told = why_refused(folder, pack(things=HEAD + 'fk:pumice skos:altLabel "bims"@en .\n'), knowledge)
    assert "bims" in told
