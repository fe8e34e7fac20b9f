"""The days of many enclosures as lines for a terminal: a day's same job is one line, and a screen is full."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import accumulate

from scheduler.description.site import Site
from scheduler.plan import Occurrence
from scheduler.plan.occurrence import by_day
from scheduler.quantities import show_date
from scheduler.sheets.names import Naming, few_names, names_by_id
from scheduler.sheets.terminal import (
    LEAST_WIDTH,
    ROOM_FOR_COLUMNS,
    STICKY,
    Item,
    brief_day,
    cells,
    day_heading,
    duration,
    hanging,
    pad,
    safe,
    tells_key,
    wrapped,
)

MINUTES = 12
"""Columns of a sum of minutes."""


def grouped_items(
    site: Site, found: Iterable[Occurrence], width: int, naming: Naming, *, wrap: bool = True
) -> Iterator[list[Item]]:
    """Yield for each day its heading and its jobs: those of one hour, title and state are one item, with the
    names of their enclosures.

    Without `wrap` each is one line, however long: for programs that look for words in lines.
    """
    width = max(width, LEAST_WIDTH)
    names = names_by_id(site.enclosures)
    keepers = {k.id: k.name for k in site.keepers} if len(site.keepers) > 1 else {}
    for day, batch in by_day(found):
        groups: dict[tuple[dt.time, str, str, str], list[Occurrence]] = {}
        for o in batch:
            groups.setdefault((o.time, o.job.title, o.job.word, _standing(o)), []).append(o)
        items = (
            _item(group, day, keepers, width, names=names, naming=naming, wrap=wrap)
            for group in groups.values()
        )
        yield [day_heading(day, batch, width), *items]


def _standing(o: Occurrence) -> str:
    """Return how an occurrence stands: what of two alike is told apart."""
    if o.entry is not None:
        return "done"
    return f"open, {o.state}" if o.since is not None else "put off" if o.put_off is not None else ""


def _how(group: Sequence[Occurrence], day: dt.date, keepers: dict[str, str]) -> str:
    """Return what is said of jobs beside their title; of many dates the oldest."""
    first = group[0]
    if first.entry is not None:
        who = {keepers.get(o.entry.keeper, "") for o in group if o.entry is not None}
        by = who.pop() if len(who) == 1 else ""
        return f", done by {by}" if by else ", done"
    if first.since is None and first.put_off is None:
        return ""
    said = (first.state, "since") if first.since is not None else ("put off", "from")
    days = sorted({o.put_off.due if o.put_off is not None else o.due for o in group})
    oldest = "" if len(days) == 1 else ", the oldest"
    return f", {said[0]}{oldest} {said[1]} {brief_day(days[0], day)}"


def _item(
    group: Sequence[Occurrence],
    day: dt.date,
    keepers: dict[str, str],
    width: int,
    *,
    names: Mapping[str, str],
    naming: Naming,
    wrap: bool,
) -> Item:
    """Return a group: hour, title, what `did` calls it where the title does not say that, names, and the sum
    of the minutes; on a narrow line they stand after the title."""
    job = group[0].job
    start = f"  {group[0].time:%H:%M}  "
    minutes = duration(sum(o.job.minutes for o in group))
    enclosures = list(dict.fromkeys(names[o.job.enclosure.id] for o in group))
    where = safe(naming(enclosures, list(names.values())))
    cut = naming is few_names and where.endswith(" more")
    title = safe(job.title + _how(group, day, keepers)) + ("" if tells_key(job) else f" ({job.word})")
    if width < ROOM_FOR_COLUMNS:
        title, minutes = f"{title}, {minutes.replace(' ', STICKY)}", ""
    if not wrap:
        line = pad(f"{start}{title}: {where}", max(width - MINUTES, cells(f"{start}{title}: {where}")))
        return Item((f"{line}{minutes:>{MINUTES}}".rstrip(),), len(group), cut)
    room = width - (MINUTES if minutes else 0)
    # What goes on below stands further in, so that titles are seen at once.
    first, *below = hanging(f"{title}: {where}", room, start)
    return Item((f"{pad(first, room)}{minutes:>{MINUTES}}".rstrip(), *below), len(group), cut)


def whole_lines(days: Iterable[list[Item]]) -> Iterator[str]:
    """Yield the lines of days, a blank one after each."""
    for items in days:
        yield from _printed(items)


def fitting_lines(days: Iterable[list[Item]], rows: int, width: int, last: dt.date) -> list[str]:
    """Return the lines of days: as many whole days as fit into so many rows, or a part of the first, and a
    line that says how many jobs there are more up to the day `last`, or that names were left out."""
    held = list(days)
    whole = list(whole_lines(held))
    cut = any(item.cut for items in held for item in items)
    names = list(wrapped("--all names every enclosure.", width, 0)) if cut else []
    if len(whole) + len(names) <= rows:
        return [*whole, *names]
    left = sum(item.jobs for items in held for item in items)
    lines: list[str] = []
    for items in held:
        more = list(wrapped(_more(left, last), width, 0))
        room = rows - len(more) - len(lines)
        own = _printed(items)
        if len(own) > room:
            if not lines:
                part = items[: max(2, _how_many_fit(items, room - 1))]
                lines = _printed(part)
                left -= sum(item.jobs for item in part)
            break
        lines += own
        left -= sum(item.jobs for item in items)
    return [*lines, *wrapped(_more(left, last), width, 0)]


def _how_many_fit(items: Sequence[Item], room: int) -> int:
    ends = accumulate(len(item.lines) for item in items)
    return sum(end <= room for end in ends)


def _printed(items: Sequence[Item]) -> list[str]:
    return [*(line for item in items for line in item.lines), ""]


def _more(count: int, last: dt.date) -> str:
    jobs = f"{count} more job{'s' if count > 1 else ''} until {show_date(last)}"
    return f"{jobs}: --all shows them, --days N those of N days."
