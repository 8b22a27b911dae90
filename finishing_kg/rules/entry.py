"""A rule as it stands in a file, before its sentences are read."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

_Identifier = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
_Sentence = Annotated[str, StringConstraints(min_length=1, max_length=300)]


class BasisEntry(BaseModel):
    """What a rule rests on: ``kind`` alone, or with ``source`` and ``locator``."""

    model_config = ConfigDict(extra="forbid", strict=True)
    kind: str
    source: str | None = None
    locator: str | None = None


class RuleFileEntry(BaseModel):
    """One ``[[rule]]`` table."""

    # Strict: "yes" is no true, and a number is no text.
    model_config = ConfigDict(extra="forbid", strict=True)
    id: _Identifier
    if_: list[_Sentence] = Field(alias="if", min_length=1)
    unless: list[_Sentence] = []
    then: list[_Sentence] = Field(min_length=1)
    because: Annotated[str, StringConstraints(min_length=10, max_length=600)]
    basis: BasisEntry
    overrides: list[_Identifier] = []
    safety: bool = False


KEYS = tuple(field.alias or name for name, field in RuleFileEntry.model_fields.items())
"""The keys that a ``[[rule]]`` table may have."""

BASIS_KEYS = tuple(BasisEntry.model_fields)
"""The keys that a basis may have."""
