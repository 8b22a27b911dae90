"""Every kind of write that the program does, each with what must hold of the files whenever it was stopped."""

import json
import tomllib
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import NamedTuple

from finishing_kg.advice.plan_writing import PlanTables, plan_toml
from finishing_kg.casebook.sweep import run as sweeping
from finishing_kg.chat import Dialogue, session
from finishing_kg.compiled.file import read_file, write_file
from finishing_kg.engine import Knowledge
from finishing_kg.files import CannotWrite, write_whole
from finishing_kg.routes import Case
from finishing_kg.studio import StudioError, init, log, packs, read_studio
from finishing_kg.studio.add import add_to_shelf, remove_from_shelf
from finishing_kg.studio.folder import settings
from finishing_kg.studio.pack import Pack, pack_bytes, read_pack
from finishing_kg.studio.place import SETTINGS

FILLING = "x" * 20_000
"""So much that a write takes long enough to be met in its midst, and that a small disk is full at once."""

REFUSALS = (StudioError, session.SessionError, CannotWrite, OSError)
_KEY = bytes(32)


class Writer(NamedTuple):
    """One kind of write.

    Attributes:
        name: of it.
        write: writes for the n-th time into a folder; what this returns from is saved.
        faults: from a folder and the numbers that were saved, in their order, to what is wrong; a further one may be there.
        begin: what must be there before.
        settle: what must be done after a kill, so that the next writer finds what its first number expects.
        stays: whether each thing that was written stays beside the later ones.
        silent: whether a write that does not come about is none of the maker's business, as of what can be made anew.
    """

    name: str
    write: Callable[[Path, int], object]
    faults: Callable[[Path, Sequence[int]], Iterator[str]]
    begin: Callable[[Path], object] = lambda folder: folder
    settle: Callable[[Path], object] = lambda folder: folder
    stays: bool = False
    silent: bool = False


@cache
def knowledge() -> Knowledge:
    """The shipped knowledge, loaded once for all writers; nothing is compiled upon it, so that what reads a studio is loaded before they start."""
    shipped = Knowledge.shipped()
    return Knowledge(shipped.vocabulary, shipped.language, shipped.base)


def _is_last(found: int, saved: Sequence[int]) -> Iterator[str]:
    """Of what is replaced, the last that was saved is there, or the one that was being written."""
    if saved and found not in (saved[-1], saved[-1] + 1):
        yield f"number {found} is there, and {saved[-1]} was saved last"


def _record(folder: Path, number: int) -> None:
    log.write(folder, log.Record(at=log.now(), minutes="12 min", note=f"{number} {FILLING}"))


def _records(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    found = [int(job.record.note.split()[0]) for job in read_studio(folder, knowledge()).jobs]
    if len(found) != len(set(found)) or not set(found) >= set(saved):
        yield f"records {found} are there, and {list(saved)} were saved"


def _put_on_shelf(folder: Path, number: int) -> None:
    # Every second one is taken off again, so that the file both grows and shrinks.
    if number % 2:
        add_to_shelf(folder, "felt-wheel", [], f"{number} rpm")
    else:
        remove_from_shelf(folder, "felt-wheel")


def _clear_shelf(folder: Path) -> None:
    with suppress(StudioError):  # it is empty already
        remove_from_shelf(folder, "felt-wheel")


def _shelf(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    marked = [int(item.marked_speed.mid) for item in read_studio(folder, knowledge()).shelf.items if item.marked_speed]
    last = saved[-1] if saved else 0
    if saved and marked not in ([[last], []] if last % 2 else [[], [last + 1]]):
        yield f"the shelf holds {marked} after write {last}"


def _new_studio(folder: Path, number: int) -> None:
    init(folder / f"studio-{number}")


def _new_studios(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    for made in folder.glob("studio-*"):
        number = int(made.name.removeprefix("studio-"))
        if (made / SETTINGS).exists():
            settings(made)
            read_studio(made, knowledge())  # raises where anything of it is missing or half there
        elif number in saved:
            yield f"studio {number} was made and is none"
        else:
            init(made)  # what a killed one left does not stand in the way
    if missing := [number for number in saved if not (folder / f"studio-{number}").exists()]:
        yield f"studios {missing} are gone"


def _talk(folder: Path, number: int) -> None:
    dialogue = Dialogue(knowledge())
    dialogue.turns = [f"{number}", FILLING, f"{number}"]
    session.save(dialogue, folder / "talk.json")


def _talks(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    file = folder / "talk.json"
    if saved or file.exists():
        turns = json.loads(file.read_text(encoding="utf-8"))["turns"]
        yield from _is_last(int(turns[0]), saved)
        if turns[0] != turns[2]:
            yield f"{turns[0]} and {turns[2]} are mixed"


def _plan(folder: Path, number: int) -> None:
    tables: PlanTables = {"piece": {"glass": "lead-crystal", "diameter": f"{number} mm"}, "step": [{"mineral": "pumice"}] * 100}
    write_whole(folder / "plan.toml", plan_toml(tables, [FILLING]))


def _plans(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    file = folder / "plan.toml"
    if saved or file.exists():
        tables = tomllib.loads(file.read_text(encoding="utf-8"))
        yield from _is_last(int(tables["piece"]["diameter"].split()[0]), saved)
        if len(tables["step"]) != 100:
            yield "steps are missing"


def _card(folder: Path, number: int) -> None:
    write_whole(folder / f"card-{number}.html", f"{number}\n{FILLING}\n{number}", overwrite=False)


def _cards(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    found = {int(file.stem.removeprefix("card-")): file.read_text(encoding="utf-8") for file in folder.glob("card-*.html")}
    if not set(found) >= set(saved):
        yield f"cards {sorted(set(saved) - set(found))} are gone"
    yield from (f"card {number} is not whole" for number, text in found.items() if text != f"{number}\n{FILLING}\n{number}")


def _compiled(folder: Path, number: int) -> bool:
    return write_file(str(folder / "cache"), _KEY, {"number": str(number).encode(), "filling": FILLING.encode()})


def _compileds(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    held = read_file(str(folder / "cache"), _KEY)
    if held is not None:
        yield from _is_last(int(held["number"]), saved)
    elif saved:
        yield "nothing is kept"


def _swept(folder: Path, number: int) -> None:
    """One row more; the question itself is left out, since only the writing is of interest here."""
    sweeping._row = lambda _: sweeping.Row("", "", "", "", "", "", "question", 0, 0, 0, FILLING[:2000])
    sweeping.sweep([Case()] * 100_000, folder / "sweep.csv", workers=1, most=1)


def _sweeps(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    rows = sweeping.read_rows(folder / "sweep.csv") if (folder / "sweep.csv").exists() else []
    if len(rows) < len(saved) or any(row.faults != FILLING[:2000] for row in rows):
        yield f"{len(rows)} rows are there, and {len(saved)} were written"


def _pack_of(number: int) -> Pack:
    rule = '[[rule]]\nid = "theirs"\nif = ["?option uses mineral tripoli"]\nthen = ["?option is ruled out"]\nbecause = "So it is there."\n'
    text = f'# {FILLING[:1000]}\n{rule}basis = {{ kind = "studio" }}\n'
    return Pack("theirs", str(number), "0.1.0", "CC0", "Theirs", {"rules/theirs.toml": text.encode()})


def _without_shapes() -> None:
    """The shapes take a second, and only the writing is of interest here."""
    packs.held_against_shapes = lambda *_: None


def _take_in(folder: Path, number: int) -> None:
    # Every second one is taken out again.
    _without_shapes()
    if number % 2:
        packs.add_pack(folder, _pack_of(number), packs.tried(folder, _pack_of(number), knowledge()))
    else:
        packs.remove_pack(folder, "theirs")


def _own_studio(folder: Path) -> None:
    init(folder)
    add_to_shelf(folder, "felt-wheel", [], "1400 rpm")
    log.write(folder, log.Record(at=log.now(), minutes="12 min", note="ours"))


def _take_out(folder: Path) -> None:
    _without_shapes()
    with suppress(StudioError):  # it is out already
        packs.remove_pack(folder, "theirs")


def _taken_in(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    studio = read_studio(folder, knowledge())
    found, last = [int(pack.version) for pack in studio.packs], saved[-1] if saved else 0
    if saved and found not in ([[last], []] if last % 2 else [[], [last + 1]]):
        yield f"the packs {found} are there after write {last}"
    if any(pack.files != _pack_of(int(pack.version)).files for pack in studio.packs):
        yield "a pack is not what it was"
    if len(studio.shelf.items) != 1 or [job.record.note for job in studio.jobs] != ["ours"]:
        yield "what the studio had itself is gone"


def _make_pack(folder: Path, number: int) -> None:
    _without_shapes()
    pack, _ = packs.make_pack(folder / "studio", "ours", str(number), "CC0")
    write_whole(folder / "ours.zip", pack_bytes(pack))


def _to_be_packed(folder: Path) -> None:
    init(folder / "studio")
    (folder / "studio" / "rules" / "ours.toml").write_bytes(_pack_of(1).files["rules/theirs.toml"])


def _made_packs(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    file = folder / "ours.zip"
    if saved or file.exists():
        yield from _is_last(int(read_pack(file.read_bytes(), file.name).version), saved)
    if [rule.id for rule in read_studio(folder / "studio", knowledge()).own_rules] != ["theirs"]:
        yield "what was packed is gone"


def _in_place(folder: Path, number: int) -> None:
    with (folder / "careless.txt").open("w", encoding="utf-8") as file:
        for part in (str(number), FILLING, str(number)):
            file.write(f"{part}\n")
            file.flush()


def _in_places(folder: Path, saved: Sequence[int]) -> Iterator[str]:
    lines = (folder / "careless.txt").read_text(encoding="utf-8").splitlines() if saved else []
    if saved and (len(lines) != 3 or lines[0] != lines[2]):
        yield "the file is not whole"


CARELESS = Writer("careless", _in_place, _in_places)
"""One that writes over what was saved: whoever looks for faults must find its."""

WRITERS = (
    Writer("log record", _record, _records, init, stays=True),
    Writer("studio's file", _put_on_shelf, _shelf, init, _clear_shelf),
    Writer("new studio", _new_studio, _new_studios, stays=True),
    Writer("conversation", _talk, _talks),
    Writer("plan", _plan, _plans),
    Writer("card, none replaced", _card, _cards, stays=True),
    Writer("compiled knowledge", _compiled, _compileds, silent=True),
    Writer("sweep's table", _swept, _sweeps),
    Writer("pack in and out", _take_in, _taken_in, _own_studio, _take_out),
    Writer("pack made", _make_pack, _made_packs, _to_be_packed),
)
"""All kinds; a new kind of file that the program writes goes here."""
