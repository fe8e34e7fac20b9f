"""The values of a sheet: which fields its jobs have, what was typed into them, and how they come into the log
together."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from scheduler.care import Job
from scheduler.care.asked import UNFINISHED, AskedQuantity, Value
from scheduler.care.lamps import named
from scheduler.description import Enclosure, Site
from scheduler.errors import ReadingError, UsageError, clip
from scheduler.history import Entry, History
from scheduler.log import Log
from scheduler.readings import QUANTITIES, field_unit, in_field, needs_basis
from scheduler.workflow.record.done import done_entries, said_done
from scheduler.workflow.record.readings import doubts_of, parsed_values
from scheduler.workflow.record.standing import RecordContext, Who, day_of, keeper_id, refuse_before_set_up
from scheduler.workflow.site_log import now_as_of

ION = {"ammonia": "NH4", "nitrite": "NO2", "nitrate": "NO3"}
"""What a kit reads as that reads as the ion."""

VALUE_LENGTH = 60
"""So many characters of a value are read; more is no value."""


class FieldRef(NamedTuple):
    """The identity of a field: the enclosure, the name of the quantity, and whom or what it is of."""

    enclosure: str
    name: str
    of: str = ""

    @property
    def field(self) -> str:
        """Return what the field is called in a form."""
        return f"value/{self.enclosure}/{self.name}/{self.of}"


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a sheet: what it is called, its unit, the last value before today, the one of today, and
    whether it is needed."""

    ref: FieldRef
    label: str
    unit: str
    last: Entry | None
    today: Entry | None
    needed: bool


@dataclass(frozen=True, slots=True)
class ValueSheet:
    """The fields of a job."""

    job: Job
    fields: tuple[Field, ...]

    @property
    def asks_basis(self) -> bool:
        """Tell whether a value in it may depend on what the kit reads as."""
        return any(QUANTITIES[one.ref.name].bases for one in self.fields)


class WrongValuesError(UsageError):
    """Values that were refused, by field, or are asked about; nothing was recorded.

    `basis` is wrong where nobody said it.
    """

    def __init__(
        self, wrong: Mapping[FieldRef, str], doubts: Mapping[FieldRef, str], *, basis: str = ""
    ) -> None:
        """Take what is wrong and what is doubted, each by its field."""
        number = len(wrong) + bool(basis)
        said = (
            f"{number} value{' is' if number == 1 else 's are'} not right yet"
            if number
            else "look at these again"
        )
        super().__init__(f"{said}")
        self.wrong, self.doubts, self.basis = dict(wrong), dict(doubts), basis


@dataclass(frozen=True, slots=True)
class Stored:
    """What became of a sheet: its readings (as stored), the jobs that are done by them, and the jobs that
    stay open with what they lack."""

    readings: tuple[Entry, ...]
    done: tuple[Entry, ...]
    open: tuple[tuple[Job, tuple[Value, ...]], ...]


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet as it was sent: its jobs, what was typed by field, and what the kit reads as ("N", "ion" or
    nothing)."""

    jobs: Sequence[Job]
    typed: Mapping[FieldRef, str]
    basis: str = ""
    sure: bool = False


@dataclass(slots=True)
class _Read:
    entries: list[Entry] = field(default_factory=list)
    wrong: dict[FieldRef, str] = field(default_factory=dict)
    doubts: dict[FieldRef, str] = field(default_factory=dict)
    lacks_basis: bool = False


def sheet_of(site: Site, history: History, job: Job, today: dt.date) -> ValueSheet | None:
    """Return the fields of a job on a day; None where it asks for nothing."""
    asked = job.asks.on(today) if job.asks is not None else ()
    fields = tuple(_field(site, history, job.enclosure, value, today) for value in asked)
    return ValueSheet(job, fields) if fields else None


def _field(site: Site, history: History, place: Enclosure, value: Value, today: dt.date) -> Field:
    found = history.readings(place.id, value.name, value.of)
    return Field(
        FieldRef(place.id, value.name, value.of),
        label_of(place, value.measured),
        field_unit(value.name, site.settings.units),
        next((e for e in reversed(found) if e.day < today), None),
        next((e for e in reversed(found) if e.day == today), None),
        value.needed,
    )


def label_of(place: Enclosure, one: AskedQuantity) -> str:
    """Return what a value is called on a sheet: "Nitrite", "Fern: weight", "UVI under the T5 HO tube
    lamp"."""
    label = QUANTITIES[one.name].label
    if one.name == "uvi":
        kinds = {variant: lamp.kind for variant, lamp in named(place.lamp)}
        return f"{label} under the {kinds.get(one.of, one.of)} lamp" if one.of else label
    if one.of:
        return f"{next((r.name for r in place.resident if r.id == one.of), one.of)}: {label}"
    return label if label[:1] == "p" and label[1:2] == "H" else label[:1].upper() + label[1:]


def fixed_basis(site: Site) -> dict[str, str]:
    """Return what the kit reads as, by quantity, where the description says it."""
    kit = site.settings.test_kit
    return {name: basis for name in ION if (basis := getattr(kit, name, None)) is not None}


def store_values(log: Log, known: RecordContext, filled: Filled, who: Who, seen: int) -> Stored:
    """Record the values of a sheet, and the jobs that are done by them, in one transaction.

    What is missing keeps its job open. WrongValuesError for a value that is none, and for one that looks
    mistyped unless it is `sure`: then nothing is recorded. What is recorded already, or was recorded or taken
    back after the entry number `seen`, does not count twice. UsageError where nothing was typed.
    """
    site, day = known.site, day_of(who, known.today)
    read = _read(known, filled, day)
    if read.wrong or read.lacks_basis:
        said = (
            (
                "choose what the kit reads as: the figures differ by up to "
                f"{site.settings.formats.number(4.4)} times"
            )
            if read.lacks_basis
            else ""
        )
        raise WrongValuesError(read.wrong, {}, basis=said)
    if not read.entries:
        raise UsageError("write at least one value")
    if read.doubts and not filled.sure:
        raise WrongValuesError({}, read.doubts)
    newer = list(log.entries(site.settings.id, since=day, until=day, after=seen))
    there: dict[str, set[AskedQuantity]] = {}
    for place in {job.enclosure.id for job in filled.jobs}:
        there[place] = {AskedQuantity(e.name, e.of) for e in known.history.measured(place) if e.day == day}
    for e in (*(e for e in newer if e.kind == "reading" and not e.voided), *read.entries):
        there.setdefault(e.enclosure, set()).add(AskedQuantity(e.name, e.of))
    done, marks, left = _by_state(filled.jobs, there, day)
    touched = said_done(log, site, (day, day), seen)
    now, by = now_as_of(site, who.as_of), keeper_id(site, who.by)
    stamped = [replace(e, day=day, keeper=by, note=who.note, recorded=now) for e in read.entries]
    again = {(e.enclosure, e.name, e.of, e.value) for e in newer if e.kind == "reading"}
    fresh = [e for e in stamped if (e.enclosure, e.name, e.of, e.value) not in again]
    ticks = done_entries(
        known, [job for job in done if (job.log_name, day) not in touched], replace(who, note="")
    )
    marked = [replace(e, day=day, keeper=by, recorded=now) for e in marks]
    # One instant for all: what was recorded together is taken back together.
    entries = [*fresh, *(replace(e, recorded=now) for e in ticks), *marked]
    stored = [entry for entry, _ in log.record(site.settings.id, entries)] if entries else []
    known_before = [e for e in newer if e.kind == "reading" and e.name in QUANTITIES]
    readings = [e for e in stored if e.kind == "reading" and e.name in QUANTITIES]
    return Stored(tuple(readings or known_before), tuple(e for e in stored if e.kind == "done"), tuple(left))


def _by_state(
    jobs: Iterable[Job], there: Mapping[str, Collection[AskedQuantity]], day: dt.date
) -> tuple[list[Job], list[Entry], list[tuple[Job, tuple[Value, ...]]]]:
    """Return the jobs that are done, the remarks that keep others open, and the jobs that are open with what
    they lack."""
    done, marks, left = [], [], []
    for job in jobs:
        if job.asks is None or not job.asks.on(day):
            continue
        here = there.get(job.enclosure.id, ())
        missing = job.asks.missing(here, day)
        if not missing:
            done.append(job)
            continue
        left.append((job, missing))
        if job.asks.met_by(here, day):
            marks.append(_mark(job))
    return done, marks, left


def _mark(job: Job) -> Entry:
    return Entry(
        kind="reading",
        enclosure=job.enclosure.id,
        name=UNFINISHED,
        of=job.key,
        day=dt.date.min,
        title=f"{job.title}, unfinished",
        recorded=dt.datetime.min,  # noqa: DTZ901 - filled in by the caller
    )


def _read(known: RecordContext, filled: Filled, day: dt.date) -> _Read:
    """Return what was typed as entries without a day, and what is wrong with it."""
    read, places = _Read(), {e.id: e for e in known.site.enclosures}
    fixed = fixed_basis(known.site)
    for ref, typed in filled.typed.items():
        text = " ".join(typed.split())
        place = places.get(ref.enclosure)
        if not text:
            continue
        if place is None or ref.name not in QUANTITIES:
            raise UsageError("this enclosure is no longer in the description")
        try:
            entry = _entry(known.site, place, ref, text, "" if ref.name in fixed else filled.basis)
        except UsageError as error:
            read.wrong[ref] = error.in_field if isinstance(error, ReadingError) else str(error)
            continue
        if entry is None:
            read.lacks_basis = True
            continue
        refuse_before_set_up(place, day, "")
        read.entries.append(entry)
        doubts = doubts_of(known, place, [entry], day)
        if doubts:
            read.doubts[ref] = doubts[0]
    return read


def _entry(site: Site, place: Enclosure, ref: FieldRef, text: str, basis: str) -> Entry | None:
    """Return what was typed into a field as an entry without a day; None where nobody says what the kit reads
    as."""
    if len(text) > VALUE_LENGTH:
        raise ReadingError(f"found {clip(text)}, of {len(text)} characters; write the value alone")
    said = "N" if basis == "N" else ION.get(ref.name, "") if basis == "ion" else ""
    whole = in_field(ref.name, text, site.settings.units, said, site.settings.formats)
    if ref.name not in fixed_basis(site) and needs_basis(ref.name, whole):
        return None
    (entry,), _ = parsed_values(site, place, [f"{ref.name}={whole}"], ref.of or None)
    return entry


def fields_in(form: Mapping[str, str]) -> Iterator[tuple[FieldRef, str]]:
    """Yield the values of a form, by the names of its fields (`FieldRef.field`)."""
    for name, text in form.items():
        kind, _, rest = name.partition("/")
        if kind == "value" and rest.count("/") >= 2:
            yield FieldRef(*rest.split("/", 2)), text
