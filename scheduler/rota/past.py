"""What the log says of the keepers, as the rota reads it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from scheduler.description.site import Keeper
from scheduler.rota.model import Past

LATE_DAYS = 180
"""How far back it counts who knows an enclosure and who had which turn. House value: half a year."""


def past(
    keepers: Iterable[Keeper],
    by_day: Iterable[tuple[dt.date, str, int]],
    of_late: Iterable[tuple[str, str, str, int, int]],
    today: dt.date,
) -> Past:
    """Return the past of keepers.

    `by_day`: (day, keeper's id, minutes), in the order of days, over the whole log. `of_late`: (keeper's id,
    enclosure, job, minutes, times). Somebody counts from his or her first entry on: what others did before is
    nobody's debt.
    """
    shares = {k.id: k.share for k in keepers}
    monday = today - dt.timedelta(days=today.weekday())
    ahead: dict[str, float] = {}
    done_today: dict[str, int] = {}
    out: dict[str, int] = {}
    days: dict[dt.date, list[tuple[str, int]]] = {}
    for day, keeper, minutes in by_day:
        if keeper in shares:
            days.setdefault(day, []).append((keeper, minutes))
    for day, some in days.items():
        for keeper, _ in some:
            ahead.setdefault(keeper, 0.0)
        _add(ahead, some, shares)
        for keeper, minutes in some:
            if day == today:
                done_today[keeper] = minutes
            elif monday <= day < today:
                out[keeper] = out.get(keeper, 0) + 1
    knows: dict[tuple[str, str], float] = {}
    turns: dict[tuple[str, str], int] = {}
    for keeper, enclosure, job, minutes, times in of_late:
        knows[keeper, enclosure] = knows.get((keeper, enclosure), 0.0) + minutes
        turns[keeper, job] = turns.get((keeper, job), 0) + times
    return Past(ahead=ahead, knows=knows, turns=turns, today=done_today, out=out)


def _add(ahead: dict[str, float], some: Iterable[tuple[str, int]], shares: Mapping[str, float]) -> None:
    """Give each what was done, and take from all who are there by then their share of it."""
    some = list(some)
    total = sum(minutes for _, minutes in some)
    whole = sum(shares[keeper] for keeper in ahead)
    if whole <= 0.0:
        return
    for keeper in ahead:
        ahead[keeper] -= total * shares[keeper] / whole
    for keeper, minutes in some:
        ahead[keeper] += minutes
