"""Parts of the JSON contract as JSON values: plain dictionaries and lists, in the order in which the parts are written."""

from typing import Any

# By class, the fields in their order, each with the key it is printed under; filled at the first part of a class.
_Keys = tuple[tuple[str, str], ...]


class _KeysOf(dict[type, _Keys]):
    """The keys of each class of parts; looked up once a class, since an answer holds a thousand reasons."""

    def __missing__(self, kind: type) -> _Keys:
        fields = getattr(kind, "__dataclass_fields__", None)
        if fields is None:
            raise TypeError(f"{kind.__name__} is no part of the contract and no JSON value.")
        keys = self[kind] = tuple((name, found.metadata.get("alias", name)) for name, found in fields.items())
        return keys


_KEYS = _KeysOf()
_AS_IT_IS = frozenset({str, int, float, bool, type(None)})


def as_json(value: Any) -> Any:
    """A part, or a list or table of parts, as what ``json.dumps`` takes; nothing is shared with the part but texts and numbers.

    Raises:
        TypeError: something that is no part and no JSON value.
    """
    kind = value.__class__
    if kind in _AS_IT_IS:
        return value
    if kind is list:
        return [each if each.__class__ in _AS_IT_IS else as_json(each) for each in value]
    if kind is dict:
        return {key: each if each.__class__ in _AS_IT_IS else as_json(each) for key, each in value.items()}
    made = {}
    for name, key in _KEYS[kind]:
        held = getattr(value, name)
        made[key] = held if held.__class__ in _AS_IT_IS else as_json(held)
    return made
