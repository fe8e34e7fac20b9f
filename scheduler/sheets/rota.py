"""A rota as lines for a terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.description.site import Keeper, Site
from scheduler.history import JobRef
from scheduler.quantities import show_date
from scheduler.rota import Assigned, Rota, Round, Task
from scheduler.rota.refusal import join_words
from scheduler.sheets.rota_records import WEEKDAYS, Changed, Slot
from scheduler.sheets.terminal import STICKY, cells, duration, hanging, pad, safe, wrapped

BESIDE_NAMES = 2 + 7 * 7 + 8
"""Columns of a week's table beside those of the names."""


def rota_lines(
    site: Site, rota: Rota, changes: Sequence[Changed], published: dt.date | None, width: int
) -> Iterator[str]:
    """Yield the rota: minutes by week, keeper and day; then loads, what changed, and what nobody takes.

    Where a table is wider than the lines, each of its rows is told in words, one below the other.
    """
    column = min(max(cells(safe(k.name)) for k in site.keepers), max(10, width // 4))
    folded = column + BESIDE_NAMES > width
    monday = rota.first - dt.timedelta(days=rota.first.weekday())
    while monday <= rota.last:
        yield from _folded_week(site, rota, monday, width) if folded else _week(site, rota, monday, column)
        yield ""
        monday += dt.timedelta(days=7)
    yield from _folded_loads(site, rota, width) if folded else _loads(site, rota, column)
    yield ""
    yield from wrapped(_quality(site, rota), width, 0)
    if published is not None:
        yield ""
        yield from changed_lines(site, changes, published, width)
    if rota.alone:
        yield ""
        yield "Too heavy for one, and nobody there to help:"
        for task in rota.alone:
            where = (
                f"{_short(task.day)}  {task.keeper.name}: {_title(task)}. Ask for a second person, or use a "
                "pump or a hose."
            )
            yield from wrapped(safe(where), width, 4, "  ")
    if rota.unfilled:
        yield ""
        yield f"Nobody takes ({len(rota.unfilled)}):"
        for u in rota.unfilled:
            job = u.item.job
            open_ = f" (due since {_short(u.item.due)})" if u.item.waited else ""
            told = (
                f"{_short(u.item.occurrence.day)}  {job.enclosure.name}: {job.title}{open_}, {job.minutes} "
                f"min: {u.why}. It would do: {u.mend}."
            )
            yield from wrapped(safe(told), width, 4, "  ")


def _week(site: Site, rota: Rota, monday: dt.date, column: int) -> Iterator[str]:
    yield f"Week of {show_date(monday)}, minutes"
    yield "  " + " " * column + "".join(f"{name:>7}" for name in WEEKDAYS) + f"{'sum':>8}"
    for keeper, own in _minutes(site, rota, monday):
        told = "".join(f"{own.get(name, '-'):>7}" for name in WEEKDAYS)
        yield f"  {pad(safe(keeper.name), column)}{told}{sum(own.values()):>8}"


def _folded_week(site: Site, rota: Rota, monday: dt.date, width: int) -> Iterator[str]:
    yield f"Week of {show_date(monday)}, minutes"
    for keeper, own in _minutes(site, rota, monday):
        days = ", ".join(f"{name}{STICKY}{minutes}" for name, minutes in own.items())
        total = f", sum{STICKY}{sum(own.values())}" if len(own) > 1 else ""
        yield from hanging(f"{safe(keeper.name)}: {days}{total}", width, "  ")


def _minutes(site: Site, rota: Rota, monday: dt.date) -> Iterator[tuple[Keeper, dict[str, int]]]:
    """Yield the keepers who do something in a week, each with the minutes by day."""
    days = {monday + dt.timedelta(days=n): name for n, name in enumerate(WEEKDAYS)}
    rounds = {(r.keeper.id, r.day): r.minutes for r in rota.rounds if r.day in days}
    for keeper in site.keepers:
        own = {name: rounds[keeper.id, day] for day, name in days.items() if (keeper.id, day) in rounds}
        if own:
            yield keeper, own


def _loads(site: Site, rota: Rota, column: int) -> Iterator[str]:
    yield "  " + " " * column + f"{'minutes':>9}{'rounds':>8}{'by share':>10}{'possible':>10}"
    for keeper, load in _whole_loads(site, rota):
        minutes, rounds, fair, possible = load
        yield f"  {pad(safe(keeper.name), column)}{minutes:>9}{rounds:>8}{fair:>10.0f}{possible:>10.0f}"


def _folded_loads(site: Site, rota: Rota, width: int) -> Iterator[str]:
    yield "Minutes of all weeks"
    for keeper, (minutes, rounds, fair, possible) in _whole_loads(site, rota):
        told = (
            f"{safe(keeper.name)}: {minutes} in {rounds} round{'s' if rounds != 1 else ''}, "
            f"{fair:.0f} by share, {possible:.0f} possible"
        )
        yield from hanging(told, width, "  ")


def _whole_loads(site: Site, rota: Rota) -> Iterator[tuple[Keeper, tuple[int, int, float, float]]]:
    """Yield each keeper's minutes, rounds, minutes by the share, and minutes that are possible."""
    shares = {k.id: k.share for k in site.keepers}
    whole = sum(shares.values())
    total = sum(rota.loads.values())
    counts: dict[str, int] = {}
    for one in rota.rounds:
        counts[one.keeper.id] = counts.get(one.keeper.id, 0) + 1
    for keeper in site.keepers:
        fair = total * shares[keeper.id] / whole if whole else 0.0
        possible = rota.possible.get(keeper.id, 0.0)
        yield keeper, (rota.loads[keeper.id], counts.get(keeper.id, 0), fair, possible)


def _quality(site: Site, rota: Rota) -> str:
    f = rota.fairness
    assert f is not None  # what is printed was judged
    whose = "that leaves the same " if f.by_class else ""
    names = [k.name for k in site.keepers if k.id in f.coarse]
    more = (
        f" That says little here: a single job can be more than all that is fair for {join_words(names)}."
        if names
        else ""
    )
    return (
        f"{len(rota.rounds)} rounds. Jain's index of minutes over share, with those of the log, is "
        f"{f.jain:.4f} (1 is fair). "
        f"What is unfair or left costs {f.objective:.0f}; no rota of this span {whose}costs less than "
        f"{f.bound:.0f} (gap {f.gap * 100:.2f} %).{more}"
    )


def changed_lines(site: Site, changes: Sequence[Changed], published: dt.date, width: int) -> Iterator[str]:
    """Yield what differs from the published rota, one line an occurrence."""
    names = {k.id: k.name for k in site.keepers}
    enclosures = {e.id: e.name for e in site.enclosures}
    if not changes:
        yield f"Nothing differs from the rota published on {show_date(published)}."
        return
    yield f"Changed since the rota published on {show_date(published)} ({len(changes)}):"
    for c in changes:
        told = (
            f"{enclosures.get(c.enclosure, c.enclosure)}: {c.job}{'/' + c.variant if c.variant else ''}, "
            f"due {_short(c.due)}: "
        )
        same = c.before is not None and c.now is not None and c.before[0] == c.now[0]
        was, now = (_told(slot, names, day=not same) for slot in (c.before, c.now))
        now = "no longer in the plan" if c.gone else now
        yield from wrapped(safe(f"{told}{was} -> {now}"), width, 4, "  ")


def _told(slot: Slot | None, names: Mapping[str, str], *, day: bool) -> str:
    if slot is None:
        return "nobody"
    name = names.get(slot[1], slot[1])
    return f"{name}, {_short(slot[0])}" if day else name


def round_lines(site: Site, rounds: Iterable[Round], width: int) -> Iterator[str]:
    """Yield rounds one by one, with their jobs in the order in which they are done."""
    for one in rounds:
        count = f"{len(one.tasks)} job{'s' if len(one.tasks) != 1 else ''}, {duration(one.minutes)}"
        heading = f"{one.keeper.name}, {one.day:%A} {show_date(one.day)}: {count}"
        yield from wrapped(safe(heading), width, 0)
        for number, task in enumerate(one.tasks, start=1):
            with_ = f", with {task.helper.name}" if task.helper else ""
            last = " (quarantine)" if task.item.quarantine else ""
            told = f"{_title(task)}{last}, {task.item.job.minutes} min{with_}"
            yield from wrapped(safe(told), width, 6, f"  {number}.")
        for task in one.helps:
            yield from wrapped(safe(f"Lend a hand to {task.keeper.name}: {_title(task)}"), width, 6, "  -")
        yield ""


def of_keeper(rota: Rota, keeper: Keeper) -> list[Round]:
    """Return the rounds of one keeper."""
    return [one for one in rota.rounds if one.keeper.id == keeper.id]


def _title(task: Task) -> str:
    room = task.item.job.enclosure.room
    return f"{room + ', ' if room else ''}{task.item.job.enclosure.name}: {task.item.job.title}"


def _short(day: dt.date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def handed_lines(
    moved: Iterable[tuple[Assigned, Keeper, Keeper]], titles: Mapping[JobRef, str], width: int
) -> Iterator[str]:
    """Yield what changed hands, a heading for each day."""
    days: dict[str, dict[JobRef, Assigned]] = {}
    for a, giver, taker in moved:
        to = f"{giver.name} -> {taker.name}" if giver is not taker else giver.name
        told = f"{a.day:%A} {show_date(a.day)}: {to}"
        # What is left of earlier days and comes again is one job.
        days.setdefault(told, {})[a.ref.job] = a
    for told, jobs in days.items():
        yield safe(told)
        for name, a in jobs.items():
            yield from wrapped(safe(titles.get(name, f"{a.enclosure}/{a.job}")), width, 4, "  ")
