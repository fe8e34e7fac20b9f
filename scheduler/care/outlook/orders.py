"""The days on which to order a product, pack after pack."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from scheduler.handbook.feeding import LONGEST_SUPPLY_DAYS


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """So many packs ordered on a day; what is there before ends on `end`.

    late: the day to order was before the span. ended: by the reckoning there is nothing left.
    """

    day: dt.date
    count: int
    end: dt.date
    state: Literal["due", "late", "ended"]


def orders(
    opened: dt.date, days: float, ahead: int, first: dt.date, last: dt.date, *, have: int = 1
) -> Iterator[Order]:
    """Yield the orders from `first` to `last` of packs that last so many days each, at least one.

    `have` packs are there or on their way: the one that was opened, and those ordered since. Each further one
    is ordered `ahead` days before what is there ends; what ended before the span is ordered on its first day,
    and the next pack counts from there.
    """
    start, held, found = opened, have, {first: Order(day=first, count=0, end=first, state="due")}
    if _end(start, held, days) < first:
        found[first] = Order(day=first, count=1, end=_end(start, held, days), state="ended")
        start, held = first, 1
    while True:
        end = _end(start, held, days)
        day = end - dt.timedelta(days=ahead)
        on = max(day, first, start)
        if on > last or held * days > LONGEST_SUPPLY_DAYS:
            break
        before = found.get(on)
        if before is not None and before.count:
            found[on] = Order(day=on, count=before.count + 1, end=before.end, state=before.state)
        else:
            found[on] = Order(day=on, count=1, end=end, state="late" if day < first else "due")
        held += 1
    yield from (order for order in found.values() if order.count)


def _end(start: dt.date, packs: int, days: float) -> dt.date:
    """Return the last whole day of so many packs, the first of which was opened at the start."""
    return start + dt.timedelta(days=math.floor(min(packs * days, LONGEST_SUPPLY_DAYS)))
