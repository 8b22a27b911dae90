"""The machine that is named for a step goes into the piece, is the maker's where it can be, and is the usual one else."""

from finishing_kg.advice.machine import machine_for
from finishing_kg.casebook import load_waivers
from finishing_kg.casebook.sweep import spread
from finishing_kg.casebook.sweep.twice import narrow_faults
from finishing_kg.cli.sweep import FAULT
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.places import shipped
from finishing_kg.record import replace
from finishing_kg.routes import Case


def bowl(width: str, **bench: object) -> Case:
    """A hollow of some width in mm."""
    return replace(Case(form="concave", measures={"diameter": Quantity.of(width, "mm")}), **bench)


def test_a_narrow_opening_takes_a_machine_with_small_tools(knowledge: Knowledge) -> None:
    """The usual machine of a felt wheel turns wheels from 100 mm, which stay outside a narrow bowl; a lathe turns small ones."""
    assert machine_for(knowledge, Case(form="concave"), "felt-wheel") == "polisher"
    assert machine_for(knowledge, bowl("400"), "felt-wheel") == "polisher"
    assert machine_for(knowledge, bowl("100"), "felt-wheel") == machine_for(knowledge, bowl("40"), "felt-wheel") == "lathe"
    assert machine_for(knowledge, replace(bowl("40"), form="convex"), "felt-wheel") == "polisher", "a wheel need not go into what is no hollow"
    assert machine_for(knowledge, bowl("2"), "felt-wheel") == "polisher", "where no machine fits, the opening decides nothing"


def test_the_makers_own_machine_comes_first(knowledge: Knowledge) -> None:
    """Of machines that fit equally well the one at hand is named; one that does not fit is named only where the maker has nothing else."""
    assert machine_for(knowledge, bowl("400", at_hand=("horizontal-spindle",)), "felt-wheel") == "horizontal-spindle"
    assert machine_for(knowledge, bowl("40", at_hand=("polisher",)), "felt-wheel") == "lathe"
    assert machine_for(knowledge, bowl("40", at_hand=("polisher",), limited_in=frozenset({"carrier"})), "felt-wheel") == "polisher"


def test_a_machine_that_is_not_wanted_is_not_named(knowledge: Knowledge) -> None:
    """What the maker rules out is left out, and with nothing left there is no machine."""
    assert machine_for(knowledge, bowl("40", unwanted=("lathe",)), "felt-wheel") == "polisher"
    assert machine_for(knowledge, bowl("40", unwanted=("saw",)), "saw-blade") is None


def test_every_hollow_gets_tools_that_go_in(knowledge: Knowledge) -> None:
    """No route into a narrow opening names a machine whose tools are all too wide, and none of it is waived."""
    hollow = [case for case in spread(knowledge.vocabulary) if case.form and knowledge.vocabulary.holds(case.form, "isHollow")]
    assert [(case, fault) for case in hollow[:: len(hollow) // 20] for fault in narrow_faults(knowledge, case)] == []
    assert not [about for fault, about in load_waivers(sorted((shipped("rules") / "cases").glob("*.toml"))) if fault == FAULT]
