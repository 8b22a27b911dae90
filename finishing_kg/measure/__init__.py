"""Numbers with units: the bottom room, which knows nothing of glass."""

from finishing_kg.measure.quantity import Quantity, QuantityError, read_quantity, two_figures
from finishing_kg.measure.units import Unit, Units

__all__ = ["Quantity", "QuantityError", "Unit", "Units", "read_quantity", "two_figures"]
