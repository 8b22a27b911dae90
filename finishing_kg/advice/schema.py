"""JSON Schemas of the contract, and printed answers read back; the one use of pydantic on this side of the rule files.

Loaded only by those who ask for it: making the validators of an answer takes longer than answering.
"""

from __future__ import annotations

from dataclasses import MISSING, fields
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter

from finishing_kg.advice import contract
from finishing_kg.advice.contract import SCHEMAS
from finishing_kg.advice.wire import as_json

_Read = TypeVar("_Read")


def json_schema(name: str) -> dict[str, Any]:
    """The JSON Schema of what a command prints, by a key of ``SCHEMAS``."""
    schema = TypeAdapter(SCHEMAS[name]).json_schema(by_alias=True)
    for title, part in {SCHEMAS[name].__name__: schema, **schema.get("$defs", {})}.items():
        for each in fields(getattr(contract, title)):
            # What a field is unless given stands in its factory, which pydantic does not call.
            if each.default_factory is not MISSING:
                described = part["properties"][each.metadata.get("alias", each.name)]
                described["default"] = as_json(each.default_factory())
                part["properties"][each.metadata.get("alias", each.name)] = dict(sorted(described.items()))
    return schema


def read_back(kind: type[_Read], text: str | bytes) -> _Read:
    """A part of the contract from its JSON text; strict: no key may be missing or unknown, and no type is converted.

    Args:
        kind: the part, or a list of parts such as ``list[RuleEntry]``.
        text: as a command printed it.

    Raises:
        pydantic.ValidationError: the text is not JSON, or not this part.
    """
    adapter: TypeAdapter[_Read] = _adapter(kind)  # type: ignore[arg-type]
    found: _Read = adapter.validate_json(text, strict=True)
    return found


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
