"""Names of a package that are loaded at the first need, so that nobody waits for what is not used."""

from collections.abc import Callable, Mapping


def loaded_late(package: str, places: Mapping[str, str]) -> Callable[[str], object]:
    """A package's ``__getattr__`` (PEP 562).

    Args:
        package: its full name.
        places: for each name that the package offers the module in it that defines it.
    """

    def find(name: str) -> object:
        if name not in places:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        from importlib import import_module

        return getattr(import_module(f"{package}.{places[name]}"), name)

    return find
