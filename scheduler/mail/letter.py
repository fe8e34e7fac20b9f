"""What a mail to a keeper says: the round of a day, or what has changed of it; as plain text and as HTML."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby
from typing import Literal

from scheduler.calendar.notes import ROUND_LIMIT, Work, group_note
from scheduler.calendar.titles import place_names, round_title
from scheduler.care import Job, cautions
from scheduler.care.house import House
from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.plan import Occurrence
from scheduler.quantities import show_minutes

FOOTER = "Sent by pondround for {site}, since the site's description asks for it."


@dataclass(frozen=True, slots=True)
class Duty:
    """Something of a round: what, whether it is in quarantine, who lends a hand, and whose it is where the
    keeper only helps."""

    occurrence: Occurrence
    quarantine: bool = False
    helper: str = ""
    helps: str = ""

    @property
    def job(self) -> Job:
        """Return the job."""
        return self.occurrence.job

    @property
    def is_late(self) -> bool:
        """Tell whether its window is over."""
        return self.occurrence.state == "overdue"


@dataclass(frozen=True, slots=True)
class News:
    """One change of a round: a sentence about it, how it changed, and the job, where that is still described.

    It is there "also", the round is "without" it, it is "as usual" again, or its note holds something else:
    "".
    """

    words: str
    how: Literal["", "as usual", "also", "without"]
    job: Job | None = None


@dataclass(frozen=True, slots=True)
class Letter:
    """A mail without its envelope."""

    subject: str
    text: str
    html: str


def round_letter(site: Site, keeper: Keeper, day: dt.date, duties: Sequence[Duty]) -> Letter:
    """Return the mail of a keeper's round of a day, on that day. There is something in it."""
    jobs = [(duty.job, duty.is_late) for duty in duties]
    subject = f"Today: {round_title(jobs, _minutes(duties), place_names(site))}"
    opening = (
        f"{keeper.name}, this is your round of today, {site.settings.formats.weekday_date(day)}: "
        f"{_sum(duties)}."
    )
    return _letter(site, subject, [opening, *_round(site, duties)])


def changed_letter(
    site: Site, keeper: Keeper, day: dt.date, news: Sequence[News], duties: Sequence[Duty], *, when: str
) -> Letter:
    """Return the mail of what changed in a keeper's round of a day, which is `when`: "today" or
    "tomorrow"."""
    opening = f"{keeper.name}, your round of {when}, {site.settings.formats.weekday_date(day)}, has changed."
    changes = "\n".join(["What is new", *(f"- {one.words}" for one in news)])
    if not duties:
        subject = f"Changed: nothing for you {when}"
        after = f"Nothing is left for you {when}."
    else:
        subject = f"Changed: {when} {_changed(site, news)}"
        after = f"Your round of {when} now: {_sum(duties)}."
    return _letter(site, subject, [opening, changes, after, *_round(site, duties)])


def _changed(site: Site, news: Sequence[News]) -> str:
    places = place_names(site)
    told = []
    for how in ("", "as usual", "also", "without"):
        some = [one for one in news if one.how == how]
        jobs = [(one.job, False) for one in some if one.job is not None]
        if jobs:
            title = round_title(jobs, sum(job.minutes for job, _ in jobs), places)
            told.append(f"{how} {title}".strip())
        elif some:
            told.append(f"{how} {_count(len(some))}")
    return ", ".join(told)


def _round(site: Site, duties: Sequence[Duty]) -> Iterator[str]:
    """Yield a round, a part of the day at a time, as the calendar's note has it.

    The one place where its body is made.
    """
    formats = site.settings.formats
    carry = [cautions.lift(House(site.settings.house_values).pail_l, formats)]
    for part, some in groupby(
        sorted(duties, key=lambda duty: duty.job.part == "evening"), key=lambda d: d.job.part
    ):
        held = list(some)
        works = [
            Work(d.job, d.occurrence.since if d.is_late else None, d.helper, d.helps, d.quarantine, formats)
            for d in held
        ]
        yield group_note(
            works,
            limit=ROUND_LIMIT,
            # Who is told by mail may have no terminal; the mail has the address of the page where there is
            # one.
            link=None,
            heading=f"{part.capitalize()}, {formats.time(site.settings.time_of(part))}: {_sum(held)}",
            beside=carry if any(d.helps for d in held) else (),
        )


def _sum(duties: Sequence[Duty]) -> str:
    return f"{_count(len(duties))}, {show_minutes(_minutes(duties))}"


def _minutes(duties: Sequence[Duty]) -> int:
    return sum(duty.job.minutes for duty in duties)


def _count(jobs: int) -> str:
    return f"{jobs} job{'s' if jobs != 1 else ''}"


def _letter(site: Site, subject: str, blocks: Sequence[str]) -> Letter:
    footer = FOOTER.format(site=site.settings.name)
    blocks = [block for some in blocks for block in some.split("\n\n")]
    text = "\n\n".join([*blocks, f"-- \n{footer}\n"])
    return Letter(" ".join(subject.split()), text, _html(site.settings.name, blocks, footer))


def _html(title: str, blocks: Sequence[str], footer: str) -> str:
    """Return blocks of plain text as HTML, line for line: what is done is bold, and nothing is fetched from
    anywhere."""
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title></head>",
        (
            '<body style="font-family: sans-serif; line-height: 1.4; max-width: 40em; margin: 0 auto; '
            'padding: 1em">'
        ),
        *(f"<p>{'<br>'.join(map(_line, block.splitlines()))}</p>" for block in blocks),
        f'<p style="color: #555">{escape(footer)}</p>',
        "</body></html>",
        "",
    ]
    return "\n".join(lines)


def _line(line: str) -> str:
    """Return a line as HTML; a job begins with its box."""
    said = escape(line)
    return f"<strong>{said}</strong>" if line.startswith("[ ] ") else said
