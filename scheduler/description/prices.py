"""Prices: a plain decimal number and the code of a currency, kept exactly."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from scheduler.description.fields import wrong
from scheduler.errors import clip

EXAMPLE = '"12.50 EUR"'
MOST_LETTERS = 40
EXPECTED = (
    "expected a price in quotes: a number with at most two decimals, and a currency in three capitals (ISO "
    "4217)"
)

_PRICE = re.compile(r"\s*([0-9]{1,7}(?:\.[0-9]{1,2})?)\s*([A-Z]{3})\s*")
_NEARLY = re.compile(r"([^0-9]{0,5}?)\s*([0-9]{1,7})(?:[.,]([0-9]{1,2}))?\s*([^0-9]{0,5})")
_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD"}
"""What somebody who writes a sign most likely means."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What something costs: an exact amount, and the currency's ISO 4217 code."""

    amount: Decimal
    currency: str

    def times(self, count: int) -> Price:
        """Return the price of so many."""
        return Price(amount=self.amount * count, currency=self.currency)

    def __str__(self) -> str:
        """Return the price as it is written: 12.50 EUR."""
        return f"{show_amount(self.amount)} {self.currency}"


def show_amount(amount: Decimal) -> str:
    """Return an amount of money with two decimals."""
    return f"{amount:.2f}"


def _price(value: object) -> Price:
    if isinstance(value, bool) or not isinstance(value, str):
        bare = isinstance(value, int | float) and not isinstance(value, bool)
        found = f"found {clip(value)}" + (", a bare number" if bare else "")
        raise wrong(
            f"{found}; {EXPECTED}", f"write the currency too: {EXAMPLE}" if bare else f"write {EXAMPLE}"
        )
    match = _PRICE.fullmatch(value)
    if match is None:
        raise wrong(f"found {clip(value)}; {EXPECTED}", _hint(value))
    return Price(amount=Decimal(match[1]), currency=match[2])


def _hint(text: str) -> str:
    """Return what to write instead: with the keeper's own number where nothing but its form is wrong."""
    match = _NEARLY.fullmatch(text.strip()) if len(text) <= MOST_LETTERS else None
    if match is None:
        return f"write {EXAMPLE}"
    before, whole, decimals, after = match.groups()
    number = whole + (f".{decimals.ljust(2, '0')}" if decimals else "")
    said = (before + after).strip()
    if not said:
        return f'write the currency too: "{number} EUR"'
    code = _SIGNS.get(said, said.upper())
    return f'write "{number} {code}"' if re.fullmatch("[A-Z]{3}", code) else f"write {EXAMPLE}"


PriceText = Annotated[
    Any,
    BeforeValidator(_price),
    WithJsonSchema(
        {
            "type": "string",
            "description": f"price of one, {EXAMPLE.strip(chr(34))}: a plain number and an ISO 4217 code",
            "pattern": r"^\s*[0-9]{1,7}(\.[0-9]{1,2})?\s*[A-Z]{3}\s*$",
        }
    ),
]
"""A price as it stands in the description."""
