"""The kinds of value with a unit, and spans of days."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from scheduler.description.fields.mistake import wrong
from scheduler.errors import clip
from scheduler.quantities import KINDS, QuantityError, Span, parse, parse_span


def _quantity(kind_name: str) -> Any:
    kind = KINDS[kind_name]

    def read(value: object) -> float:
        article = "an" if kind.name[0] in "aeiou" else "a"
        if isinstance(value, bool) or not isinstance(value, str):
            bare = isinstance(value, int | float) and not isinstance(value, bool)
            found = f"found {clip(value)}" + (", a bare number" if bare else "")
            raise wrong(
                f"{found}; expected {article} {kind.name} with its unit, in quotes", f"write {kind.example}"
            )
        try:
            return parse(value, kind_name)
        except QuantityError as error:
            raise wrong(error.message, error.hint) from None

    schema = {
        "type": "string",
        "description": f"{kind.name} with its unit, {kind.example}",
        "pattern": r"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*[A-Za-z°].*$",
    }
    return BeforeValidator(read), WithJsonSchema(schema)


Length = Annotated[float, *_quantity("length")]
Area = Annotated[float, *_quantity("area")]
Volume = Annotated[float, *_quantity("volume")]
Mass = Annotated[float, *_quantity("mass")]
Flow = Annotated[float, *_quantity("flow")]
Power = Annotated[float, *_quantity("power")]
Temperature = Annotated[float, *_quantity("temperature")]
Concentration = Annotated[float, *_quantity("concentration")]


def _span(least_days: int) -> Any:
    def read(value: object) -> Span:
        if not isinstance(value, str):
            raise wrong(
                f"found {clip(value)}; expected a span in quotes", 'write "14 days", "6 weeks" or "6 months"'
            )
        try:
            return parse_span(value, least_days)
        except QuantityError as error:
            raise wrong(error.message, error.hint) from None

    schema = {
        "type": "string",
        "description": 'a span, "14 days", "6 weeks" or "6 months"',
        "pattern": r"^\s*\d{1,5}\s*(day|week|month|year)s?\s*$",
    }
    return BeforeValidator(read), WithJsonSchema(schema)


Interval = Annotated[Span, *_span(1)]
Window = Annotated[Span, *_span(0)]
