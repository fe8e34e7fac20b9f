"""What a mail to a keeper says: the round of a day, or what has changed of it; as plain text and as HTML."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from scheduler.care import Job, cautions
from scheduler.care.house import House
from scheduler.description.site import Keeper, Place
from scheduler.plan import Occurrence
from scheduler.quantities import show_date

QUARANTINE = "Quarantine, last: tools of its own; wash your hands before and after."

FOOTER = "Sent by pondround for {site}, since the site's description asks for it."


@dataclass(frozen=True, slots=True)
class Duty:
    """Something of a round: what, whether it is in quarantine, who lends a hand, and whose it is where the keeper only helps."""

    occurrence: Occurrence
    quarantine: bool = False
    helper: str = ""
    helps: str = ""

    @property
    def job(self) -> Job:
        """Return the job."""
        return self.occurrence.job


@dataclass(frozen=True, slots=True)
class News:
    """One change of a round: what it is about, in short, whether it came or went, and a sentence about it."""

    short: str
    comes: bool
    words: str


@dataclass(frozen=True, slots=True)
class Letter:
    """A mail without its envelope."""

    subject: str
    text: str
    html: str


@dataclass(frozen=True, slots=True)
class Block:
    """Some lines under a heading: numbered, each with what belongs to it; or plain ones."""

    heading: str
    items: tuple[tuple[str, tuple[str, ...]], ...] = ()
    first: int = 0
    """The number of the first item; 0 where they have none."""


def short_name(job: Job) -> str:
    """Return what is done and where, in few words, the work first: `Water change Den`."""
    return f"{job.title[:1].upper()}{job.title[1:]} {job.enclosure.name}"


def round_letter(place: Place, keeper: Keeper, day: dt.date, duties: Sequence[Duty]) -> Letter:
    """Return the mail of a keeper's round of a day, on that day."""
    opening = f"{keeper.name}, this is your round of today, {_long(day)}: {_sum(duties)}."
    return _letter(place, f"Today: {_leading(duties)}", [opening], list(_round(place, duties)))


def changed_letter(
    place: Place, keeper: Keeper, day: dt.date, news: Sequence[News], duties: Sequence[Duty], *, when: str
) -> Letter:
    """Return the mail of what changed in a keeper's round of a day, which is `when`: "today" or "tomorrow"."""
    opening = f"{keeper.name}, your round of {when}, {_long(day)}, has changed."
    changes = Block("What is new", tuple((one.words, ()) for one in news))
    if not duties:
        subject = f"Changed: nothing for you {when}"
        after = f"Nothing is left for you {when}."
    else:
        subject = f"Changed: {when} {_changed(news)}"
        after = f"Your round of {when} now: {_sum(duties)}."
    return _letter(place, subject, [opening], [changes, Block(after), *_round(place, duties)])


def _changed(news: Sequence[News]) -> str:
    came, went = ([one.short for one in news if one.comes is comes] for comes in (True, False))
    told = [f"{word} {_first(some)}" for word, some in (("also", came), ("without", went)) if some]
    return ", ".join(told)


def _first(names: Sequence[str]) -> str:
    more = len(names) - 1
    return f"{names[0]}, {more} more" if more else names[0]


def _leading(duties: Sequence[Duty]) -> str:
    """Return what a round is of, in few words: what comes seldom leads, since the rest is there every day."""
    ordered = sorted(duties, key=lambda duty: (bool(duty.helps), duty.job.is_routine))
    return _first([f"lend a hand: {short_name(d.job)}" if d.helps else short_name(d.job) for d in ordered])


def _sum(duties: Sequence[Duty]) -> str:
    count, minutes = len(duties), sum(duty.job.minutes for duty in duties)
    return f"{count} job{'s' if count != 1 else ''}, {minutes} min"


def _long(day: dt.date) -> str:
    return f"{day:%A} {show_date(day)}"


def _round(place: Place, duties: Sequence[Duty]) -> Iterator[Block]:
    """Yield a round in its order: each job with its place and steps, under its part of the day; then the cautions, once.

    The one place where the body of a round is made.
    """
    careful: dict[str, None] = {}
    told: dict[tuple[str, ...], int] = {}
    number = 0
    own = [duty for duty in duties if not duty.helps]
    for heading, some in groupby(own, key=lambda duty: _heading(place, duty)):
        items = []
        first = number + 1
        for duty in some:
            number += 1
            notes = duty.job.notes()
            # What is the same in many tanks is read once.
            same = told.setdefault(notes.steps, number)
            steps = notes.steps if same == number else (f"As for {same}.",)
            items.append((_titled(duty), steps))
            careful |= dict.fromkeys(notes.cautions)
        yield Block(heading, tuple(items), first)
    if helps := [duty for duty in duties if duty.helps]:
        yield Block("Lend a hand", tuple((f"to {d.helps}: {_titled(d)}", ()) for d in helps))
        careful[cautions.lift(House(place.house_values).pail_l)] = None
    if careful:
        yield Block("Take care", tuple((caution[:1].upper() + caution[1:], ()) for caution in careful))


def _heading(place: Place, duty: Duty) -> str:
    if duty.quarantine:
        return QUARANTINE
    return f"{duty.job.part.capitalize()}, {place.time_of(duty.job.part):%H:%M}"


def _titled(duty: Duty) -> str:
    job = duty.job
    room = f"{job.enclosure.room}, " if job.enclosure.room else ""
    since = duty.occurrence.since
    late = (
        f", due since {since:%A} {show_date(since)}"
        if since is not None and since < duty.occurrence.day
        else ""
    )
    helper = f", with {duty.helper}" if duty.helper else ""
    return f"{room}{job.enclosure.name}: {job.title} ({job.minutes} min{late}){helper}"


def _letter(place: Place, subject: str, opening: Sequence[str], blocks: Sequence[Block]) -> Letter:
    footer = FOOTER.format(site=place.name)
    text = "\n".join([*opening, *_text(blocks), "", "-- ", footer, ""])
    return Letter(" ".join(subject.split()), text, _html(place.name, opening, blocks, footer))


def _text(blocks: Iterable[Block]) -> Iterator[str]:
    for block in blocks:
        yield ""
        yield block.heading
        for at, (line, below) in enumerate(block.items):
            mark = f"{block.first + at}." if block.first else "-"
            yield f"{mark} {line}"
            yield from (f"   - {part}" for step in below for part in step.splitlines())


def _html(title: str, opening: Iterable[str], blocks: Iterable[Block], footer: str) -> str:
    """Return the same as HTML: nothing in it is fetched from anywhere."""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title></head>",
        '<body style="font-family: sans-serif; line-height: 1.4; max-width: 40em; margin: 0 auto; padding: 1em">',
        *(f"<p>{escape(line)}</p>" for line in opening),
    ]
    for block in blocks:
        if not block.items:
            lines.append(f"<p>{escape(block.heading)}</p>")
            continue
        lines.append(f'<h2 style="font-size: 1.1em">{escape(block.heading)}</h2>')
        kind = "ol" if block.first else "ul"
        lines.append(f'<ol start="{block.first}">' if block.first else "<ul>")
        for line, below in block.items:
            said = f"<strong>{escape(line)}</strong>" if below else escape(line)
            lines.append(f"<li>{said}{_steps(below)}</li>")
        lines.append(f"</{kind}>")
    lines += [f'<p style="color: #555">{escape(footer)}</p>', "</body></html>", ""]
    return "\n".join(lines)


def _steps(steps: Sequence[str]) -> str:
    if not steps:
        return ""
    return "<ul>" + "".join(f"<li>{escape(step).replace(chr(10), '<br>')}</li>" for step in steps) + "</ul>"
