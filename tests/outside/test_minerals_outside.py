"""Minerals against open packages and published tables of hardness and density.

``gemmology-mineral-database`` (MIT), table ``mineral_families``, is asked as installed; ``tests/data/outside/minerals.toml`` names
the packages and tables of the rest.
"""

import sqlite3
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from importlib.resources import files
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path

import pytest
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity

TABLE = tomllib.loads((Path(__file__).parents[1] / "data" / "outside" / "minerals.toml").read_text(encoding="utf-8"), parse_float=Decimal)
GLASSES = [glass.id for glass in VOCABULARY.things("glass")]

# Our mineral, or glass, and the family of the database that it is.
FAMILIES = {
    "diamond": "diamond",
    "silicon-carbide": "moissanite",
    "aluminium-oxide": "corundum",
    "garnet": "almandine",
    "quartz-sand": "quartz",
    "tripoli": "quartz",
    "tin-oxide": "cassiterite",
    "iron-oxide": "hematite",
    "pumice": "obsidian",
    "glass-bead": "glass-simulant",
    "soda-lime-float": "glass-simulant",
    "lead-crystal": "glass-simulant",
}


def held(thing: str, property_: str) -> Quantity:
    """A value that the ontology holds."""
    value = VOCABULARY.quantity(thing, property_)
    assert value is not None
    return value


@pytest.fixture(scope="module")
def families() -> Iterator[sqlite3.Connection]:
    """The database of the package."""
    if find_spec("mineral_database") is None:
        pytest.skip("gemmology-mineral-database is not installed")
    path = str(files("mineral_database") / "data" / "minerals.db")
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as connection:
        yield connection
    connection.close()


@pytest.mark.parametrize(("thing", "family"), FAMILIES.items())
def test_mohs_is_that_of_the_mineral(families: sqlite3.Connection, thing: str, family: str) -> None:
    """gemmology-mineral-database, mineral_families, hardness: our middle lies in the family's range, a quarter of a rank either way."""
    low, high = families.execute("select hardness_min, hardness_max from mineral_families where id = ?", (family,)).fetchone()
    assert Decimal(str(low)) - Decimal("0.25") <= held(thing, "hardness").mid <= Decimal(str(high)) + Decimal("0.25")


@pytest.mark.parametrize(("thing", "family"), [(thing, family) for thing, family in FAMILIES.items() if family != "obsidian"])
def test_density_is_that_of_the_mineral(families: sqlite3.Connection, thing: str, family: str) -> None:
    """gemmology-mineral-database, mineral_families, specific gravity: our middle lies in the family's range, 2 % either way."""
    low, high = families.execute("select sg_min, sg_max from mineral_families where id = ?", (family,)).fetchone()
    assert Decimal(str(low)) * Decimal("0.98") <= held(thing, "density").mid <= Decimal(str(high)) * Decimal("1.02")


def test_pumice_grain_is_volcanic_glass(families: sqlite3.Connection) -> None:
    """gemmology-mineral-database, obsidian: the grain of pumice is the same glass, and its density overlaps."""
    low, high = families.execute("select sg_min, sg_max from mineral_families where id = 'obsidian'").fetchone()
    assert held("pumice", "density").lowest <= Decimal(str(high))
    assert held("pumice", "density").highest >= Decimal(str(low))


@pytest.mark.parametrize(("thing", "density"), TABLE["density_kg_m3"].items())
def test_density_is_that_of_the_compound(thing: str, density: int) -> None:
    """chemicals, Physical Constants of Inorganic Compounds: within 2 %."""
    assert held(thing, "density").mid == pytest.approx(Decimal(density) / 1000, rel=Decimal("0.02"))


@pytest.mark.parametrize(
    ("thing", "knoop", "gigapascals"), [("quartz-sand", 820, "8.04"), ("silicon-carbide", 2480, "24.32"), ("diamond", 7000, "68.65")]
)
def test_knoop_numbers_are_the_published_ones(thing: str, knoop: int, gigapascals: str) -> None:
    """Encyclopaedia table on the Knoop test, in kgf/mm²; one kilogram-force is 9.80665 N, which gives the gigapascals."""
    assert held(thing, "knoopHardness") == Quantity.of(knoop, "HK")
    assert round(held(thing, "knoopHardness").mid * Decimal("9.80665") / 1000, 2) == Decimal(gigapascals)


@pytest.mark.parametrize("pair", list(pairwise(["silicon-carbide", "zirconium-oxide", "quartz-sand", "doped-ceria"])))
def test_vickers_hardness_ranks_as_ours(pair: tuple[str, str]) -> None:
    """vickers_hardness, hv_comp_load: silicon carbide over zirconia over silica over ceria; our ranks by Mohs do not run against it."""
    harder, softer = (TABLE["vickers_GPa"][name]["hardness"] for name in pair)
    assert harder > softer
    ours = [held(name.replace("doped-ceria", "cerium-oxide"), "hardness") for name in pair]
    assert ours[0].mid >= ours[1].mid


@pytest.mark.parametrize(("thing", "measured"), [("silicon-carbide", "silicon-carbide"), ("cubic-boron-nitride", "cubic-boron-nitride")])
def test_knoop_hardness_is_near_the_vickers_hardness(thing: str, measured: str) -> None:
    """vickers_hardness, hv_comp_load: the two tests of a hard grain differ by no more than a quarter."""
    vickers = TABLE["vickers_GPa"][measured]["hardness"]
    assert held(thing, "knoopHardness").mid * Decimal("9.80665") / 1000 == pytest.approx(vickers, rel=Decimal("0.25"))


@pytest.mark.parametrize(("metal", "mohs"), TABLE["metal_mohs"].items())
def test_metals_of_laps_are_softer_than_any_glass(metal: str, mohs: Decimal) -> None:
    """pymatgen-core, mineral hardness: grain beds in a lap that is softer than the glass."""
    assert all(held(glass, "hardness").lowest > mohs for glass in GLASSES), metal


@pytest.mark.parametrize("mineral", [mineral.id for mineral in VOCABULARY.things("mineral") if VOCABULARY.holds(mineral.id, "cutsGlass")])
def test_what_cuts_glass_scratches_feldspar(mineral: str) -> None:
    """Mohs' scale: feldspar is 6, as hard as any common glass; each grain that is said to cut glass stands above it."""
    assert held(mineral, "hardness").lowest > 6
