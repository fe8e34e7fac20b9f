"""Recording: what was done, what was measured, what was wrong, and what each of these moves."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care, plan
from scheduler.care import Consequence, Job
from scheduler.care.filter import next_half
from scheduler.care.lamps import named
from scheduler.description import Enclosure, Site
from scheduler.errors import DoubtError, LogError, ReadingError, UsageError, clip
from scheduler.history import Entry, History, JobRef
from scheduler.plan import Move, Next
from scheduler.readings import QUANTITIES, Quantity, assumption, named_of, parse_reading, quantity, unlikely
from scheduler.workflow.addressing import Meant, jobs_named
from scheduler.workflow.naming import by_names, pick
from scheduler.workflow.planning import make_plan
from scheduler.workflow.remembering import history_in, history_of, now_as_of, open_to_read, open_to_record

if TYPE_CHECKING:
    from scheduler.log import Log

_MEASURED = frozenset(name for q in QUANTITIES.values() for name in (q.name, *q.aliases))

BEFORE_SET_UP = frozenset({"treat-driftwood", "fit-out"})
"""Jobs that may be done before the enclosure is set up."""

_NEVER = dt.datetime(1, 1, 1)  # noqa: DTZ001 - filled in when everything was read

Ask = Callable[[str], bool]
"""Asks the keeper whether a value that looks mistyped is right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Who records, for which day and hour, with which note; `as_of` is the day that counts as today, None for the real one."""

    on: dt.date | None = None
    at: dt.time | None = None
    by: str | None = None
    note: str = ""
    as_of: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded (each entry with whether it is new), and what follows: next days, moves, consequences, words.

    `stored` are the entries as the log keeps them. They are those of `entries`, but for what was taken back: a keeper
    recognises that by its value, which the entry that takes it back does not repeat. `noted` are those that were there,
    and have the note now.
    """

    site: Site
    entries: tuple[tuple[Entry, bool], ...]
    stored: tuple[Entry, ...]
    next: dict[JobRef, Next]
    moves: tuple[Move, ...]
    consequences: tuple[tuple[Enclosure, Consequence], ...]
    words: tuple[str, ...] = ()
    noted: tuple[Entry, ...] = ()


def did(
    file: Path,
    site: Site,
    today: dt.date,
    words: Sequence[str],
    who: Who,
    *,
    again: bool = False,
    share: float | None = None,
    half: int | None = None,
) -> Recorded:
    """Record jobs as done. UsageError for words that name nothing, and for days on which nothing can have been done."""
    day = day_of(who, today)
    before = standing_before(file, site, today)
    meant = Meant(day=day, today=today, next=before.next, history=before.history)
    jobs = jobs_named(before.site, before.jobs, words, meant)
    for job in jobs:
        refuse_before_set_up(job.enclosure, day, job.key)
    if share is not None and any(job.key != "water-change" for job in jobs):
        raise UsageError("--share says how much of the water was changed; it goes with water-change alone")
    if half is not None and any(job.key != "media-rinse" for job in jobs):
        raise UsageError("--half says which half of the media was rinsed; it goes with media-rinse alone")
    whole = replace(who, on=day, by=keeper_id(site, who.by))
    recorded = now_as_of(site, who.as_of)
    entries = [_entry(job, whole, recorded, value_of(before.known, job, share, half)) for job in jobs]
    with opened(file, site) as log:
        done = log.record(site.place.id, entries, again=again)
        words = _unnamed(site, who, done)
        noted: list[Entry] = []
        for n, (job, (entry, new)) in enumerate(zip(jobs, done, strict=True)):
            if new or not who.note:
                continue
            # As on the page: a note on what is recorded already is kept with that.
            with_note = add_note(log, site, job, entry, whole)
            if with_note is None:
                words.append(
                    f"{job.enclosure.name}: {job.title} was taken back just now; the note is not kept"
                )
                continue
            done[n] = (with_note, False)
            noted.append(with_note)
        after = standing_after(log, site, today)
    follows = what_follows(before, done, after, {job.enclosure.id for job in jobs}, words)
    return replace(follows, noted=tuple(noted))


@dataclass(frozen=True, slots=True)
class Known:
    """How a site stands, as far as what is recorded depends on it: the site as measured, the day, its history."""

    site: Site
    today: dt.date
    history: History


def record_job(log: Log, known: Known, job: Job, who: Who, *, seen: int) -> bool:
    """Record a job of the plan as done, without a word of what follows; return whether that is new.

    It is not where the job was recorded or taken back after the entry number `seen`, up to which somebody knew the log:
    what is sent twice, or again later, counts once. UsageError for a day on which it cannot have been done.
    """
    return bool(record_jobs(log, known, [job], who, seen=seen))


BETWEEN_NOTES = " | "
"""Between what several people say of one thing that was done."""

NOTE_TIMES = 5
"""So often it is tried to put a note to an entry that others change at the same time."""


def standing_entry(log: Log, site: Site, job: Job, day: dt.date) -> Entry | None:
    """Return the last entry that says that a job was done on a day."""
    ref = job.log_name
    some = log.entries(
        site.place.id,
        since=day,
        until=day,
        enclosure=ref.enclosure,
        names=[ref.key],
        kind="done",
        voided=False,
    )
    return next((e for e in reversed(list(some)) if e.of == ref.variant), None)


def add_note(log: Log, site: Site, job: Job, found: Entry, who: Who) -> Entry | None:
    """Put a note to an entry that is there, and return it as it stands then: it is taken back and added with both notes.

    A note that stands there is not added: who sends it twice meant it once. It bears the name of who says it where
    somebody else did the job. None where the entry was taken back meanwhile: then the note is kept nowhere.
    """
    own = keeper_id(site, who.by)
    name = next((k.name for k in site.keepers if k.id == own), "")
    said = who.note if not name or found.keeper == own else f"{name}: {who.note}"
    for _ in range(NOTE_TIMES):
        notes = found.note.split(BETWEEN_NOTES) if found.note else []
        if who.note in notes or said in notes:
            return found
        whole = BETWEEN_NOTES.join([*notes, said])
        now, uid = now_as_of(site, who.as_of), found.uid(site.place.id)
        noted = log.annotate(site.place.id, uid, whole, keeper=own, recorded=now)
        if noted is not None:
            return noted
        # Somebody else has just put one there, or taken it back.
        there = standing_entry(log, site, job, found.day)
        if there is None:
            break
        found = there
    return None


def record_jobs(log: Log, known: Known, jobs: Sequence[Job], who: Who, *, seen: int) -> list[Entry]:
    """Record jobs of the plan as done, all or none, and return the entries that are new.

    What was recorded or taken back after the entry number `seen` is passed over, as by `record_job`.
    """
    site, day = known.site, day_of(who, known.today)
    newer = log.entries(site.place.id, since=day, until=day, after=seen)
    since = {e.job for e in newer if e.kind != "reading"}
    left = [job for job in {job.log_name: job for job in jobs}.values() if job.log_name not in since]
    done = log.record(site.place.id, done_entries(known, left, who)) if left else []
    return [entry for entry, is_new in done if is_new]


def done_entries(known: Known, jobs: Sequence[Job], who: Who) -> list[Entry]:
    """Return the entries that say that jobs were done. UsageError for a day on which one cannot have been."""
    site, day = known.site, day_of(who, known.today)
    for job in jobs:
        refuse_before_set_up(job.enclosure, day, job.key)
    whole = replace(who, on=day, by=keeper_id(site, who.by))
    return [_entry(job, whole, now_as_of(site, who.as_of), value_of(known, job, None, None)) for job in jobs]


def record_reading(
    log: Log,
    known: Known,
    enclosure: Enclosure,
    written: str,
    who: Who,
    *,
    seen: int,
    of: str | None = None,
    sure: bool = False,
) -> tuple[Entry, bool]:
    """Record one reading, NAME=VALUE, without a word of what follows; return it as it is stored, and whether it is new.

    It is not where the same was recorded for the day after the entry number `seen`, also if it was taken back since.
    UsageError for what is no reading; DoubtError for a value that looks mistyped, unless it is `sure`.
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
    newer = log.entries(site.place.id, since=day, until=day, enclosure=enclosure.id, names=[entry.name])
    for earlier in newer:
        same = (earlier.kind, earlier.of, earlier.time, earlier.value) == (
            "reading", entry.of, entry.time, entry.value,
        )  # fmt: skip
        if same and earlier.number > seen:
            return earlier, False
    doubts = [] if sure else doubts_of(known, enclosure, [entry], day)
    if doubts:
        raise DoubtError(doubts)
    return log.record(site.place.id, [entry])[0]


def read(
    file: Path,
    site: Site,
    today: dt.date,
    names: Sequence[str],
    values: Sequence[str],
    *,
    who: Who,
    of: str | None = None,
    ask: Ask | None = None,
    sure: bool = False,
) -> Recorded:
    """Record readings, each written as NAME=VALUE; `names` is what else was written, the enclosure or nothing.

    UsageError for what is no reading; a value that looks mistyped is asked about.
    """
    day = day_of(who, today)
    place = _enclosure(site, names)
    refuse_before_set_up(place, day, "")
    before = standing_before(file, site, today)
    # By the enclosure as the record leaves it: a lamp keeps its identity through a replacement.
    place = next(e for e in before.site.enclosures if e.id == place.id)
    parsed, words = parsed_values(site, place, values, of)
    doubts = [] if sure else doubts_of(before, place, parsed, day)
    if doubts and ask is None:
        raise DoubtError(doubts)
    for doubt in doubts:
        if ask is not None and not ask(doubt):
            raise UsageError("nothing was recorded")
    keeper, recorded = keeper_id(site, who.by), now_as_of(site, who.as_of)
    entries = [
        replace(entry, day=day, time=who.at, keeper=keeper, note=who.note, recorded=recorded)
        for entry in parsed
    ]
    with opened(file, site) as log:
        done = log.record(site.place.id, entries)
        after = standing_after(log, site, today)
    return what_follows(before, done, after, {place.id}, [*words, *_unnamed(site, who, done)])


def undo(file: Path, site: Site, today: dt.date, who: Who, number: int | None = None) -> Recorded:
    """Take back the last entry, or the one of a number, and say what follows. UsageError when there is none."""
    nothing = UsageError("there is nothing to take back: nothing is recorded yet")
    before = standing_before(file, site, today)
    there = open_to_read(site, file)
    if there is None:
        raise nothing
    with there as log:
        if number is None:
            target = log.latest(site.place.id)
        else:
            target = next((e for e in log.entries(site.place.id) if e.number == number), None)
    if target is None:
        raise (
            nothing
            if number is None
            else UsageError(f"the log has no entry {number}; `pondround history` lists what there is")
        )
    with opened(file, site) as log:
        taken = log.void(
            site.place.id,
            target.uid(site.place.id),
            keeper=keeper_id(site, who.by),
            note=who.note,
            recorded=now_as_of(site, who.as_of),
        )
        after = standing_after(log, site, today)
    told = replace(target, kind="void", voids=taken[0].voids)
    follows = what_follows(before, [(told, taken[1])], after, {target.enclosure})
    return replace(follows, stored=(taken[0],))


# --- how things stand ---


class Standing:
    """A site as its record leaves it at one moment: the plan's next days, and what follows from readings."""

    def __init__(self, site: Site, history: History, today: dt.date) -> None:
        planned = make_plan(site, today, today, 366, history)
        self.site, self.today = planned.site, today
        self.history = care.with_implied(site, history)
        self.jobs = list(care.jobs(site, self.history))
        self.next = plan.next_days(planned.series, today)
        self._described = site

    @property
    def known(self) -> Known:
        """Return what records depend on."""
        return Known(self.site, self.today, self.history)

    def consequences(self, enclosures: set[str]) -> list[tuple[Enclosure, Consequence]]:
        """Return what follows from the readings of some enclosures."""
        return [
            (case.enclosure, found)
            for case in care.cases(self._described, self.today, self.history)
            if case.enclosure.id in enclosures
            for found in care.consequences(case)
        ]


def standing_before(file: Path, site: Site, today: dt.date) -> Standing:
    """Return how a site stands before something is recorded. LogError says that nothing was."""
    with _nothing_recorded():
        return Standing(site, history_of(site, file, today), today)


def opened(file: Path, site: Site) -> Log:
    """Open the log of a site to record. LogError says that nothing was recorded."""
    with _nothing_recorded():
        return open_to_record(site, file)


def standing_after(log: Log, site: Site, today: dt.date) -> Standing:
    """Return how a site stands after something was recorded. LogError says that it was."""
    try:
        return Standing(site, history_in(log, site, today), today)
    except LogError as error:
        raise LogError(f"it was recorded, but what follows from it cannot be said: {error}") from error


@contextmanager
def _nothing_recorded() -> Iterator[None]:
    """Say of a log that fails before anything is recorded that nothing was."""
    try:
        yield
    except LogError as error:
        raise LogError(f"nothing was recorded: {error}") from error


def what_follows(
    before: Standing,
    done: Sequence[tuple[Entry, bool]],
    after: Standing,
    enclosures: set[str],
    words: Sequence[str] = (),
) -> Recorded:
    """Return what follows from entries (each with whether it is new) in some enclosures, by how the site stood and stands."""
    told = {(enclosure.id, found.text) for enclosure, found in before.consequences(enclosures)}
    news = tuple(
        (enclosure, found)
        for enclosure, found in after.consequences(enclosures)
        if (enclosure.id, found.text) not in told
    )
    moved = tuple(plan.moves(before.next, after.next))
    stored = tuple(entry for entry, _ in done)
    return Recorded(after.site, tuple(done), stored, after.next, moved, news, tuple(words))


# --- what is recorded ---


def day_of(who: Who, today: dt.date) -> dt.date:
    """Return the day for which somebody records. UsageError for one that is still to come."""
    day = who.on or today
    if day > today:
        raise UsageError(
            f"{day} lies in the future: today is {today}. Record what was done when it is done; if the clock is wrong, mend it"
        )
    return day


def refuse_before_set_up(enclosure: Enclosure, day: dt.date, key: str) -> None:
    """Raise UsageError for a day before an enclosure was set up, but for the jobs that come before that."""
    if enclosure.set_up is not None and day < enclosure.set_up and key not in BEFORE_SET_UP:
        raise UsageError(
            f"{enclosure.name} was set up on {enclosure.set_up}, after {day}: mend --on, or set_up in the description"
        )


def keeper_id(site: Site, by: str | None) -> str:
    """Return the id of who did it: as named, else the only keeper."""
    if by is not None:
        return str(pick(by, by_names(site.keepers), "keeper").id)
    return site.keepers[0].id if len(site.keepers) == 1 else ""


def _unnamed(site: Site, who: Who, done: Sequence[tuple[Entry, bool]]) -> list[str]:
    """Return what is said where several share the work and nobody is named for what is new."""
    if who.by is not None or len(site.keepers) < 2 or not any(new for _, new in done):
        return []
    return [f"it is not recorded who did it: --by names one of {', '.join(k.name for k in site.keepers)}"]


def _entry(job: Job, who: Who, recorded: dt.datetime, value: float | None) -> Entry:
    assert who.on is not None
    return Entry(
        kind="done",
        enclosure=job.enclosure.id,
        name=job.key,
        of=job.log_name.variant,
        day=who.on,
        time=who.at,
        value=value,
        keeper=who.by or "",
        title=job.title,
        minutes=job.minutes,
        note=who.note,
        recorded=recorded,
    )


def value_of(known: Known, job: Job, share: float | None, half: int | None) -> float | None:
    """Return what an entry says of how much was done: the share of the water, the half of the media."""
    if job.key == "water-change":
        # An extra change has a share of its own, which the regular one does not tell.
        return job.share if share is None else share
    if job.key == "media-rinse":
        case = care.Case(known.site, job.enclosure, known.today, known.history)
        return float(half if half is not None else next_half(case))
    return None


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
            f"readings are of one enclosure at a time, found {' and '.join(map(clip, names))}; a reading is written NAME=VALUE"
        )
    if names:
        return pick(names[0], places, "enclosure")  # type: ignore[no-any-return]
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
            basis = getattr(site.place.test_kit, kind.name, None)
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
            "--of says whose weight or length it is, or which UV lamp was measured; there is no such reading here"
        )
    return entries, words


def _of(enclosure: Enclosure, kind: Quantity, whom: str | None) -> str:
    """Return whom or what a reading is of: a resident's id, a lamp's, or nobody's."""
    if kind.of == "resident":
        residents = enclosure.resident
        if whom:
            return str(pick(whom, by_names(residents), f"resident in {enclosure.name}").id)
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
    before: Standing | Known, enclosure: Enclosure, entries: Sequence[Entry], day: dt.date
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
            before.site.place.units,
            formats=before.site.place.formats,
        )
        if last is None:
            doubt = doubt or _misfit_of(before, enclosure, entry, day)
        if doubt is not None:
            found.append(doubt)
    return found


def _misfit_of(before: Standing | Known, enclosure: Enclosure, entry: Entry, day: dt.date) -> str | None:
    """Return why a weight or a length does not fit its animal as the description has it, where nothing was measured before; else None."""
    written = next((r for r in enclosure.resident if r.id == entry.of and r.count == 1), None)
    if written is None or entry.name not in ("weight", "length"):
        return None
    case = care.Case(before.site, enclosure)
    found = care.misfit(case, written, entry.name, entry.value or 0.0, day)
    if found is None:
        return None
    shown = case.reading(entry.name, entry.value or 0.0)
    return f"{QUANTITIES[entry.name].label} of {written.name}: {shown} is far off; {found.rule[0].lower()}{found.rule[1:-1]}"
