"""Classes that hold fields, as ``dataclasses`` makes them, at a tenth of the price.

``dataclasses`` writes and compiles up to six functions for each class when it is defined. For the seventy classes between a
question and its answer that took longer than importing all of pydantic's validators, at every start. Here only what builds
an object is compiled, and only for a class that is used; the rest is shared. Whoever looks at a record as at a
dataclass finds one: ``dataclasses.fields``, ``replace`` and ``asdict``, pydantic, and dataclasses that inherit from it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from operator import attrgetter
from typing import Any, Self, TypeVar, dataclass_transform

_T = TypeVar("_T")
_NONE: Any = object()


class _Field:
    """What is told of a field beside its type; the names are those of ``dataclasses.field``."""

    __slots__ = ("compare", "default", "default_factory", "metadata", "name", "repr", "type")

    def __init__(self, default: Any, default_factory: Any, *, compare: bool, repr: bool, metadata: dict[str, Any] | None) -> None:
        self.default, self.default_factory, self.compare, self.repr, self.metadata = default, default_factory, compare, repr, metadata
        self.name, self.type = "", None


def field(
    *,
    default: Any = _NONE,
    default_factory: Callable[[], Any] = _NONE,
    compare: bool = True,
    repr: bool = True,
    metadata: dict[str, Any] | None = None,
) -> Any:
    """As ``dataclasses.field``."""
    return _Field(default, default_factory, compare=compare, repr=repr, metadata=metadata)


@dataclass_transform(field_specifiers=(field,))
def record(*, frozen: bool = False, slots: bool = False, kw_only: bool = False) -> Callable[[type[_T]], type[_T]]:
    """As ``dataclasses.dataclass``, for classes that inherit no fields."""

    def made(cls: type[_T]) -> type[_T]:
        fields = _fields_of(cls)
        space: dict[str, Any] = {"__match_args__": () if kw_only else tuple(fields), "__repr__": _repr, "__dataclass_fields__": _LateFields(kw_only)}
        space |= {"__record_fields__": fields, "__record_frozen__": frozen, "__dataclass_params__": _LateParams(frozen)}
        compared = [name for name, one in fields.items() if one.compare]
        space |= _comparing(compared, frozen=frozen)
        if frozen:
            space |= {"__setattr__": _refuse, "__delattr__": _refuse}
        own = cls.__dict__
        for name, value in space.items():
            if name not in own or name == "__hash__":  # defining __eq__ put a None there
                setattr(cls, name, value)
        if slots:
            cls = _slotted(cls, fields, frozen=frozen)
        _initialise_late(cls, fields, frozen=frozen, kw_only=kw_only)
        return cls

    return made


def replace(held: _T, /, **changes: Any) -> _T:
    """Another record with some fields changed.

    Raises:
        TypeError: there is no such field.
    """
    cls = type(held)
    for name in cls.__record_fields__:  # type: ignore[attr-defined]
        if name not in changes:
            changes[name] = getattr(held, name)
    return cls(**changes)


def _fields_of(cls: type) -> dict[str, _Field]:
    """The annotated names of a class in their order; what they are unless given is taken out of the class."""
    fields: dict[str, _Field] = {}
    for name, kind in cls.__annotations__.items():
        default = cls.__dict__.get(name, _NONE)
        one = default if isinstance(default, _Field) else _Field(default, _NONE, compare=True, repr=True, metadata=None)
        one.name, one.type = name, kind
        fields[name] = one
        if default is one and one.default is _NONE:
            delattr(cls, name)
        elif default is one:
            setattr(cls, name, one.default)
    return fields


def _comparing(names: list[str], *, frozen: bool) -> dict[str, Any]:
    """Equality by the fields, and a hash if they cannot change."""
    values = attrgetter(*names) if names else lambda _held: ()

    def __eq__(self: Any, other: object) -> Any:  # noqa: N807
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self: Any) -> int:  # noqa: N807
        return hash(values(self))

    return {"__eq__": __eq__, "__hash__": __hash__ if frozen else None}


def _slotted(cls: type[_T], fields: dict[str, _Field], *, frozen: bool) -> type[_T]:
    """The class made again with a slot for each field, since slots cannot be added."""
    space = {name: value for name, value in cls.__dict__.items() if name not in fields and name not in ("__dict__", "__weakref__")}
    space["__slots__"] = tuple(fields)
    if frozen:
        space |= {"__getstate__": _state, "__setstate__": _set_state}
    kind: Any = type(cls)
    again: type[_T] = kind(cls.__name__, cls.__bases__, space)
    again.__qualname__ = cls.__qualname__
    return again


def _initialise_late(cls: Any, fields: dict[str, _Field], *, frozen: bool, kw_only: bool) -> None:
    """Let the first object of a class compile what builds its objects."""

    def __init__(self: Any, *values: Any, **named: Any) -> None:  # noqa: N807
        if cls.__dict__["__init__"] is __init__:
            cls.__init__ = _initialiser(cls, fields, frozen=frozen, kw_only=kw_only)
        cls.__init__(self, *values, **named)

    cls.__init__ = __init__


def _initialiser(cls: type, fields: dict[str, _Field], *, frozen: bool, kw_only: bool) -> Any:
    """The function that a class's ``__init__`` would be if it were written out."""
    names: dict[str, Any] = {"_set": object.__setattr__, "_none": _NONE}
    taken, lines = ["self", *(["*"] if kw_only and fields else [])], []
    for number, (name, one) in enumerate(fields.items()):
        value = name
        if one.default_factory is not _NONE:
            names[f"_make{number}"] = one.default_factory
            taken.append(f"{name}=_none")
            value = f"_make{number}() if {name} is _none else {name}"
        elif one.default is not _NONE:
            names[f"_default{number}"] = one.default
            taken.append(f"{name}=_default{number}")
        else:
            taken.append(name)
        lines.append(f" _set(self, {name!r}, {value})" if frozen else f" self.{name} = {value}")
    if hasattr(cls, "__post_init__"):
        lines.append(" self.__post_init__()")
    # Of our own field names only, as ``dataclasses`` does it.
    exec(f"def __init__({', '.join(taken)}):\n" + "\n".join(lines or [" pass"]), names)
    made = names["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    return made


def _repr(self: Any) -> str:
    shown = ", ".join(f"{name}={getattr(self, name)!r}" for name, one in self.__record_fields__.items() if one.repr)
    return f"{type(self).__qualname__}({shown})"


def _refuse(self: Any, name: str, *_value: Any) -> None:
    from dataclasses import FrozenInstanceError

    raise FrozenInstanceError(f"cannot change field {name!r} of {type(self).__qualname__}")


def _state(self: Any) -> list[Any]:
    return [getattr(self, name) for name in self.__record_fields__]


def _set_state(self: Any, state: list[Any]) -> None:
    for name, value in zip(self.__record_fields__, state, strict=True):
        object.__setattr__(self, name, value)


class _LateFields:
    """What ``dataclasses`` keeps of the fields of a class, made when somebody asks for it."""

    def __init__(self, kw_only: bool) -> None:
        self._kw_only = kw_only

    def __get__(self, _held: object, owner: type) -> Any:
        import dataclasses

        make: Any = dataclasses.field
        missing, found = dataclasses.MISSING, dict[str, Any]()
        for one in owner.__record_fields__.values():  # type: ignore[attr-defined]
            made = make(
                default=missing if one.default is _NONE else one.default,
                default_factory=missing if one.default_factory is _NONE else one.default_factory,
                compare=one.compare,
                repr=one.repr,
                metadata=one.metadata,
                kw_only=self._kw_only,
            )
            made.name, made.type = one.name, one.type
            made._field_type = dataclasses._FIELD  # type: ignore[attr-defined]
            found[one.name] = made
        # Where it was found: a class that inherits from a record has the record's.
        home = next(each for each in owner.__mro__ if each.__dict__.get("__dataclass_fields__") is self)
        home.__dataclass_fields__ = found  # type: ignore[attr-defined]
        return found


class _LateParams:
    """What ``dataclasses`` keeps of how a class was made, made when somebody asks for it."""

    def __init__(self, frozen: bool) -> None:
        self._frozen = frozen

    def __get__(self, _held: object, _owner: type) -> Any:
        from types import SimpleNamespace

        return SimpleNamespace(init=True, repr=True, eq=True, order=False, unsafe_hash=False, frozen=self._frozen)


class Deriving:
    """For what never changes: keeps what other rooms make of it."""

    @cached_property
    def _derived(self) -> dict[object, Any]:
        return {}

    def derived(self, make: Callable[[Self], _T]) -> _T:
        """What is made of this and of nothing else: made once, and kept for as long as this."""
        if make not in self._derived:
            self._derived[make] = make(self)
        made: _T = self._derived[make]
        return made
