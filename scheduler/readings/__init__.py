"""Readings: what a keeper may measure, how it is written and shown, and which values look like slips of the
pen."""

from scheduler.readings.catalogue import NO, QUANTITIES, SIGN, SIGNS, YES, Quantity, named_of, quantity
from scheduler.readings.display import LIKELY, WITHIN_DAYS, show_reading, unlikely
from scheduler.readings.reading_text import (
    ParsedReading,
    assumption,
    field_unit,
    in_field,
    needs_basis,
    parse_reading,
    with_unit,
)

__all__ = [
    "LIKELY",
    "NO",
    "QUANTITIES",
    "SIGN",
    "SIGNS",
    "WITHIN_DAYS",
    "YES",
    "ParsedReading",
    "Quantity",
    "assumption",
    "field_unit",
    "in_field",
    "named_of",
    "needs_basis",
    "parse_reading",
    "quantity",
    "show_reading",
    "unlikely",
    "with_unit",
]
