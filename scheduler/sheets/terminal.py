"""Terminal output: plain lines that read well at 80 columns, with or without colour. Width is an argument."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import zip_longest

from scheduler.care import Job
from scheduler.description.site import Site
from scheduler.errors import Problem
from scheduler.plan import Occurrence
from scheduler.plan.occurrence import by_day

LEAST_WIDTH = 40

_KEYS, ROOM_FOR_COLUMNS = 20, 72
"""Columns of the jobs' keys, and the width from which on there are columns beside the titles."""


@dataclass(frozen=True, slots=True)
class Item:
    """Lines that stand or fall together on a screen, with how many jobs they tell of; `cut` where they leave
    names out."""

    lines: tuple[str, ...]
    jobs: int
    cut: bool = False


def day_table(site: Site, found: Iterable[Occurrence], width: int, *, explain: bool = False) -> Iterator[str]:
    """Yield the lines of the days: a heading with the day's sum, then for each job its title and what `did`
    calls it.

    The column of enclosures is as wide as the longest name, within a quarter of the line; it falls away for a
    single one. With `explain` the first occurrence of each job is followed by how its amounts came about.
    """
    for items in day_items(site, found, width, explain=explain):
        for item in items:
            yield from item.lines
        yield ""


def day_items(
    site: Site, found: Iterable[Occurrence], width: int, *, explain: bool = False
) -> Iterator[list[Item]]:
    """Yield for each day its heading and its jobs, as `day_table` prints them."""
    width = max(width, LEAST_WIDTH)
    many = len(site.enclosures) > 1
    longest = max((cells(safe(e.name)) for e in site.enclosures), default=0)
    column = min(longest, width // 4) if many else 0
    keepers = {k.id: k.name for k in site.keepers} if len(site.keepers) > 1 else {}
    explained: set[int] = set()
    for day, batch in by_day(found):
        items = [day_heading(day, batch, width)]
        for o in batch:
            told = o.job.title
            if o.entry is not None:
                by = keepers.get(o.entry.keeper, "")
                told += f", done by {by}" if by else ", done"
            elif o.since is not None:
                told += f", {o.state} since {brief_day(o.since, day)}"
            elif o.put_off is not None:
                told += f", put off from {o.put_off.due.day} {o.put_off.due:%b}"
            lines = [*_row(o, safe(told), column, width)]
            if explain and id(o.job) not in explained:
                explained.add(id(o.job))
                for line in o.job.notes().workings():
                    lines.extend(wrapped(safe(line), width, 11, "         - "))
            items.append(Item(tuple(lines), 1))
        yield items


def day_heading(day: dt.date, batch: Iterable[Occurrence], width: int) -> Item:
    """Return the heading of a day: its date, and how many jobs of how many minutes are left of it."""
    left = [o for o in batch if o.state != "done"]
    total = sum(o.job.minutes for o in left)
    count = f"{len(left)} job{'s' if len(left) > 1 else ''}, {duration(total)}" if left else "all done"
    return Item(tuple(beside(f"{day:%A} {day.day} {day:%B %Y}", count, width, 1)), 0)


def brief_day(day: dt.date, today: dt.date) -> str:
    """Return a day as "3 Nov", with its year where that is not the year of `today`."""
    return f"{day.day} {day:%b}" + (f" {day.year}" if day.year != today.year else "")


def tells_key(job: Job) -> bool:
    """Tell whether a job's title says already what `did` calls it."""
    return job.title.replace(" ", "-") == job.word


def _row(o: Occurrence, title: str, column: int, width: int) -> Iterator[str]:
    """Yield the lines of a job; what does not fit beside the rest goes on below it, and no name is cut."""
    start, minutes = f"  {o.time:%H:%M}  ", f"  {f'{o.job.minutes} min':>6}"
    beside = width >= ROOM_FOR_COLUMNS
    # A narrow line has no room for what the title says already.
    key = o.job.word if beside or not tells_key(o.job) else ""
    before = cells(start) + (column + 2 if column else 0)
    room = width - before - cells(minutes) - (_KEYS + 2 if beside else 0)
    # A key is broken before its variant, and is never cut: it is there to be typed.
    head, stroke, variant = key.partition("/")
    parts = [key] if len(key) <= _KEYS else [*wrapped(head + stroke, _KEYS, 0), *wrapped(variant, _KEYS, 0)]
    titles = list(wrapped(title, room, 0))
    if not beside:
        parts, titles = [""] * len(titles), [*titles, *wrapped(key, room, 0)]
    names = list(wrapped(safe(o.job.enclosure.name), column, 0)) if column else []
    for i, (text, part, name) in enumerate(zip_longest(titles, parts, names, fillvalue="")):
        line = start if i == 0 else " " * cells(start)
        line += pad(name, column) + "  " if column else ""
        line += pad(text, room)
        line += f"  {part:<{_KEYS}}" if beside else ""
        yield f"{line}{minutes}" if i == 0 else line.rstrip()


def problem_lines(problems: Iterable[Problem], file: str, width: int) -> Iterator[str]:
    """Yield each problem as `file:line: key path`, with what was found and what to write indented under
    it."""
    for problem in problems:
        line = f":{problem.line}" if problem.line is not None else ""
        yield f"{safe(file)}{line}: {safe(problem.where)}"
        for text in filter(None, (problem.message, problem.hint)):
            yield from wrapped(safe(text), max(width, LEAST_WIDTH), 4)


def duration(minutes: int) -> str:
    """Return minutes as a person says them: 45 min, 2 h 5 min."""
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours and rest else f"{hours} h" if hours else f"{rest} min"


def safe(text: str) -> str:
    """Return text without what would move the cursor or turn the line around: controls and direction
    overrides."""
    return _UNSAFE.sub("", text)


_UNSAFE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Controls, separators of lines and paragraphs, overrides of direction, lone surrogates."""


def cells(text: str) -> int:
    """Return the columns that a text takes on a terminal; emoji and East Asian letters take two."""
    from rich.cells import cell_len

    return cell_len(text)


def pad(text: str, width: int) -> str:
    """Return text filled to a number of columns, or cut in its middle: names differ at their ends."""
    from rich.cells import set_cell_size

    if cells(text) <= width:
        return set_cell_size(text, width)
    tail = text[-(width // 2) :] if width > 1 else ""
    while cells(tail) > (width - 1) // 2:
        tail = tail[1:]
    return set_cell_size(text, width - 1 - cells(tail)) + "…" + tail


def beside(name: str, said: str, width: int, gap: int = 2) -> Iterator[str]:
    """Yield a name with what is said of it at the right edge; below each other where they do not fit, and
    nothing cut."""
    if cells(name) + gap + cells(said) <= width:
        yield name + " " * (width - cells(name) - cells(said)) + said
    else:
        yield from wrapped(name, width, 0)
        yield from (" " * (width - cells(line)) + line for line in wrapped(said, width, 0))


def wrapped(text: str, width: int, indent: int, first: str = "") -> Iterator[str]:
    """Yield a text in lines of a width, indented; `first` stands before the first line, within the indent.

    textwrap counts letters, not columns, and takes several times as long: a large site prints 100,000 such
    lines.
    """
    start, room = first.ljust(indent), width - indent
    sticky = _AMOUNT.sub(r"\1" + STICKY + r"\2", text)
    # Below this no letter takes two columns, and none combines with another.
    lines = _by_letters if max(text, default="") < "\u0300" else _by_columns
    for line in lines(sticky, room):
        yield start + line.replace(STICKY, " ")
        start = " " * indent


def hanging(text: str, width: int, start: str) -> Iterator[str]:
    """Yield a text in lines of a width that begins after `start`; what goes on below stands two columns
    further in."""
    before = cells(start)
    lines = wrapped(text, width - 2, before)
    yield start + next(lines, "")[before:]
    yield from (f"  {line}" for line in lines)


def _by_letters(text: str, room: int) -> Iterator[str]:
    while len(text) > room:
        cut = text.rfind(" ", 0, room + 1)
        end = cut if cut > 0 else room
        yield text[:end]
        text = text[end:].lstrip(" ")
    if text:
        yield text


def _by_columns(text: str, room: int) -> Iterator[str]:
    line: list[str] = []
    used = 0
    for word in text.split(" "):
        taken = cells(word)
        for part, columns in [(word, taken)] if taken <= room else _chopped(word, room):
            if line and used + 1 + columns > room:
                yield " ".join(line)
                line, used = [], 0
            if part:
                used += columns + (1 if line else 0)
                line.append(part)
    if line:
        yield " ".join(line)


def _chopped(word: str, room: int) -> list[tuple[str, int]]:
    """Return the parts of a word that is wider than a line, each with its columns."""
    from rich.cells import chop_cells

    return [(part, cells(part)) for part in chop_cells(word, room)]


STICKY = "\u00a0"
_AMOUNT = re.compile(r"(\d) (°C|°F|%|W|kg|g|L|cm|mm|m2|gal|lb|oz|in|kPa|psf|mg|mg/L|h|hours|days)(?![\w/])")
"""A number and its unit: a line does not end between them."""
