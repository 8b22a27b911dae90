"""Route cards for the bench: the first route of an answer as Markdown, as one page of HTML, or as PDF."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late

if TYPE_CHECKING:
    from finishing_kg.card.formats import FORMATS, CannotMake, format_of, written
    from finishing_kg.card.make import card_of, rungs_of
    from finishing_kg.card.model import Card, NoRoute, Rung
else:
    # Who wants Markdown pays for nothing else.
    _PLACES = {"Card": "model", "NoRoute": "model", "Rung": "model", "card_of": "make", "rungs_of": "make"}
    __getattr__ = loaded_late(__name__, {**_PLACES, "FORMATS": "formats", "CannotMake": "formats", "format_of": "formats", "written": "formats"})

__all__ = ["FORMATS", "CannotMake", "Card", "NoRoute", "Rung", "card_of", "format_of", "rungs_of", "written"]
