"""The text of a resource: one to-do or event of ours (RFC 4791, section 4.1), and what was agreed about it
last: the base of a merge.

Of an occurrence a resource is made by the writer of the feeds. It carries a line more, X-PONDROUND-JOB, by
which a tick is recorded also when the occurrence is no longer in the plan.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.calendar.component import Component, Writer
from scheduler.calendar.continuity import PublishedEntry, digest, later, read_earlier
from scheduler.calendar.feed import PRODID, footer, stamp_of
from scheduler.calendar.rounds import job_entries
from scheduler.calendar.text import fold, text_line
from scheduler.calendar.titles import DONE, LATE, done_title
from scheduler.calendar.verify import FeedError, verify
from scheduler.calendar.zones import vtimezone
from scheduler.care import Job
from scheduler.history import JobRef, OccurrenceRef
from scheduler.log.caldav_resources import StoredResource
from scheduler.rota import Round, Task

_JOB = "X-PONDROUND-JOB"
_DONE = "X-PONDROUND-DONE"
_TICKED = b"X-PONDROUND-TICKED:1\r\n"
_CLOSED = re.compile(rb"^STATUS:COMPLETED\r\nPERCENT-COMPLETE:100\r\nCOMPLETED:[0-9TZ]+\r\n", re.M)
_OPEN = re.compile(rb"^STATUS:NEEDS-ACTION\r\n", re.M)
_DURATION = re.compile(rb"^DURATION:PT[0-9HM]+\r\n", re.M)
_SUMMARY = re.compile(rb"^SUMMARY:(?:[^\r\n]|\r\n )*\r\n", re.M)
_CATEGORY = re.compile(r"((?:\\.|[^\\,])+)")
_LAST_MINUTE = dt.time(23, 59)

PENDING = "?"
"""Stands before the entity tag of what is to be replaced, alone for what is new: whether the server has taken
it is not known."""


@dataclass(frozen=True, slots=True)
class Local:
    """A resource as it should be: its UID, its content, the first year of its time zone, and the task that it
    stands for."""

    uid: str
    content: bytes
    task: Task
    helps: bool

    @property
    def year(self) -> int:
        """Return the year of its day."""
        return self.task.day.year


def local_of(writer: Writer, rounds: Iterable[Round]) -> Iterator[Local]:
    """Yield the resources of rounds, one for each job, and one for each hand that is lent."""
    for one in rounds:
        tasks = (*one.tasks, *one.helps)
        for number, (task, component) in enumerate(zip(tasks, job_entries(writer, [one]), strict=True)):
            helps = number >= len(one.tasks)
            yield Local(component.uid, _content(writer, task, component, helps), task, helps)


def _content(writer: Writer, task: Task, component: Component, helps: bool) -> bytes:
    """Return the lines of an entry from DTSTART on.

    Programs for to-dos go by DUE, and many know no DURATION; RFC 5545, section 3.6.2, has one or the other.
    """
    body = component.body
    if writer.options.to_dos:
        body = _DURATION.sub(_due(writer, task), body, count=1)
    job = task.item.job
    enclosure, key, variant, due = task.item.ref
    path = "/".join([enclosure, key, variant, due.isoformat(), job.log_name.variant])
    line = b"" if helps else fold(f"{_JOB}:{path}")
    return _with(body, line)


def _due(writer: Writer, task: Task) -> bytes:
    """Return when a job is over: on its day also where it goes on past midnight, since that is the day to do
    it on."""
    start = dt.datetime.combine(task.day, writer.site.settings.time_of(task.item.job.part), writer.zone)
    end = (start.astimezone(dt.UTC) + dt.timedelta(minutes=task.item.job.minutes)).astimezone(writer.zone)
    if end.date() > task.day and start.time() < _LAST_MINUTE:
        end = dt.datetime.combine(task.day, _LAST_MINUTE, writer.zone)
    zone, zulu = ("", "Z") if writer.utc else (f";TZID={writer.site.settings.time_zone}", "")
    return f"DUE{zone}:{end:%Y%m%dT%H%M%S}{zulu}\r\n".encode()


def _with(content: bytes, line: bytes) -> bytes:
    """Return the lines of an entry with a further one at their end."""
    at = content.rindex(b"END:")
    return content[:at] + line + content[at:]


def done_content(
    writer: Writer,
    content: bytes,
    day: dt.date,
    time: dt.time | None,
    *,
    ticked: bool = False,
    job: Job | None = None,
) -> bytes:
    """Return the content of what was done; `ticked` is kept in the log's copy where the log has it from the
    collection.

    An event cannot be completed (RFC 5545, section 3.6.1): its title says so, as those of feeds do; `job` is
    None where the plan does not have it any more.
    """
    if not writer.options.to_dos:
        titled = _SUMMARY.sub(lambda found: _done_line(writer, found[0], job), content, count=1)
        return _with(titled, f"{_DONE}:{day:%Y%m%d}T000000\r\n".encode())
    lines = writer.completed(writer.moment(day, time))
    return _with(_OPEN.sub(lines, content, count=1), _TICKED if ticked else b"")


def open_content(content: bytes) -> bytes:
    """Return the content of a to-do that was done as it was before."""
    return _CLOSED.sub(b"STATUS:NEEDS-ACTION\r\n", content, count=1).replace(_TICKED, b"")


def _done_line(writer: Writer, line: bytes, job: Job | None) -> bytes:
    if job is not None:
        return text_line("SUMMARY", done_title(job, writer.places[job.enclosure.id]))
    was = line.replace(b"\r\n ", b"").removesuffix(b"\r\n").decode().removeprefix("SUMMARY:")
    return fold(f"SUMMARY:{DONE}{was.removeprefix(LATE)}")


def text_of(
    writer: Writer, uid: str, content: bytes, year: int, *, today: dt.date, was: PublishedEntry | None = None
) -> str:
    """Return the text of a resource, younger than what it `was`, as the log keeps it."""
    kind = writer.options.kind
    now = stamp_of(today, writer.zone)
    stamp = now if was is None else later(now, was.stamp)
    sequence = 0 if was is None else was.sequence + 1
    lead = b"BEGIN:%b\r\nUID:%b\r\nDTSTAMP:%b\r\nLAST-MODIFIED:%b\r\nSEQUENCE:%d\r\n" % (
        kind.encode(),
        uid.encode(),
        stamp,
        stamp,
        sequence,
    )
    top = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n" + fold(f"PRODID:{PRODID}") + b"CALSCALE:GREGORIAN\r\n"
    zone = b"" if writer.utc else vtimezone(writer.site.settings.time_zone, year)
    return (top + zone + lead + content + footer()).decode()


def sent_of(writer: Writer, text: str, kept: bytes = b"") -> str:
    """Return a text as it is sent; `kept` are lines that others have added to the entry.

    FeedError where it is no iCalendar, which would be a mistake of this program: those of others are left out
    then.
    """
    kind = writer.options.kind
    raw = text.encode().replace(_TICKED, b"")
    at = raw.rindex(f"END:{kind}\r\n".encode())
    made = raw[:at] + kept + raw[at:]
    try:
        verify(made, kind)
    except FeedError:
        if not kept:
            raise
        return sent_of(writer, text)
    return made.decode()


# --- what was agreed ---


@dataclass(frozen=True, slots=True)
class Base:
    """What the log has of a resource: the state that the server and the log agreed on last, and where it is.

    `job` is None for a hand that is lent. `day` is the day for which it was put, `last` that of its DUE.
    `done` is the day of its completion; it was `ticked` where the log has that from the collection. `work` is
    what its title says without the place.
    """

    stored: StoredResource
    content: bytes
    was: PublishedEntry
    job: OccurrenceRef | None
    of: str
    day: dt.date
    last: dt.date
    done: dt.date | None
    ticked: bool
    title: str
    work: str
    minutes: int

    @property
    def log_name(self) -> JobRef:
        """Return the name under which the log knows the job; of a hand that is lent there is none to ask
        for."""
        assert self.job is not None
        return JobRef(self.job.enclosure, self.job.key, self.of)

    @property
    def tag(self) -> str:
        """Return the entity tag of what was agreed, or of what is to be replaced; empty where it is not
        known."""
        return self.stored.etag.removeprefix(PENDING)

    @property
    def pending(self) -> bool:
        """Tell whether the server may not have taken the text."""
        return self.stored.etag.startswith(PENDING)

    @property
    def unsent(self) -> bool:
        """Tell whether nothing of it may ever have come to the server."""
        return self.stored.etag == PENDING


def base_of(writer: Writer, stored: StoredResource) -> Base | None:
    """Return what was agreed of a resource; None where its text is none of ours."""
    kind, raw = writer.options.kind, stored.body.encode()
    was = read_earlier(raw, kind, bodies=True).get(stored.uid.encode())
    if was is None:
        return None
    lines = dict(_properties(was.body))
    try:
        begin = _moment(lines["DTSTART"])
        end = _moment(lines["DUE"]) if "DUE" in lines else begin
        *job, due, of = lines[_JOB].split("/") if _JOB in lines else ("", "", "", str(begin.date()), "")
        enclosure, key, variant = job
        done = _moment(lines[_DONE]).date() if _DONE in lines else None
        if "COMPLETED" in lines:
            done = _moment(lines["COMPLETED"]).replace(tzinfo=dt.UTC).astimezone(writer.zone).date()
        title = _text(lines.get("SUMMARY", ""))
        return Base(
            stored,
            was.body,
            was,
            OccurrenceRef(enclosure, key, variant, dt.date.fromisoformat(due)) if _JOB in lines else None,
            of,
            begin.date(),
            end.date(),
            done,
            _TICKED in was.body,
            title,
            _work(title, lines.get("CATEGORIES", "")),
            max(1, int((end - begin).total_seconds()) // 60),
        )
    except (KeyError, ValueError):
        return None


def _work(title: str, categories: str) -> str:
    """Return the work: the last category.

    Entries of earlier versions have a key there, and the place before the work.
    """
    place, *_, work = [*map(_text, _CATEGORY.findall(categories)), "", ""][:2]
    return title.removeprefix(f"{place}: ") if not work or title.startswith(f"{place}: ") else work


def _text(value: str) -> str:
    """Return a TEXT value as it is read (RFC 5545, section 3.3.11)."""
    return re.sub(r"\\(.)", r"\1", value)


def same_content(base: Base, content: bytes) -> bool:
    """Tell whether a content is the one that was agreed."""
    return base.was.digest == digest(content)


def _properties(content: bytes) -> Iterator[tuple[str, str]]:
    for line in content.replace(b"\r\n ", b"").decode().split("\r\n"):
        name, _, value = line.partition(":")
        yield name.partition(";")[0], value


def _moment(text: str) -> dt.datetime:
    return dt.datetime.strptime(text.removesuffix("Z"), "%Y%m%dT%H%M%S")  # noqa: DTZ007 - its zone is the site's
