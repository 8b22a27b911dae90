"""What is shipped, what lies at the top of the repository, and what loads what."""

import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "finishing_kg", "rules", "tui", "tests", "ontology", "examples"}

# Imports every module of the library one by one; prints those after which the interface's toolkit was loaded.
_IMPORT_ALL = """
import importlib, json, pkgutil, sys
import finishing_kg
seen, guilty = [], []
for module in pkgutil.walk_packages(finishing_kg.__path__, "finishing_kg."):
    if module.name.endswith("__main__"):
        continue
    importlib.import_module(module.name)
    seen.append(module.name)
    if not guilty and any(name.split(".")[0] in ("textual", "finishing_kg_tui") for name in sys.modules):
        guilty.append(module.name)
print(json.dumps([seen, guilty]))
"""


def run(*command: str, cwd: Path = ROOT, path: tuple[Path, ...] = (ROOT, ROOT / "tui")) -> str:
    """Run a command with these folders on Python's path; its standard output. Fails the test with everything it printed."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, path))}
    done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def tracked(*patterns: str) -> set[str]:
    """The tracked files that match."""
    return set(run("git", "ls-files", "-z", *patterns).split("\0")) - {""}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A freshly built wheel; built in this environment, so that no network is needed."""
    folder = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder))
    (built,) = folder.glob("*.whl")
    return built


def test_the_wheel_installs_two_names_and_nothing_else(wheel: Path) -> None:
    """Beside its own metadata the wheel puts only finishing_kg and finishing_kg_tui into site-packages."""
    names = {name.split("/")[0] for name in ZipFile(wheel).namelist()}
    assert {name for name in names if not name.endswith(".dist-info")} == {"finishing_kg", "finishing_kg_tui"}


@pytest.mark.parametrize(("folder", "pattern"), [("ontology", "ontology/*.ttl"), ("rules", "rules/*.toml")])
def test_the_wheel_holds_exactly_the_tracked_data(wheel: Path, folder: str, pattern: str) -> None:
    """Every tracked data file is in the wheel byte for byte, and no other."""
    files = tracked(pattern)
    assert files, f"no tracked {pattern}"
    with ZipFile(wheel) as archive:
        inside = {name.removeprefix("finishing_kg/data/") for name in archive.namelist() if name.startswith(f"finishing_kg/data/{folder}/")}
        assert inside == tracked(folder) >= files
        assert all(archive.read(f"finishing_kg/data/{file}") == (ROOT / file).read_bytes() for file in files)


def test_the_wheel_holds_every_tracked_module_and_style(wheel: Path) -> None:
    """Nothing that is tracked in the two packages stays behind."""
    inside = set(ZipFile(wheel).namelist())
    assert inside >= tracked("finishing_kg")
    assert inside >= {name.removeprefix("tui/") for name in tracked("tui/finishing_kg_tui")}


def test_the_data_of_a_wheel_is_found_and_can_be_read(wheel: Path, tmp_path: Path) -> None:
    """Unpacked in a folder of its own, the wheel finds its own data, not the checkout's, and reads it."""
    ZipFile(wheel).extractall(tmp_path / "site")
    script = """
from finishing_kg.places import shipped
from finishing_kg.vocabulary import load_vocabulary
print(shipped("rules"), shipped("ontology"), len(load_vocabulary(shipped("ontology")).names), sep="\\n")
"""
    rules, ontology, names = run(sys.executable, "-c", script, cwd=tmp_path, path=(tmp_path / "site",)).splitlines()
    assert {Path(rules).parent, Path(ontology).parent} == {tmp_path / "site" / "finishing_kg" / "data"}
    assert int(names) > 100


def test_the_top_level_is_what_it_should_be() -> None:
    """The repository's top level has the agreed names and files that begin with a dot, and nothing else."""
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


@pytest.mark.parametrize(
    ("beside", "inside", "project", "expected"),
    [
        (True, True, True, "beside"),  # a checkout with the stale copy that an editable install leaves
        (True, True, False, "inside"),  # site-packages with another project's folder of the same name
        (False, True, True, "inside"),
        (True, False, False, None),
        (False, False, True, None),
    ],
)
def test_one_finder_serves_checkout_and_wheel(tmp_path: Path, beside: bool, inside: bool, project: bool, expected: str | None) -> None:
    """A checkout's own folder wins; elsewhere the package's; where there is none the error names both places."""
    package = tmp_path / "finishing_kg"
    places = {"beside": tmp_path / "rules", "inside": package / "data" / "rules"}
    package.mkdir()
    for file in ("__init__.py", "places.py"):
        shutil.copy(ROOT / "finishing_kg" / file, package / file)
    for place, there in (("beside", beside), ("inside", inside)):
        if there:
            places[place].mkdir(parents=True)
    if project:
        (tmp_path / "pyproject.toml").touch()
    script = "from finishing_kg.places import *\ntry: print(shipped('rules'))\nexcept DataMissing as e: print('missing:', e)"
    said = run(sys.executable, "-c", script, cwd=tmp_path, path=(tmp_path,)).strip()
    if expected:
        assert said == str(places[expected])
    else:
        assert said.startswith("missing:")
        assert all(str(place) in said for place in places.values())


def test_no_module_of_the_library_loads_the_interface() -> None:
    """Importing every module of finishing_kg, the commands included, brings in neither the toolkit nor the interface."""
    assert importlib.util.find_spec("textual"), "without the toolkit this test would show nothing"
    seen, guilty = json.loads(run(sys.executable, "-c", _IMPORT_ALL))
    rooms = {name.split(".")[1] for name in seen}
    assert rooms >= {"measure", "vocabulary", "statements", "rules", "engine", "proofs", "quantities", "routes", "advice", "chat", "cli"}
    assert not guilty


def test_the_arrows_between_the_rooms_point_one_way() -> None:
    """The import contracts of pyproject.toml hold."""
    script = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    assert "0 broken" in run(sys.executable, "-c", script)
