"""A rota as lines for a terminal, as CSV and as the documented JSON object."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from scheduler.description.site import Keeper, Site
from scheduler.quantities import show_date
from scheduler.rota import Assigned, Rota, Round, Task
from scheduler.sheets.terminal import cells, duration, pad, safe, wrapped

COLUMNS = (
    "date",
    "weekday",
    "keeper",
    "enclosure",
    "room",
    "job",
    "variant",
    "title",
    "due",
    "minutes",
    "helper",
)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
Slot = tuple[dt.date, str]


class Changed(Protocol):
    """What differs from the published rota: day and keeper's id before and now."""

    @property
    def enclosure(self) -> str: ...
    @property
    def job(self) -> str: ...
    @property
    def variant(self) -> str: ...
    @property
    def due(self) -> dt.date: ...
    @property
    def before(self) -> Slot | None: ...
    @property
    def now(self) -> Slot | None: ...


def rota_object(site: Site, rota: Rota, changes: Sequence[Changed]) -> str:
    """Return the documented JSON object. Keepers are named as in the description, enclosures by their ids."""
    names = {k.id: k.name for k in site.keepers}
    fairness = rota.fairness
    found: dict[str, Any] = {
        "rounds": [
            {
                "date": one.day.isoformat(),
                "keeper": one.keeper.name,
                "minutes": one.minutes,
                "jobs": [_task(task) for task in one.tasks],
                "helps": [_task(task) for task in one.helps],
            }
            for one in rota.rounds
        ],
        "unfilled": [
            {
                "date": u.item.occurrence.day.isoformat(),
                "enclosure": u.item.job.enclosure.id,
                "job": u.item.job.key,
                "variant": u.item.job.variant,
                "why": u.why,
                "mend": u.mend,
            }
            for u in rota.unfilled
        ],
        "alone": [
            {"date": task.day.isoformat(), "keeper": task.keeper.name, **_task(task)} for task in rota.alone
        ],
        "loads": {k.name: rota.loads[k.id] for k in site.keepers},
        "fairness": {
            "objective": round(fairness.objective, 3),
            "bound": round(fairness.bound, 3),
            "gap": round(fairness.gap, 6),
            "jain": round(fairness.jain, 6),
            "gini": round(fairness.gini, 6),
            "spread": round(fairness.spread, 6),
        },
        "changes": [
            {
                "enclosure": c.enclosure,
                "job": c.job,
                "variant": c.variant,
                "due": c.due.isoformat(),
                "before": _slot(c.before, names),
                "now": _slot(c.now, names),
            }
            for c in changes
        ],
    }
    return json.dumps(found, ensure_ascii=False)


def _task(task: Task) -> dict[str, Any]:
    job = task.item.job
    return {
        "enclosure": job.enclosure.id,
        "job": job.key,
        "variant": job.variant,
        "minutes": job.minutes,
        "due": task.item.due.isoformat(),
        "quarantine": task.item.quarantine,
        "helper": None if task.helper is None else task.helper.name,
    }


def _slot(slot: Slot | None, names: Mapping[str, str]) -> dict[str, str] | None:
    return None if slot is None else {"date": slot[0].isoformat(), "keeper": names.get(slot[1], slot[1])}


def rota_csv(rota: Rota) -> Iterator[str]:
    """Yield the tasks as lines of CSV (RFC 4180), round by round, after a heading."""
    yield _csv(COLUMNS)
    for one in rota.rounds:
        for task in one.tasks:
            job = task.item.job
            yield _csv([
                one.day.isoformat(),
                WEEKDAYS[one.day.weekday()],
                one.keeper.name,
                job.enclosure.name,
                job.enclosure.room or "",
                job.key,
                job.variant,
                job.title,
                task.item.due.isoformat(),
                str(job.minutes),
                "" if task.helper is None else task.helper.name,
            ])  # fmt: skip


def _csv(values: Iterable[str]) -> str:
    buffer = io.StringIO()
    # A spreadsheet would run what begins like a formula.
    safe_values = [f"'{v}" if v[:1] in ("=", "+", "-", "@", "\t", "\r") else v for v in values]
    csv.writer(buffer, lineterminator="\r\n").writerow(safe_values)
    return buffer.getvalue()


def rota_lines(
    site: Site, rota: Rota, changes: Sequence[Changed], published: dt.date | None, width: int
) -> Iterator[str]:
    """Yield the rota: minutes by week, keeper and day; then loads, what changed, and what nobody takes."""
    column = min(max(cells(safe(k.name)) for k in site.keepers), max(10, width // 4))
    monday = rota.first - dt.timedelta(days=rota.first.weekday())
    while monday <= rota.last:
        yield from _week(site, rota, monday, column)
        yield ""
        monday += dt.timedelta(days=7)
    yield from _loads(site, rota, column)
    yield ""
    yield from wrapped(_quality(rota), width, 0)
    if published is not None:
        yield ""
        yield from _changed(site, changes, published, width)
    if rota.alone:
        yield ""
        yield "Too heavy for one, and nobody there to help:"
        for task in rota.alone:
            where = f"{_short(task.day)}  {task.keeper.name}: {_title(task)}. Ask for a second person, or use a pump or a hose."
            yield from wrapped(safe(where), width, 4, "  ")
    if rota.unfilled:
        yield ""
        yield f"Nobody takes ({len(rota.unfilled)}):"
        for u in rota.unfilled:
            job = u.item.job
            told = f"{_short(u.item.occurrence.day)}  {job.enclosure.name}: {job.title}, {job.minutes} min: {u.why}. It would do: {u.mend}."
            yield from wrapped(safe(told), width, 4, "  ")


def _week(site: Site, rota: Rota, monday: dt.date, column: int) -> Iterator[str]:
    days = [monday + dt.timedelta(days=n) for n in range(7)]
    rounds = {(r.keeper.id, r.day): r for r in rota.rounds if r.day in days}
    yield f"Week of {show_date(monday)}, minutes"
    yield "  " + " " * column + "".join(f"{name:>7}" for name in WEEKDAYS) + f"{'sum':>8}"
    for keeper in site.keepers:
        own = [rounds.get((keeper.id, day)) for day in days]
        if not any(own):
            continue
        told = "".join(f"{'-' if r is None else r.minutes:>7}" for r in own)
        yield f"  {pad(safe(keeper.name), column)}{told}{sum(r.minutes for r in own if r):>8}"


def _loads(site: Site, rota: Rota, column: int) -> Iterator[str]:
    shares = {k.id: k.share for k in site.keepers}
    whole = sum(shares.values())
    total = sum(rota.loads.values())
    counts: dict[str, int] = {}
    for one in rota.rounds:
        counts[one.keeper.id] = counts.get(one.keeper.id, 0) + 1
    yield "  " + " " * column + f"{'minutes':>9}{'rounds':>8}{'by share':>10}{'possible':>10}"
    for keeper in site.keepers:
        fair = total * shares[keeper.id] / whole if whole else 0.0
        yield (
            f"  {pad(safe(keeper.name), column)}{rota.loads[keeper.id]:>9}{counts.get(keeper.id, 0):>8}"
            f"{fair:>10.0f}{rota.possible.get(keeper.id, 0.0):>10.0f}"
        )


def _quality(rota: Rota) -> str:
    f = rota.fairness
    return (
        f"{len(rota.rounds)} rounds. Jain's index of minutes over share, with those of the log, is {f.jain:.4f} (1 is fair). "
        f"What is unfair or left costs {f.objective:.0f}; no rota of this span costs less than {f.bound:.0f} (gap {f.gap * 100:.2f} %)."
    )


def _changed(site: Site, changes: Sequence[Changed], published: dt.date, width: int) -> Iterator[str]:
    names = {k.id: k.name for k in site.keepers}
    enclosures = {e.id: e.name for e in site.enclosures}
    if not changes:
        yield f"Nothing differs from the rota published on {show_date(published)}."
        return
    yield f"Changed since the rota published on {show_date(published)} ({len(changes)}):"
    for c in changes:
        told = f"{enclosures.get(c.enclosure, c.enclosure)}: {c.job}{'/' + c.variant if c.variant else ''}, due {_short(c.due)}: "
        same = c.before is not None and c.now is not None and c.before[0] == c.now[0]
        was, now = (_told(slot, names, day=not same) for slot in (c.before, c.now))
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
    moved: Iterable[tuple[Assigned, Keeper, Keeper]], titles: Mapping[tuple[str, str, str], str], width: int
) -> Iterator[str]:
    """Yield what changed hands, a heading for each day."""
    heading = ""
    for a, giver, taker in moved:
        told = f"{a.day:%A} {show_date(a.day)}: {giver.name} -> {taker.name}"
        if told != heading:
            heading = told
            yield safe(told)
        name = (a.enclosure, a.job, a.variant)
        yield from wrapped(safe(titles.get(name, f"{a.enclosure}/{a.job}")), width, 4, "  ")
