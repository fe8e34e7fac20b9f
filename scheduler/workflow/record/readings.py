"""Readings: parsed, doubted where they look mistyped, recorded."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.care.lamps import named
from scheduler.description import Enclosure, Site
from scheduler.errors import DoubtError, ReadingError, UsageError, clip
from scheduler.history import Entry
from scheduler.readings import QUANTITIES, Quantity, assumption, named_of, parse_reading, quantity, unlikely
from scheduler.workflow.name_lookup import by_names, pick, pick_named
from scheduler.workflow.record.standing import (
    RecordContext,
    Recorded,
    Standing,
    Who,
    day_of,
    keeper_id,
    opened,
    refuse_before_set_up,
    standing_after,
    standing_before,
    unnamed_lines,
    what_follows,
)
from scheduler.workflow.site_log import now_as_of
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log

_MEASURED = frozenset(name for q in QUANTITIES.values() for name in (q.name, *q.aliases))

_NEVER = dt.datetime(1, 1, 1)  # noqa: DTZ001 - filled in when everything was read

Ask = Callable[[str], bool]
"""Asks the keeper whether a value that looks mistyped is right."""


def record_reading(
    log: Log,
    known: RecordContext,
    enclosure: Enclosure,
    written: str,
    who: Who,
    *,
    seen: int,
    of: str | None = None,
    sure: bool = False,
) -> tuple[Entry, bool]:
    """Record one reading, NAME=VALUE, without a word of what follows; return it as it is stored, and whether
    it is new.

    It is not where the same was recorded for the day after the entry number `seen`, also if it was taken back
    since. UsageError for what is no reading; DoubtError for a value that looks mistyped, unless it is `sure`.
    """
    site, day = known.site, day_of(who, known.today)
    refuse_before_set_up(enclosure, day, "")
    (parsed,), _ = parsed_values(site, enclosure, [written], of)
    entry = replace(
        parsed,
        day=day,
        time=who.at,
        keeper=keeper_id(site, who.by),
        note=who.note,
        recorded=now_as_of(site, who.as_of),
    )
    newer = log.entries(site.settings.id, since=day, until=day, enclosure=enclosure.id, names=[entry.name])
    for earlier in newer:
        same = (earlier.kind, earlier.of, earlier.time, earlier.value) == (
            "reading", entry.of, entry.time, entry.value,
        )  # fmt: skip
        if same and earlier.number > seen:
            return earlier, False
    doubts = [] if sure else doubts_of(known, enclosure, [entry], day)
    if doubts:
        raise DoubtError(doubts)
    return log.record(site.settings.id, [entry])[0]


def read(
    space: Workspace,
    names: Sequence[str],
    values: Sequence[str],
    *,
    who: Who,
    of: str | None = None,
    ask: Ask | None = None,
    sure: bool = False,
) -> Recorded:
    """Record readings, each written as NAME=VALUE; `names` is what else was written, the enclosure or
    nothing.

    UsageError for what is no reading; a value that looks mistyped is asked about.
    """
    day = day_of(who, space.today)
    place = _enclosure(space.site, names)
    refuse_before_set_up(place, day, "")
    before = standing_before(space)
    # By the enclosure as the record leaves it: a lamp keeps its identity through a replacement.
    place = next(e for e in before.site.enclosures if e.id == place.id)
    parsed, words = parsed_values(space.site, place, values, of)
    doubts = [] if sure else doubts_of(before, place, parsed, day)
    if doubts and ask is None:
        raise DoubtError(doubts)
    for doubt in doubts:
        if ask is not None and not ask(doubt):
            raise UsageError("nothing was recorded")
    keeper, recorded = keeper_id(space.site, who.by), now_as_of(space.site, who.as_of)
    entries = [
        replace(entry, day=day, time=who.at, keeper=keeper, note=who.note, recorded=recorded)
        for entry in parsed
    ]
    with opened(space.file, space.site) as log:
        done = log.record(space.site.settings.id, entries)
        after = standing_after(log, space.site, space.today)
    return what_follows(before, done, after, {place.id}, [*words, *unnamed_lines(space.site, who, done)])


def _enclosure(site: Site, names: Sequence[str]) -> Enclosure:
    """Return the enclosure that the words without a value name, else the only one."""
    places = by_names(site.enclosures)
    for name in names:
        low = name.lower()
        if low in _MEASURED and not any(place.lower().startswith(low) for place in places):
            kind = quantity(low)
            raise UsageError(f'{clip(name)} has no value; write {kind.name}="{kind.example}", in one piece')
    if len(names) > 1:
        raise UsageError(
            f"readings are of one enclosure at a time, found {' and '.join(map(clip, names))}; a "
            "reading is written NAME=VALUE"
        )
    if names:
        return pick_named(names[0], site.enclosures, "enclosure")
    if len(site.enclosures) == 1:
        return site.enclosures[0]
    raise UsageError(f"name the enclosure: {', '.join(e.name for e in site.enclosures)}")


def parsed_values(
    site: Site, enclosure: Enclosure, values: Sequence[str], of: str | None
) -> tuple[list[Entry], list[str]]:
    """Return the readings as entries without a day, and what the keeper should know of them."""
    if not values:
        raise UsageError('write what was measured: nitrate="35 mg/L" ph=7.4')
    entries: list[Entry] = []
    words: list[str] = []
    wrong: list[UsageError] = []
    for written in values:
        name, equals, text = written.partition("=")
        try:
            if not equals:
                raise UsageError(f'{clip(written)} is no reading; write nitrate="35 mg/L"')
            word, whom = named_of(name)
            kind = quantity(word)
            basis = getattr(site.settings.test_kit, kind.name, None)
            measured = parse_reading(kind.name, text, basis)
            entry = Entry(
                kind="reading",
                enclosure=enclosure.id,
                name=kind.name,
                of=_of(enclosure, kind, whom or (of if kind.of else None)),
                day=dt.date.min,
                value=measured.value,
                given=measured.given,
                title=kind.label,
                recorded=_NEVER,
            )
        except UsageError as error:
            wrong.append(error)
            continue
        said = assumption(kind.name, measured)
        words += [said] if said else []
        entries.append(entry)
    if len(wrong) == 1:
        raise wrong[0]
    if wrong:
        raise UsageError("\n".join(map(str, wrong)))
    if of is not None and not any(QUANTITIES[entry.name].of for entry in entries):
        raise UsageError(
            "--of says whose weight or length it is, or which UV lamp was measured; there is no such "
            "reading here"
        )
    return entries, words


def _of(enclosure: Enclosure, kind: Quantity, whom: str | None) -> str:
    """Return whom or what a reading is of: a resident's id, a lamp's, or nobody's."""
    if kind.of == "resident":
        residents = enclosure.resident
        if whom:
            return str(pick_named(whom, residents, f"resident in {enclosure.name}").id)
        if len(residents) == 1:
            return residents[0].id
        names = ", ".join(r.name for r in residents) or "nobody"
        raise ReadingError(
            f"say whose {kind.name} it is, {kind.name}.NAME=...; in {enclosure.name} live: {names}",
            f"say whose {kind.name} it is; in {enclosure.name} live: {names}",
        )
    if kind.of == "lamp":
        lamps = {variant: variant for variant, lamp in named(enclosure.lamp) if lamp.gives_uv}
        if whom:
            return pick(whom, lamps, f"UV lamp in {enclosure.name}")
        # Of several lamps it is what they give together.
        return next(iter(lamps)) if len(lamps) == 1 else ""
    if whom:
        raise UsageError(f"{kind.name} is of the enclosure, not of {clip(whom)}")
    return ""


def doubts_of(
    before: Standing | RecordContext, enclosure: Enclosure, entries: Sequence[Entry], day: dt.date
) -> list[str]:
    """Return why readings of an enclosure look mistyped; nothing for those that do not."""
    found = []
    for entry in entries:
        earlier = [e for e in before.history.readings(enclosure.id, entry.name, entry.of) if e.day <= day]
        last = earlier[-1] if earlier else None
        doubt = unlikely(
            entry.name,
            entry.value or 0.0,
            last.value if last is not None else None,
            # Of the same day it is "the last reading", without how long ago.
            ((day - last.day).days or None) if last is not None else None,
            before.site.settings.units,
            formats=before.site.settings.formats,
        )
        if last is None:
            doubt = doubt or _misfit_of(before, enclosure, entry, day)
        if doubt is not None:
            found.append(doubt)
    return found


def _misfit_of(
    before: Standing | RecordContext, enclosure: Enclosure, entry: Entry, day: dt.date
) -> str | None:
    """Return why a weight or a length does not fit its animal as the description has it, where nothing was
    measured before; else None."""
    written = next((r for r in enclosure.resident if r.id == entry.of and r.count == 1), None)
    if written is None or entry.name not in ("weight", "length"):
        return None
    case = care.Case(before.site, enclosure)
    found = care.misfit(case, written, entry.name, entry.value or 0.0, day)
    if found is None:
        return None
    shown = case.reading(entry.name, entry.value or 0.0)
    return (
        f"{QUANTITIES[entry.name].label} of {written.name}: {shown} is far off; "
        f"{found.rule[0].lower()}{found.rule[1:-1]}"
    )
