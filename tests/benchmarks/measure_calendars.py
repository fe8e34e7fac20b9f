"""What a month, a week and a day look like: how full, what can be read, and what changes from day to day.

Run by hand: python tests/benchmarks/measure_calendars.py [one-tank] [household] [rescue] [--days 61] [--seed 0]
[--feed STEM]... [--export OPTION]... Without samples all three, which takes some 15 minutes; without feeds those that
people look at: the site's, and of the household and the rescue two keepers' and one's.

Figures of the first 28 days, as the calendar of the first day shows them: entries a day, in the mean and the most;
the most at one minute (whole days are one minute); the share of entries with rare work that stand in the three lines of a
month, the fourth being "N more", with a title that names that work; the share of entries of which a title's first 5 and 8
characters tell the work. They do where they reach into the name of the work that the title leads with, and what they
show of it begins no other work with which a title of the file leads. Kilobytes and entries are of the file of the first
day.

New, gone, changed: from day to day, in the mean, by UID. First of what is to come: an entry is new or gone that shows
something within 90 days from today on, and changed where that, or its words, are others; one that stays in the file is not
gone (a rule that ended). Then of whole files, by their text without stamps: what was done counts there, and a rule
whose start moves on. Below each line: on how many days of a year the fullest part of the day has at most so many entries.
"""

from __future__ import annotations

import argparse
import datetime as dt
import re
import time
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from icalendar import Component
from kept_days import DAY, FIRST, VIEW_DAYS, Kept
from shown_days import Shown, components, contents, shown

SAMPLES = ("one-tank", "household", "rescue")
KEEPERS = {"household": ("Opal", "Desmond"), "rescue": ("Bronwen",)}
"""The keepers whose calendars are measured: a child, a grown-up; a volunteer of three days a week."""

LINES = 3
AHEAD_DAYS = 90
YEAR_DAYS = 365
CHANGES = ("new", "gone", "changed")
ROW = "{:<28}{:>6}{:>6}{:>8}{:>10}{:>7}{:>7}{:>7}{:>9}{:>23}{:>23}"
HEAD = ROW.format(
    "feed", "a day", "most", "minute", "rare in 3", "by 5", "by 8", "kB", "entries", "new / gone / changed", "in whole files"
)  # fmt: skip


LISTED = re.compile(r"\s*(?:\d+\.|\[.?\]) ")
"""How a line of a note begins that lists a job of several."""


@dataclass(frozen=True)
class Works:
    """The works of a site: their names with the key of each, the keys that come all the time, and those in an entry, by UID."""

    keys: Mapping[str, str]
    routine: frozenset[str]
    holds: Mapping[str, set[str]] = field(default_factory=dict)

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        names = sorted(self.keys, key=len, reverse=True)
        return re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, names))})(?!\w)")

    def named(self, text: str) -> list[tuple[int, str]]:
        """Return where works are named in a text, in order; of names at one place the longest, and none within another."""
        return [(match.start(), match[0]) for match in self._pattern.finditer(text.lower())]

    def held(self, one: Shown) -> set[str]:
        """Return the keys of the works in an entry: what is known of its UID, else its categories, else what it lists."""
        if one.uid in self.holds:
            return self.holds[one.uid]
        if own := set(one.categories) & set(self.keys.values()):
            return own
        lines = [line for line in one.note.splitlines() if LISTED.match(line)]
        return {self.keys[name] for text in (one.title, *lines) for _, name in self.named(text)}

    def rare(self, one: Shown) -> set[str]:
        """Return the keys of the rare works in an entry."""
        return self.held(one) - self.routine

    def names_rare(self, title: str) -> bool:
        """Tell whether a title names a rare work."""
        return any(self.keys[name] not in self.routine for _, name in self.named(title))


@dataclass
class Figures:
    """What is measured of one feed."""

    view: list[Shown] = field(default_factory=list)
    year: list[Shown] = field(default_factory=list)
    size: int = 0
    entries: int = 0
    texts: dict[str, str] = field(default_factory=dict)
    held: list[Component] = field(default_factory=list)
    days: int = 0
    ahead: Counter[str] = field(default_factory=Counter)
    whole: Counter[str] = field(default_factory=Counter)

    def take(self, body: bytes, today: dt.date) -> None:
        """Take the file of a morning: the first one is looked at, each is held against the one before."""
        texts, held = contents(body), components(body)
        if not self.size:
            self.view = shown(held, today, today + (VIEW_DAYS - 1) * DAY)
            self.year = shown(held, today, today + (YEAR_DAYS - 1) * DAY)
            self.size, self.entries = len(body), len(texts)
        else:
            self.days += 1
            self.whole["new"] += len(texts.keys() - self.texts.keys())
            self.whole["gone"] += len(self.texts.keys() - texts.keys())
            self.whole["changed"] += sum(
                texts[uid] != self.texts[uid] for uid in texts.keys() & self.texts.keys()
            )
            self._compare(held, today)
        self.texts, self.held = texts, held

    def _compare(self, held: list[Component], today: dt.date) -> None:
        """Count the changes in what is to come."""
        end = today + AHEAD_DAYS * DAY
        (was, were), (now, are) = (_to_come(entries, today, end) for entries in (self.held, held))
        self.ahead["new"] += len(now.keys() - were)
        self.ahead["gone"] += len(was.keys() - are)
        both = were & are & (was.keys() | now.keys())
        self.ahead["changed"] += sum(was.get(uid) != now.get(uid) for uid in both)

    def row(self, name: str, works: Works) -> str:
        """Return a line of the table."""
        each_day = Counter(one.day for one in self.view)
        each_minute = Counter((one.day, one.time) for one in self.view)
        told = [told_apart(self.view, works, length) for length in (5, 8)]
        ahead, whole = (
            " / ".join(f"{some[kind] / max(1, self.days):.2f}" for kind in CHANGES)
            for some in (self.ahead, self.whole)
        )
        return ROW.format(
            name,
            f"{len(self.view) / VIEW_DAYS:.1f}",
            max(each_day.values(), default=0),
            max(each_minute.values(), default=0),
            percent(rare_in_lines(self.view, works)),
            *map(percent, told),
            f"{self.size / 1000:.0f}",
            self.entries,
            ahead,
            whole,
        )


def _to_come(
    entries: list[Component], today: dt.date, end: dt.date
) -> tuple[dict[str, list[Shown]], set[str]]:
    """Return what each entry shows from today to the end, by its UID, and the UIDs of all."""
    found: dict[str, list[Shown]] = {}
    for one in shown(entries, today, end):
        found.setdefault(one.uid, []).append(one)
    return found, {str(one["UID"]) for one in entries}


def rare_in_lines(view: Iterable[Shown], works: Works) -> float | None:
    """Return the share of entries with rare work that a month shows by the name of that work."""
    rare = seen = 0
    line: Counter[dt.date] = Counter()
    for one in view:
        line[one.day] += 1
        if works.rare(one):
            rare += 1
            seen += line[one.day] <= LINES and works.names_rare(one.title)
    return seen / rare if rare else None


def told_apart(view: Iterable[Shown], works: Works, length: int) -> float | None:
    """Return the share of entries of which the first characters tell with which work the title leads.

    Entries that hold no work at all are left out.
    """
    leads = [(one.title, next(iter(works.named(one.title)), None)) for one in view if works.held(one)]
    names = {lead[1] for _, lead in leads if lead is not None}
    told = 0
    for title, lead in leads:
        cut = title[:length].lower()[lead[0] :].rstrip() if lead is not None else ""
        told += bool(cut) and sum(name.startswith(cut) or is_word_of(name, cut) for name in names) == 1
    return told / len(leads) if leads else None


def alarms(view: Iterable[Shown]) -> str:
    """Return how often a calendar rings, by the starts of what rings; nothing where it never does."""
    rings: Counter[tuple[dt.date, dt.time | None]] = Counter()
    for one in view:
        rings[one.day, one.time] += one.alarms
    total = rings.total()
    return (
        f"{'':<4}alarms: {total / VIEW_DAYS:.1f} a day, at most {max(rings.values())} at a minute"
        if total
        else ""
    )


def by_parts(year: Iterable[Shown], works: Works, evening: dt.time, first: dt.date) -> str:
    """Return how full the parts of a day are over a year: entries with rare work, and entries.

    Whole days are a part of their own; a day counts with its fullest part.
    """
    rare: Counter[tuple[dt.date, str]] = Counter()
    whole: Counter[tuple[dt.date, str]] = Counter()
    for one in year:
        part = "day" if one.time is None else "evening" if one.time >= evening else "morning"
        whole[one.day, part] += 1
        rare[one.day, part] += bool(works.rare(one))
    days = [first + n * DAY for n in range(YEAR_DAYS)]
    said = []
    for name, some in (("rare", rare), ("all", whole)):
        fullest = Counter(max(some[day, part] for part in ("day", "morning", "evening")) for day in days)
        up_to = {most: sum(n for count, n in fullest.items() if count <= most) for most in (1, 2, 3, 4)}
        told = ", ".join(f"{most}: {n}" for most, n in up_to.items())
        said.append(f"{name} at most {told}; most {max(fullest)}")
    return f"{'':<4}in a part of a day, of {YEAR_DAYS} days: " + " | ".join(said)


def is_word_of(name: str, cut: str) -> bool:
    """Tell whether a cut text goes on after the name of a work."""
    return cut.startswith(name) and not cut[len(name)].isalnum()


def percent(share: float | None) -> str:
    """Return a share as it stands in the table."""
    return "-" if share is None else f"{share:.0%}"


def measure(sample: str, days: int, seed: int, feeds: Iterable[str], options: Iterable[str]) -> Iterable[str]:
    """Yield the lines of one sample."""
    begun = time.perf_counter()
    kept = Kept(sample, seed)
    try:
        site, keepers = kept.site.settings.id, {k.name: k.id for k in kept.site.keepers}
        people = KEEPERS.get(sample, ())
        names = {stem: stem for stem in feeds} or {site: f"{sample} site"} | {
            f"{site}-{keepers[name]}.rounds": f"{sample} {name}" for name in people
        }
        holds: dict[str, set[str]] = {}
        for line in kept.jobs():
            holds.setdefault(line["uid"], set()).add(line["job"])
        works = Works(kept.works, frozenset(filter(kept.routine, kept.works.values())), holds)
        figures = {stem: Figures() for stem in names}
        for morning in kept.days(days):
            written = morning.feeds(*options)
            for stem, found in figures.items():
                if stem not in written:
                    raise SystemExit(f"there is no {stem}.ics; there are {', '.join(written)}")
                found.take(written[stem], morning.today)
        for stem, found in figures.items():
            yield found.row(names[stem], works)
            if ringing := alarms(found.view):
                yield ringing
            yield by_parts(found.year, works, kept.site.settings.time_of("evening"), FIRST)
    finally:
        kept.close()
    yield f"{'':<28}  {time.perf_counter() - begun:.0f} s"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("samples", nargs="*", metavar="SAMPLE", help=", ".join(SAMPLES))
    parser.add_argument("--days", type=int, default=61)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument(
        "--feed", action="append", default=[], metavar="STEM", help="a file without its ending"
    )
    parser.add_argument("--export", action="append", default=[], metavar="OPTION", help="--export=--all-day")
    told = parser.parse_args()
    print(HEAD)
    for sample in told.samples or SAMPLES:
        for line in measure(sample, told.days, told.seed, told.feed, told.export):
            print(line, flush=True)


if __name__ == "__main__":
    main()
