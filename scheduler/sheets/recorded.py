"""What a command that records says: what was recorded, when it comes next, what follows from readings, what
moved."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from scheduler.care import Consequence
from scheduler.care.engine.figure import LABELS
from scheduler.care.findings import Finding
from scheduler.care.lamps import named
from scheduler.description import Enclosure, Site
from scheduler.description.identity import slug
from scheduler.history import AHEAD, EDITING, Entry, JobRef, parse_amendment, parse_away, parse_once
from scheduler.locales import Formats
from scheduler.plan import Move, Next
from scheduler.readings import QUANTITIES, show_reading
from scheduler.sheets.terminal import LEAST_WIDTH, safe, wrapped


def recorded_lines(
    site: Site,
    entries: Iterable[tuple[Entry, bool]],
    next_days: Mapping[JobRef, Next],
    moves: Iterable[Move],
    consequences: Iterable[tuple[Enclosure, Consequence]],
    *,
    noted: Collection[Entry] = (),
    width: int,
) -> Iterator[str]:
    """Yield the lines for a terminal of a width.

    `noted` are entries that were there, and have another note now.
    """
    width, formats = max(width, LEAST_WIDTH), site.settings.formats
    named: set[JobRef] = set()
    met: set[JobRef] = set()
    for entry, new in entries:
        yield from wrapped(safe(_said(site, entry, new, noted=entry in noted)), width, 0)
        if entry.kind == "done":
            met.add(entry.job)
        if entry.kind == "done" and entry.job in next_days:
            named.add(entry.job)
            coming = next_days[entry.job]
            yield (
                f"  next {_open(coming.since, formats)}"
                if coming.since
                else f"  next on {formats.weekday_date(coming.day)}"
            )
    for enclosure, found in consequences:
        text = f"{enclosure.name}: {found.text} [{found.source}]"
        yield from wrapped(safe(text), width, 8, f"  {found.verdict}")
    for move in _paired(moves, met):
        job = move.job
        if job.ref not in named:
            moved = "done with it" if move.after is None and job.log_name in met else _moved(move, formats)
            yield from wrapped(safe(f"{job.enclosure.name}: {job.title}: {moved}"), width, 4, "  ")


def _paired(moves: Iterable[Move], met: Collection[JobRef]) -> Iterator[Move]:
    """Yield moves; a job that gives way to one of the same name, as the feed of one age to that of the next,
    moves."""
    by_title: dict[tuple[str, str], list[Move]] = {}
    for move in moves:
        by_title.setdefault((move.job.enclosure.id, move.job.title), []).append(move)
    for some in by_title.values():
        gone = [m for m in some if m.after is None and m.job.log_name not in met]
        new = [m for m in some if m.before is None]
        if len(some) == 2 and gone and new:
            if gone[0].before != new[0].after:
                yield replace(new[0], before=gone[0].before)
        else:
            yield from some


def _said(site: Site, entry: Entry, new: bool, *, noted: bool) -> str:
    where = next((e.name for e in site.all_enclosures if e.id == entry.enclosure), entry.enclosure)
    formats = site.settings.formats
    day = formats.date(entry.day) + (f", {formats.time(entry.time)}" if entry.time else "")
    what = _with_amount(described(site, entry), entry)
    if entry.kind in EDITING:
        return f"{what} on {day}."
    # What bends the plan has its days in `given`, and no value.
    if entry.given and entry.value is None:
        end = ", is taken back" if entry.kind == "void" else ""
        already = "" if new else "; that was said already, and nothing changes"
        return "".join(filter(None, [f"{where}: " if where else "", what, end, already, "."]))
    if entry.kind == "void":
        return f"{where}: {what} of {day} is taken back" + ("." if new else " already; nothing changes.")
    if not new and noted:
        return f"{where}: {what} was recorded for {day} already; the note is kept with it: {entry.note}"
    if not new:
        again = " For a second time that day: --again." if entry.kind == "done" else ""
        return f"{where}: {what} was recorded for {day} already; nothing changes.{again}"
    who = next((f" by {k.name}" for k in site.keepers if k.id == entry.keeper and len(site.keepers) > 1), "")
    return f"{where}: {what}{', done' if entry.kind == 'done' else ''}{who} on {day}."


def edited_lines(
    site: Site,
    entries: Iterable[tuple[Entry, bool]],
    moves: Iterable[Move],
    edited: Collection[str],
    *,
    width: int,
) -> Iterator[str]:
    """Yield the lines of a change of the description: what it says, and what it does to the plan of the
    enclosures `edited`; of others only which jobs come on other days."""
    width, formats = max(width, LEAST_WIDTH), site.settings.formats
    for entry, new in entries:
        yield from wrapped(safe(_said(site, entry, new, noted=False)), width, 0)
    own: dict[tuple[str, str], list[str]] = {}
    others: dict[str, list[str]] = {}
    for move in _paired(moves, ()):
        place, title = move.job.enclosure.name, move.job.title
        if move.job.enclosure.id not in edited:
            others.setdefault(place, []).append(title)
        elif move.after is None:
            own.setdefault((place, "no longer planned"), []).append(title)
        elif move.before is None:
            day = _open(move.after, formats) if move.open else formats.weekday_date(move.after)
            own.setdefault((place, "new"), []).append(f"{title}, {day}")
        else:
            own.setdefault((place, "other days"), []).append(f"{title}, {_moved(move, formats)}")
    for (place, what), told in own.items():
        between = ", " if what == "no longer planned" else "; "
        yield from wrapped(safe(f"{place}, {what}: {between.join(told)}"), width, 4, "  ")
    for place, told in others.items():
        yield from wrapped(safe(f"{place}, other days: {', '.join(told)}"), width, 4, "  ")


def difference_lines(
    before: int,
    after: int,
    new: Iterable[tuple[Enclosure, Finding]],
    gone: Iterable[tuple[Enclosure, Finding]],
    *,
    width: int,
) -> Iterator[str]:
    """Yield what a plan that was bent differs in: minutes of work a week, and the findings that come and go.

    Of a finding that only says something else the new words are told; what is not known is told in one line.
    """
    width, new = max(width, LEAST_WIDTH), list(new)
    unknown: dict[str, list[str]] = {}
    for enclosure, found in new:
        if found.unknown:
            unknown.setdefault(enclosure.name, []).append(LABELS.get(found.key, found.key))
            continue
        text = f"{enclosure.name}: {found.text} [{found.source}]"
        yield from wrapped(safe(text), width, 8, f"  {found.verdict}")
    for place, labels in unknown.items():
        text = f"{place}: not known: {', '.join(labels)}; `check` says what to write into the description"
        yield from wrapped(safe(text), width, 8, "  look")
    anew = {(enclosure.id, found.key) for enclosure, found in new}
    for enclosure, found in gone:
        if not found.unknown and (enclosure.id, found.key) not in anew:
            yield from wrapped(safe(f"no longer: {enclosure.name}: {found.text}"), width, 4, "  ")
    if before != after:
        yield f"  work a week: {before} -> {after} minutes"


def difference_object(
    before: int,
    after: int,
    new: Iterable[tuple[Enclosure, Finding]],
    gone: Iterable[tuple[Enclosure, Finding]],
) -> dict[str, Any]:
    """Return the same as a part of a JSON object: `minutes_a_week`, `findings`."""

    def told(findings: Iterable[tuple[Enclosure, Finding]]) -> list[dict[str, str]]:
        return [
            {"enclosure": enclosure.id, "key": found.key, "verdict": found.verdict, "text": found.text}
            for enclosure, found in findings
        ]

    return {
        "minutes_a_week": {"before": before, "after": after},
        "findings": {"new": told(new), "gone": told(gone)},
    }


def as_amended(site: Site, entry: Entry) -> str:
    """Return what an entry says that bends the plan, or of who is away, with its days."""
    formats = site.settings.formats
    if entry.kind == "away":
        first, last = parse_away(entry)
        name = next((k.name for k in site.keepers if k.id == entry.name), entry.name)
        span = formats.date(first) if first == last else f"{formats.date(first)} to {formats.date(last)}"
        return f"{name} is away, {span}"
    title = entry.title or entry.name
    if entry.kind == "once":
        return f"{title}, once on {formats.weekday_date(parse_once(entry).day)}"
    said = parse_amendment(entry)
    if said.to is None:
        return f"{title}, left out on {formats.date(said.due)}"
    return f"{title}, put off from {formats.date(said.due)} to {formats.weekday_date(said.to)}"


def as_edited(site: Site, entry: Entry) -> str:
    """Return what an entry says that changed the description."""
    names = {e.id: e.name for e in site.all_enclosures}
    title = entry.title or entry.name
    match entry.kind:
        case "moved":
            here = names.get(entry.enclosure, entry.enclosure)
            return f"{title} moves from {names.get(entry.given, entry.given)} to {here}"
        case "arrived":
            return f"{title} arrives"
        case "departed":
            return f"{title} leaves, {entry.given}"
        case "set-up":
            return f"{title} is set up"
        case "retired":
            return f"{title} is retired"
        case _:
            return f"{entry.given} is called {title}"


def described(site: Site, entry: Entry) -> str:
    """Return what an entry is about: the job's title, or what was measured, of whom, and how much."""
    if entry.kind in AHEAD:
        return as_amended(site, entry)
    if entry.kind in EDITING:
        return as_edited(site, entry)
    title = entry.title or entry.name
    if entry.name not in QUANTITIES or entry.value is None:
        return title
    of = f" of {_whom(site, entry)}" if entry.of else ""
    shown = show_reading(entry.name, entry.value, site.settings.units, site.settings.formats)
    # "pH 7.4" says already what it is.
    return shown if shown.startswith(f"{title} ") else f"{title}{of}: {shown}"


def _with_amount(what: str, entry: Entry) -> str:
    """Return what was done with how much of it, where the entry says so: the share of the water, the half of
    the media."""
    if entry.value is not None and entry.name == "water-change":
        return f"{what}, {entry.value * 100:.0f} %"
    if entry.value is not None and entry.name == "media-rinse":
        return f"{what.removesuffix(', one half')}, half {entry.value:.0f}"
    return what


def _whom(site: Site, entry: Entry) -> str:
    """Return whom or what a reading is of: a lamp or a resident of its enclosure, else the resident wherever
    it lives now."""
    at_first = sorted(site.all_enclosures, key=lambda e: e.id != entry.enclosure)
    for enclosure in at_first:
        names = {r.id: r.name for r in enclosure.resident}
        if enclosure.id == entry.enclosure:
            names |= {variant: f"the {lamp.kind} lamp" for variant, lamp in named(enclosure.lamp)}
            names = {slug(r.name): r.name for r in enclosure.resident} | names
        if entry.of in names:
            return names[entry.of]
    return entry.of


def _open(since: dt.date, formats: Formats) -> str:
    return f"today, due since {formats.date(since)}"


def _moved(move: Move, formats: Formats) -> str:
    if move.after is None:
        return "no longer planned"
    to = _open(move.after, formats) if move.open else formats.weekday_date(move.after)
    return f"planned for {to}" if move.before is None else f"{formats.date(move.before)} -> {to}"


def recorded_object(
    records: Iterable[dict[str, Any]],
    moves: Iterable[Move],
    consequences: Iterable[tuple[Enclosure, Consequence]],
    *,
    differs: Mapping[str, Any] | None = None,
) -> str:
    """Return the same as one JSON object: `recorded`, `consequences`, `moved`, and what `differs`."""
    return json.dumps(
        {
            **(differs or {}),
            "recorded": list(records),
            "consequences": [
                {
                    "enclosure": enclosure.id,
                    "key": found.key,
                    "verdict": found.verdict,
                    "reading": found.reading,
                    "rule": found.rule,
                    "source": found.source.text,
                    "status": found.source.status,
                    "plan": found.plan,
                }
                for enclosure, found in consequences
            ],
            "moved": [
                {
                    "enclosure": move.job.enclosure.id,
                    "job": move.job.key,
                    "title": move.job.title,
                    "from": move.before.isoformat() if move.before else None,
                    "to": move.after.isoformat() if move.after else None,
                }
                for move in moves
            ],
        },
        ensure_ascii=False,
    )
