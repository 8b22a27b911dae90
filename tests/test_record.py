"""Records are what ``dataclasses`` would have made of the same class; only sooner."""

import copy
import dataclasses
import pickle
from functools import cached_property
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from finishing_kg import record as records


@records.record(frozen=True, slots=True)
class Frozen:
    """A record that cannot change."""

    first: int
    second: str = "two"
    third: tuple[int, ...] = ()


@records.record(slots=True, kw_only=True)
class Open:
    """A record that can."""

    first: int = 1
    second: str
    third: list[int] = records.field(default_factory=list, metadata={"description": "numbers"})


@records.record(frozen=True)
class Wide:
    """A record with a table made late, and a part that does not count."""

    first: int
    aside: dict[str, int] = records.field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def doubled(self) -> int:
        """Twice the first."""
        return 2 * self.first


def twin(cls: type, **how: bool) -> type:
    """The same class as ``dataclasses`` makes it."""
    fields: list[Any] = []
    for one in dataclasses.fields(cls):
        made = dataclasses.field(
            default=one.default, default_factory=one.default_factory, compare=one.compare, repr=one.repr, metadata=one.metadata, kw_only=one.kw_only
        )
        fields.append((one.name, one.type, made))
    return dataclasses.make_dataclass(cls.__name__, fields, **how)


TWINS = [
    (Frozen, twin(Frozen, frozen=True, slots=True)),
    (Open, twin(Open, slots=True, kw_only=True)),
    (Wide, twin(Wide, frozen=True)),
]
VALUES = {"first": st.integers(0, 2), "second": st.sampled_from("ab"), "third": st.sampled_from([(), (1,)]), "aside": st.just({"x": 1})}


@pytest.mark.parametrize(("ours", "theirs"), TWINS, ids=lambda cls: cls.__name__)
@given(data=st.data())
def test_a_record_does_what_a_dataclass_does(ours: Any, theirs: Any, data: st.DataObject) -> None:
    """The same arguments make, or fail to make, objects that compare, hash, print and change alike."""

    def some() -> dict[str, Any]:
        names = [one.name for one in dataclasses.fields(ours)]
        return {name: data.draw(VALUES[name]) for name in data.draw(st.lists(st.sampled_from([*names, "first"]), unique=True))}

    def outcome(cls: Any, one: dict[str, Any], other: dict[str, Any]) -> list[Any]:
        try:
            a, b = cls(**one), cls(**other)
        except TypeError:
            return ["refused"]
        told: list[Any] = [a == b, a != b, repr(a).split(".")[-1], cls.__match_args__, dataclasses.asdict(a)]
        told.append(hash(a) == hash(b) if cls.__hash__ else None)
        told.append(repr(dataclasses.replace(a, first=7)).split(".")[-1])
        try:
            a.first = 9
            told.append(a.first)
        except dataclasses.FrozenInstanceError:
            told.append("frozen")
        return told

    one, other = some(), some()
    assert outcome(ours, one, other) == outcome(theirs, one, other)


def test_arguments_may_stand_in_their_order() -> None:
    """Positions are taken unless names are asked for; a record of another class is never equal."""
    assert Frozen(1, "x", (2,)) == Frozen(third=(2,), second="x", first=1)
    with pytest.raises(TypeError):
        Open(1, "x")  # type: ignore[misc]
    assert Frozen(1) != Wide(1)
    assert (Frozen(1) == 1) is False


def test_what_is_made_late_is_made_for_each() -> None:
    """Two records share no list, and what is cached on a frozen one stays its own."""
    one, other = Open(second="a"), Open(second="a")
    one.third.append(1)
    assert other.third == []
    assert (Wide(2).doubled, Wide(3).doubled) == (4, 6)
    assert Wide(1, {"a": 1}) == Wide(1, {"b": 2})


def test_slots_leave_no_room_for_other_names() -> None:
    """A record with slots takes no attribute that is no field."""
    with pytest.raises(AttributeError):
        Open(second="a").fourth = 1  # type: ignore[attr-defined]
    assert not hasattr(Frozen(1), "__dict__")


@pytest.mark.parametrize("held", [Frozen(1, "x", (2,)), Open(second="a", third=[3]), Wide(4)], ids=repr)
def test_records_can_be_copied_and_sent(held: Any) -> None:
    """A copy, and one that was pickled on the way, equal the record."""
    assert copy.deepcopy(held) == held
    assert pickle.loads(pickle.dumps(held)) == held


def test_replace_refuses_a_field_that_is_not_there() -> None:
    """A wrong name is no field."""
    assert records.replace(Frozen(1), first=2) == Frozen(2)
    with pytest.raises(TypeError):
        records.replace(Frozen(1), fourth=2)


def test_a_dataclass_can_inherit_from_a_record() -> None:
    """The fields of the record come first, as those of a dataclass would."""

    @dataclasses.dataclass(frozen=True)
    class Longer(Wide):
        last: int = 5

    assert [one.name for one in dataclasses.fields(Longer)] == ["first", "aside", "last"]
    assert Longer(1).doubled == 2
    assert [one.name for one in dataclasses.fields(Wide)] == ["first", "aside"]


def test_pydantic_takes_a_record_for_a_dataclass() -> None:
    """It is validated and described as one, with the descriptions of its fields."""
    assert TypeAdapter(Open).validate_python({"second": "b", "third": [1]}) == Open(second="b", third=[1])
    assert TypeAdapter(Open).json_schema()["properties"]["third"]["description"] == "numbers"
