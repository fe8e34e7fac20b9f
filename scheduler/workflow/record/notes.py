"""Notes: what people remark at a tank, for whoever comes next, and what is pinned for the vet.

A note by itself is an entry of the log like a reading, but with words for a value: earlier versions show it,
export it and take it back, and no plan rests on it. What is pinned is one more entry, with the words of the
note, until that is taken back.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.errors import UsageError
from scheduler.history import Entry
from scheduler.workflow.record.standing import Who, keeper_id
from scheduler.workflow.site_log import now_as_of, open_to_read
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log

NOTE = "note"
PINNED = "note-for-vet"
"""The names of notes in the log, and of those that are pinned."""

TITLES = {NOTE: "note", PINNED: "note for the vet"}

NOTE_DAYS = 7
"""So many days before today a note is shown at its tank. House value."""

NOTE_LENGTH = 2_000
"""So many characters of a note are kept from a page. House value."""


@dataclass(frozen=True, slots=True)
class KeptNote:
    """What was remarked at a tank: the words, the entry that they stand in, and the entry that pins them,
    where one does."""

    text: str
    entry: Entry
    pin: Entry | None

    @property
    def is_pin(self) -> bool:
        """Tell whether only the pin is left to be shown, since the note itself is old or taken back."""
        return self.entry is self.pin


def clean_note(text: str) -> str:
    """Return a note as it is kept, on one line. UsageError for one that is too long."""
    note = " ".join(text.split())
    if len(note) > NOTE_LENGTH:
        raise UsageError(f"the note has {len(note)} characters; {NOTE_LENGTH} are kept at most")
    return note


def notes_at(
    site: Site, recent: Iterable[Entry], pins: Iterable[Entry]
) -> Mapping[str, tuple[KeptNote, ...]]:
    """Return the notes at each tank: what is pinned first, then those of the last days, each the newest
    first.

    `recent` are entries that stand, of the days of which notes are shown, and `pins` the entries that pin
    one.
    """
    names = {k.id: k.name for k in site.keepers}
    unused = {(pin.enclosure, pin.note): pin for pin in pins}
    found: dict[str, list[KeptNote]] = {}
    for entry in recent:
        if not entry.note or entry.name == PINNED:
            continue
        keys = [(entry.enclosure, said) for said in (entry.note, _said_by(entry, names))]
        pin = next((unused.pop(key) for key in keys if key in unused), None)
        found.setdefault(entry.enclosure, []).append(KeptNote(entry.note, entry, pin))
    for pin in unused.values():
        found.setdefault(pin.enclosure, []).append(KeptNote(pin.note, pin, pin))
    return {place: tuple(sorted(some, key=_newest_first)) for place, some in found.items()}


def _newest_first(note: KeptNote) -> tuple[object, ...]:
    day, time, number = note.entry.moment
    return note.pin is None, -day.toordinal(), -(time.hour * 60 + time.minute), -number


def pins_in(log: Log, site: Site, today: dt.date) -> list[Entry]:
    """Return what is pinned for the vet, in the order in which it was pinned."""
    return list(log.entries(site.settings.id, until=today, names={PINNED}, kind="reading", voided=False))


def pinned_notes(space: Workspace) -> list[Entry]:
    """Return what is pinned for the vet by the log of a description; nothing where there is no log."""
    log = open_to_read(space.file, space.site)
    if log is None:
        return []
    with log:
        return pins_in(log, space.site, space.today)


def keep_note(
    log: Log, site: Site, place: str, words: str, who: Who, *, day: dt.date, seen: int, vet: bool = False
) -> list[Entry]:
    """Record a note at a tank, pinned for the vet where that is said; return the entries, none where it was
    taken back since.

    The same words on the same day are the same note. UsageError for no words, for too many, and for no tank.
    """
    text = clean_note(words)
    if place not in {e.id for e in site.enclosures}:
        raise UsageError("choose the tank that the note is of")
    if not text:
        raise UsageError("write the note")
    newer = log.entries(
        site.settings.id, since=day, until=day, enclosure=place, names={NOTE}, kind="reading", after=seen
    )
    if any(e.note == text and e.voided for e in newer):
        return []
    names = (NOTE, PINNED) if vet else (NOTE,)
    entries = [_entry(site, place, name, text, who, day) for name in names]
    return [entry for entry, _ in log.record(site.settings.id, entries)]


def pin_note(log: Log, site: Site, number: int, who: Who, *, today: dt.date) -> Entry:
    """Pin the note of an entry for the vet, until it is unpinned; return the entry that does so.

    Pinned twice it is pinned once. UsageError where there is no such note.
    """
    since = today - dt.timedelta(days=NOTE_DAYS)
    recent = log.entries(site.settings.id, since=since, until=today, voided=False)
    entry = next((e for e in recent if e.number == number and e.note and e.name != PINNED), None)
    if entry is None:
        raise UsageError("this note is no longer there")
    names = {k.id: k.name for k in site.keepers}
    said = entry.note if entry.keeper == keeper_id(site, who.by) else _said_by(entry, names)
    pin = _entry(site, entry.enclosure, PINNED, said[:10_000], who, entry.day)
    return log.record(site.settings.id, [pin])[0][0]


def pin_of(log: Log, site: Site, number: int, today: dt.date) -> Entry:
    """Return the entry that pins a note, taken back or not. UsageError where there is none of that number."""
    pins = log.entries(site.settings.id, until=today, names={PINNED}, kind="reading")
    pin = next((e for e in pins if e.number == number), None)
    if pin is None:
        raise UsageError("this note is not pinned")
    return pin


def unpin_note(log: Log, site: Site, number: int, who: Who, *, today: dt.date) -> None:
    """Take a pin off again; nothing is changed where that was done before. UsageError where there is none."""
    pin = pin_of(log, site, number, today)
    by, now = keeper_id(site, who.by), now_as_of(site, who.as_of)
    log.void_all(site.settings.id, [pin.uid(site.settings.id)], keeper=by, recorded=now)


def _said_by(entry: Entry, names: Mapping[str, str]) -> str:
    """Return a note with who said it, as it stands in an entry of somebody else's."""
    who = names.get(entry.keeper, entry.keeper)
    return f"{who}: {entry.note}" if who else entry.note


def _entry(site: Site, place: str, name: str, text: str, who: Who, day: dt.date) -> Entry:  # noqa: PLR0917
    return Entry(
        kind="reading",
        enclosure=place,
        name=name,
        day=day,
        time=who.at if name == NOTE else None,
        keeper=keeper_id(site, who.by),
        title=TITLES[name],
        note=text,
        recorded=now_as_of(site, who.as_of),
    )
