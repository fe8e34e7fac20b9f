"""Why nobody takes an item, and what would mend it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from scheduler.description.site import Keeper
from scheduler.quantities import show_date
from scheduler.rota.model import Item, Unfilled
from scheduler.rota.roster import Roster

MOST_NAMES = 4


def explain(roster: Roster, item: Item, used: Mapping[tuple[dt.date, int], int]) -> Unfilled:
    """Return an unfilled item with the reason. `used` are the minutes of each keeper's rounds."""
    able = [(n, roster.keepers[n]) for n in roster.able(item.job.skills)]
    if not able:
        return _no_skill(roster, item)
    there = [(n, k, day) for day in item.days for n, k in able if roster.comes(k, day)]
    if not there:
        return _not_there(roster, item, [k for _, k in able])
    left = [
        (roster.minutes(k, day) - used.get((day, n), 0) - item.job.minutes, day, k) for n, k, day in there
    ]
    most, day, keeper = max(left, key=lambda one: (one[0], -one[1].toordinal()))
    names = _names([k for _, k, _ in there])
    free = [k for spare, _, k in left if spare >= 0]
    if free and all(k.rounds_a_week is not None for k in free):
        one = "has" if len({k.id for k in free}) == 1 else "have"
        return Unfilled(
            item,
            f"{_names(free)} {one} as many rounds in that week as rounds_a_week allows, and nobody else the minutes",
            f"rounds_a_week of {free[0].name} one higher",
        )
    if free:
        return Unfilled(
            item,
            f"{keeper.name} has minutes on {show_date(day)}, but no place for it was found beside the rest",
            "more time for the search (--seconds), or --afresh where a rota is published",
        )
    limits = f"the minutes of all who can do it and are there are used up ({names})"
    return Unfilled(item, limits, f"{-most} more minutes of {keeper.name} on {show_date(day)}")


def _no_skill(roster: Roster, item: Item) -> Unfilled:
    lacking = [s for s in item.job.skills if not any(s in (k.can or ()) for k in roster.keepers)]
    words = ", ".join(f'"{skill}"' for skill in (lacking or item.job.skills))
    why = f"no keeper lists {words}" if lacking else f"no single keeper lists all of {words}"
    here = [k for k in roster.keepers if any(roster.comes(k, day) for day in item.days)]
    whom = f" of {_names(here[:1])}" if here else ""
    return Unfilled(
        item, why, f"add it to can{whom}, if that is so, or ask somebody from outside who is fit for it"
    )


def _not_there(roster: Roster, item: Item, able: list[Keeper]) -> Unfilled:
    when = (
        show_date(item.days[0])
        if len(item.days) == 1
        else f"{show_date(item.days[0])} to {show_date(item.days[-1])}"
    )
    away = [k for k in able if all(roster.away(k, day) for day in item.days)]
    if len(away) == len(able):
        why = f"all who can do it are away ({_names(able)}), {when}"
        return Unfilled(
            item, why, f"somebody to stand in on {show_date(item.days[0])}: `pondround rota --sitter NAME`"
        )
    others = [k for k in able if not all(roster.away(k, day) for day in item.days)]
    why = f"nobody who can do it comes ({_names(able)}), {when}"
    return Unfilled(item, why, f"{others[0].name} on {item.days[0]:%A}, {show_date(item.days[0])}")


def _names(keepers: list[Keeper]) -> str:
    names = list(dict.fromkeys(k.name for k in keepers))
    if len(names) > MOST_NAMES:
        return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
    return ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else names[0]
