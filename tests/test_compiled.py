"""Compiled forms: the same knowledge as from the files, never trusted when anything is off, and never in the way."""

import marshal
import os
import signal
import subprocess
import sys
import time
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from effort import one_in
from hypothesis import given
from hypothesis import strategies as st
from studio_folders import contents, faults, things

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.compiled import Sections, file, folder, key_of, load_sections
from finishing_kg.engine import Knowledge, Prover
from finishing_kg.routes import Case, options_for
from finishing_kg.rules.plain import base_as_plain, base_from_plain
from finishing_kg.rules.shipped import shipped_sections
from finishing_kg.statements import Statement
from finishing_kg.studio import Studio, init, read_studio
from finishing_kg.studio import things as read_things
from finishing_kg.vocabulary.plain import vocabulary_as_plain, vocabulary_from_plain

ROOT = Path(__file__).parent.parent
KEY = bytes(range(32))
PLAIN: dict[str, Any] = {"one": ("a", 1, None, 2.5, frozenset({"b"})), "two": {"c": ["d"]}}
PACKED = {name: marshal.dumps(data) for name, data in PLAIN.items()}
QUESTION = "a rough sawn rim of float glass, to rough shape"
LISTED = ["-m", "finishing_kg", "grade", "F220", "--json"]


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that compiled forms are kept in."""
    place = tmp_path / "cache"
    monkeypatch.setenv(folder.VARIABLE, str(place))
    return place


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    """The shipped knowledge as its files say it."""
    return Knowledge.load(ROOT / "ontology", sorted((ROOT / "rules").glob("*.toml")))


def only_file(place: Path) -> Path:
    """The one file in a folder."""
    (found,) = place.iterdir()
    return found


def grade(**environment: str) -> str:
    """What a whole process says to a question about a grade; it must end well and say nothing of its cache."""
    path = {"PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")])}
    done = subprocess.run([sys.executable, *LISTED], env={**os.environ, **path, **environment}, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    return done.stdout


def test_plain_data_holds_all_of_the_knowledge(knowledge: Knowledge) -> None:
    """Vocabulary and rules come back from their marshalled plain data as they were, in the same order."""
    vocabulary = vocabulary_from_plain(marshal.loads(marshal.dumps(vocabulary_as_plain(knowledge.vocabulary))))
    base = base_from_plain(marshal.loads(marshal.dumps(base_as_plain(knowledge.base))))
    for part in ("names", "phrases", "parents", "claims", "basis_order"):
        assert getattr(vocabulary, part) == getattr(knowledge.vocabulary, part)
    assert [name.texts for name in vocabulary.names.values()] == [name.texts for name in knowledge.vocabulary.names.values()]
    assert list(vocabulary.names) == list(knowledge.vocabulary.names)
    assert vocabulary.units.by_symbol == knowledge.vocabulary.units.by_symbol
    assert base == knowledge.base
    assert list(base.facts) == list(knowledge.base.facts)


def test_the_answer_is_the_same_from_the_compiled_form(cache: Path, knowledge: Knowledge) -> None:
    """The first answer ever, the next one, and the one of knowledge read from the files are the same."""
    first, second = Knowledge.shipped(), None
    answers = [as_json(Dialogue(first).say(QUESTION))]
    held = only_file(cache).read_bytes()
    second = Knowledge.shipped()
    answers += [as_json(Dialogue(each).say(QUESTION)) for each in (second, knowledge)]
    assert answers[0] == answers[1] == answers[2]
    assert second.vocabulary.sections.get("vocabulary") is not None
    assert only_file(cache).read_bytes() == held, "the second start wrote again"


@given(st.data())
def test_an_altered_file_is_not_read(data: st.DataObject) -> None:
    """Whichever byte is changed, taken out, put in or cut off, nothing of the file is taken."""
    held = file.packed(KEY, PACKED)
    at = data.draw(st.integers(0, len(held) - 1))
    other = bytes([data.draw(st.integers(0, 255).filter(lambda value: value != held[at]))])
    altered = data.draw(
        st.sampled_from([held[:at] + other + held[at + 1 :], held[:at] + held[at + 1 :], held[:at], held[:at] + other + held[at:], held + other])
    )
    assert file.unpacked(KEY, altered) is None
    assert file.unpacked(KEY, held) == PACKED


@given(st.binary(max_size=400))
def test_no_bytes_break_the_reader(payload: bytes) -> None:
    """Whatever the payload is, with a header that is right for it, there are sections of bytes or none."""
    held = file.packed(KEY, {})
    rest = len(marshal.dumps({}))
    head = held[: len(held) - rest - 40] + len(payload).to_bytes(8, "big") + file.blake2b(payload, digest_size=32).digest()
    found = file.unpacked(KEY, head + payload)
    assert found is None or all(isinstance(part, bytes) for part in found.values())
    assert Sections(packed={"x": payload}).get("y") is None
    Sections(packed={"x": payload}).get("x")


OTHER_SHAPES = [None, (), (1, 2), "text", {"a": 1}, ((),) * 7, ((("x",),),) * 6]
SECTIONS = ["vocabulary", "rules", "chat lexicon", "chat complaints", "chat remarks"]


@pytest.mark.parametrize(("section", "plain"), one_in(8, list(product(SECTIONS, OTHER_SHAPES))), ids=repr)
def test_a_section_in_another_shape_is_made_again(cache: Path, knowledge: Knowledge, section: str, plain: Any) -> None:
    """A section that is whole but says something else than this program writes is given up, and the answer is the same."""
    Dialogue(Knowledge.shipped()).say("polish a rim")
    shipped_sections().give(section, plain)
    answer = Dialogue(Knowledge.shipped()).say("polish a rim")
    assert as_json(answer) == as_json(Dialogue(knowledge).say("polish a rim"))
    assert only_file(cache).stat().st_size > 1000


def test_another_version_of_the_form_is_not_read(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of an older form is made again, and then read."""
    monkeypatch.setattr(file, "FORM", 0)
    load_sections(KEY).give("one", PLAIN["one"])
    monkeypatch.undo()
    monkeypatch.setenv(folder.VARIABLE, str(cache))
    assert load_sections(KEY).get("one") is None
    load_sections(KEY).give("one", PLAIN["one"])
    assert load_sections(KEY).get("one") == PLAIN["one"]


def test_sections_of_one_key_gather(cache: Path) -> None:
    """What is given later does not drive out what was there, and another key has nothing of it."""
    first, second = load_sections(KEY), load_sections(KEY)
    first.give("one", PLAIN["one"])
    second.give("two", PLAIN["two"])
    assert [load_sections(KEY).get(name) for name in ("one", "two", "three")] == [PLAIN["one"], PLAIN["two"], None]
    assert load_sections(KEY[::-1]).get("one") is None
    assert len(list(cache.iterdir())) == 1


def test_code_is_no_plain_data(cache: Path) -> None:
    """What is not plain data cannot be given."""
    for thing in (object(), Path("x"), print):
        with pytest.raises(ValueError, match="unmarshallable"):
            load_sections(KEY).give("one", thing)
    assert not cache.exists()


def test_the_key_follows_contents_and_names(tmp_path: Path) -> None:
    """Another content, another name and another file make another key; order, place and time do not."""
    (tmp_path / "rules").mkdir()
    one, two = tmp_path / "rules" / "a.toml", tmp_path / "rules" / "b.toml"
    one.write_text("x")
    two.write_text("y")
    before = key_of([str(one), str(two)])
    os.utime(one, (1, 1))
    assert key_of([str(two), str(one)]) == before
    assert len({before, key_of([str(one)]), key_of([str(two)])}) == 3
    one.write_text("z")
    assert key_of([str(one), str(two)]) != before


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="files have no owner here")
@pytest.mark.parametrize("target", ["file", "folder"])
def test_what_others_can_write_is_not_read(cache: Path, target: str) -> None:
    """A file or folder that a group or everybody can write to is not trusted, however right its contents."""
    load_sections(KEY).give("one", PLAIN["one"])
    place = only_file(cache) if target == "file" else cache
    for mode in (0o020, 0o002):
        place.chmod(0o700 | mode)
        assert load_sections(KEY).get("one") is None
    place.chmod(0o700)
    assert load_sections(KEY).get("one") == PLAIN["one"]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="files have no owner here")
def test_what_others_own_is_not_read(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that belongs to somebody else is not trusted, and nothing is written beside it."""
    load_sections(KEY).give("one", PLAIN["one"])
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    assert load_sections(KEY).get("one") is None
    assert not file.write_file(str(cache), KEY, PACKED)


@pytest.mark.skipif(not hasattr(os, "O_NOFOLLOW"), reason="links can be followed only here")
def test_a_link_is_not_followed(cache: Path, tmp_path: Path) -> None:
    """A link in the place of the file is not read, and is replaced by a file."""
    load_sections(KEY).give("one", PLAIN["one"])
    held = only_file(cache)
    held.rename(tmp_path / "elsewhere")
    held.symlink_to(tmp_path / "elsewhere")
    assert load_sections(KEY).get("one") is None
    load_sections(KEY).give("one", PLAIN["one"])
    assert not held.is_symlink()


def test_a_cache_that_cannot_be_written_is_no_fault(tmp_path: Path) -> None:
    """With a file where the folder should be, or none named at all, the answer comes as ever."""
    blocked = tmp_path / "file"
    blocked.touch()
    answers = {grade(**{folder.VARIABLE: place}) for place in (str(blocked), str(blocked / "below"), "", str(tmp_path / "good"))}
    assert len(answers) == 1
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == ["good"]


def test_a_folder_that_is_read_only_is_read(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no file can be made, what is there is still read, and what is not is made each time."""
    load_sections(KEY).give("one", PLAIN["one"])

    def refused(*_arguments: object, **_more: object) -> int:
        raise PermissionError(13, "Permission denied")

    opened = os.open
    monkeypatch.setattr(os, "open", lambda path, flags, *more: refused() if flags & os.O_CREAT else opened(path, flags, *more))
    sections = load_sections(KEY)
    assert sections.get("one") == PLAIN["one"]
    sections.give("two", PLAIN["two"])
    assert sections.get("two") == PLAIN["two"]
    assert load_sections(KEY).get("two") is None


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_the_old_file(cache: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    """When writing fails at any step the old file stays as it was and nothing else is left."""
    load_sections(KEY).give("one", PLAIN["one"])
    held = only_file(cache).read_bytes()

    def full(*_arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, full)
    load_sections(KEY).give("two", PLAIN["two"])
    assert only_file(cache).read_bytes() == held


_WRITING = """
import sys
from finishing_kg.compiled import load_sections
print("ready", flush=True)
while True:
    load_sections(bytes(32)).give("large", list(range(int(sys.argv[1]), int(sys.argv[1]) + 50_000)))
"""


def writer(start: int) -> "subprocess.Popen[str]":
    """A process that writes a section again and again, once it has begun."""
    path = {**os.environ, "PYTHONPATH": str(ROOT)}
    process = subprocess.Popen([sys.executable, "-c", _WRITING, str(start)], stdout=subprocess.PIPE, env=path, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def killed(process: "subprocess.Popen[str]") -> int:
    """Kill a process; its exit status."""
    with process:
        process.kill()
    return process.returncode


def test_killed_while_writing_leaves_a_whole_file_or_none(cache: Path) -> None:
    """A process that is killed at any moment leaves the old sections, the new ones, or none; never a part of them."""
    for wait in (0.0, 0.01, 0.02, 0.03, 0.05):
        process = writer(0)
        time.sleep(wait)
        assert killed(process) == -signal.SIGKILL
        assert load_sections(bytes(32)).get("large") in (None, list(range(50_000)))
    load_sections(bytes(32)).give("large", [1])
    assert load_sections(bytes(32)).get("large") == [1]
    assert len(list(cache.iterdir())) <= 4, "what killed processes leave is tidied away"


def test_two_at_once_do_not_mix(cache: Path) -> None:
    """While two processes write, every look finds the whole of what one of them gave."""
    processes = [writer(0), writer(1_000_000)]
    try:
        seen = [load_sections(bytes(32)).get("large") for _ in range(60)]
    finally:
        for process in processes:
            killed(process)
    wholes = [list(range(start, start + 50_000)) for start in (0, 1_000_000)]
    assert all(found is None or found in wholes for found in seen)
    assert any(found is not None for found in seen)
    assert cache.exists()


def test_the_folder_is_where_caches_belong(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Unless another is named it is the user's own cache folder, as platformdirs has it."""
    from platformdirs import user_cache_dir

    monkeypatch.delenv(folder.VARIABLE)
    for named in (str(tmp_path), "", "relative"):
        monkeypatch.setenv("XDG_CACHE_HOME", named)
        assert folder.cache_folder() == user_cache_dir("finishing-kg", appauthor=False)
    monkeypatch.delenv("XDG_CACHE_HOME")
    assert folder.cache_folder() == user_cache_dir("finishing-kg", appauthor=False)
    monkeypatch.setenv(folder.VARIABLE, "")
    assert folder.cache_folder() is None


def test_layers_come_back_as_they_were_derived(cache: Path) -> None:
    """What no question changes is the same from the compiled form: statements, and every way in which they were derived."""
    case, models = Case(glass="lead-crystal", form="bas-relief", surface="mould-marked", finish="polish"), []
    for _ in range(2):
        known = Knowledge.shipped()
        models.append(known.evaluate(case.facts(), upon=options_for(known.vocabulary, "polish")))
    first, second = models
    assert second.layer.program.base.sections.get("engine ground") is not None
    assert first.statements() == second.statements()
    logs = [[{index: set(groups) for index, groups in layer.log.items()} for layer in model.layer.layers()] for model in models]
    assert logs[0] == logs[1]
    for predicate in ("isRuledOut", "isOffered"):
        for subject in first.subjects(predicate)[::40]:
            statement = Statement(predicate, subject)
            assert Prover(first).proofs(statement) == Prover(second).proofs(statement)
    assert only_file(cache).stat().st_size < 2_000_000


BIMS = 'fk:pumice skos:altLabel "bims"@en .'


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio that calls pumice by another name."""
    init(tmp_path / "studio")
    things(tmp_path / "studio", BIMS)
    return tmp_path / "studio"


def said(of: Studio) -> dict[str, Any]:
    """What a studio's knowledge says to a question with the name that it adds."""
    return as_json(Dialogue(of.knowledge).say(f"{QUESTION}, why not bims?"))


def test_a_studios_things_come_back_as_they_were_read(cache: Path, studio: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a studio adds is the same from the compiled form, which lies in the cache and not in its folder; its Turtle is then not read."""
    before = contents(studio)
    uncompiled = Knowledge(*(getattr(Knowledge.shipped(), part) for part in ("vocabulary", "language", "base")))
    anew, first = read_studio(studio, uncompiled), read_studio(studio, Knowledge.shipped())
    answers = [said(anew), said(first)]
    assert len(list(cache.iterdir())) == 2
    monkeypatch.setattr(read_things, "parse_turtle", lambda _: pytest.fail("Turtle is read again"))
    again = read_studio(studio, Knowledge.shipped())
    assert [said(again), *answers] == [answers[0]] * 3 and "pumice is ruled out" in answers[0]["text"]
    for part in ("names", "phrases", "parents", "claims", "basis_order"):
        assert getattr(again.knowledge.vocabulary, part) == getattr(anew.knowledge.vocabulary, part)
    assert again.own_things == anew.own_things != {}
    assert contents(studio) == before


def test_a_changed_studio_is_read_again(cache: Path, studio: Path) -> None:
    """What is kept is kept for the files as they were read, by name and content, and what is wrong with them is found each time."""
    read_studio(studio, Knowledge.shipped())
    (studio / "things/more.ttl").rename(studio / "things/most.ttl")
    assert {file for file, _ in read_studio(studio, Knowledge.shipped()).own_things.values()} == {"things/most.ttl"}
    things(studio, 'fk:tripoli skos:altLabel "soft silica"@en .')
    assert {"pumice", "tripoli"} == read_studio(studio, Knowledge.shipped()).own_things.keys()
    things(studio, "fk:tripoli fk:cutsGlass true .")
    wrong = [faults(studio, Knowledge.shipped()) for _ in range(2)]
    assert wrong[0] == wrong[1] != []
    (studio / "things/more.ttl").unlink()
    (studio / "things/most.ttl").unlink()
    for _ in range(2):
        shipped = Knowledge.shipped()
        assert read_studio(studio, shipped).knowledge.vocabulary is shipped.vocabulary
    assert cache.exists()


@pytest.mark.parametrize("plain", [None, (), ((), {}), (1, {"pumice": 2}), ((), ()), "text"], ids=repr)
def test_a_studios_things_in_another_shape_are_read_again(cache: Path, studio: Path, plain: Any) -> None:
    """What is kept of a studio is no more trusted than what is kept of the shipped files; that nothing is added is the one thing that can be said."""
    shipped = Knowledge.shipped()
    assert shipped.compiled is not None
    held = read_studio(studio, shipped)
    held.knowledge.vocabulary.sections.give("studio things", plain)
    again = read_studio(studio, Knowledge.shipped())
    assert again.own_things == ({} if plain == () else held.own_things)
    assert cache.exists()


def test_a_studio_with_no_cache_is_read_each_time(studio: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing is kept everything works as before."""
    monkeypatch.setenv(folder.VARIABLE, "")
    assert [set(read_studio(studio, Knowledge.shipped()).own_things) for _ in range(2)] == [{"pumice"}] * 2


def test_many_studios_leave_what_they_rest_on(cache: Path, studio: Path) -> None:
    """However many changes are tried in a studio, what is compiled of the shipped files is not pushed out by them."""
    shipped = Knowledge.shipped()
    held = only_file(cache)
    os.utime(held, (0, 0))
    for number in range(file._KEPT + 2):
        assert shipped.compiled is not None
        shipped.compiled.upon([("things/more.ttl", b"%d" % number)]).give("studio things", number)
    assert held.exists() and len(list(cache.iterdir())) == file._KEPT
