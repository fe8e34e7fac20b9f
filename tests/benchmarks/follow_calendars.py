"""Programs that keep calendars over some weeks, held each morning against what `pondround jobs` says.

Run by hand: python tests/benchmarks/follow_calendars.py [one-tank|household|rescue] [--days 61] [--seed 0] [--slack N]
[--feed STEM]... [--export OPTION]... Without feeds the enclosures' calendars are followed, which together hold each job once.

Three programs take each morning's files in: one that subscribes, and shows the file of the day; one that imports, and keeps
what it once took unless it is cancelled or its rule ends (its files are exported with `--cancel`); and one that keeps a
store by UID, takes an entry where its SEQUENCE is higher, or the same and its LAST-MODIFIED later, and drops what left the
file. From today on each has to show what `jobs` says, by day, hour and UID, in words that name the job; and the latter two
what the first one shows. A job may be shown up to `slack` days from its own, where a rota gives it another.
"""

from __future__ import annotations

import argparse
import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, Protocol

from icalendar import Component
from kept_days import DAY, VIEW_DAYS, Kept
from shown_days import Shown, components, shown

Key = tuple[str, str, str]
"""(file, UID, day of an override or nothing)"""


class Client(Protocol):
    """A program that follows calendars."""

    def take(self, files: Mapping[str, bytes]) -> None:
        """Take the files of a morning in, by their names."""
        ...

    def entries(self) -> Iterable[Component]:
        """Return the entries that it has."""
        ...


class Subscriber:
    """Shows the file as it was last fetched, and nothing else."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.held: dict[Key, Component] = {}

    def take(self, files: Mapping[str, bytes]) -> None:
        """Put the new files in the place of the old ones."""
        self.held = dict(_keyed(files))

    def entries(self) -> Iterable[Component]:
        """Return the entries of the last files."""
        return self.held.values()


class Importer(Subscriber):
    """Takes entries in and never drops one; what is cancelled or ended shows by what it says."""

    def take(self, files: Mapping[str, bytes]) -> None:
        """Put each entry in the place of the one with its UID."""
        self.held.update(_keyed(files))


class Store(Subscriber):
    """Keeps revisions: an entry is replaced by a later one alone, and goes when the file has it no more."""

    def __init__(self) -> None:
        """Begin with nothing."""
        super().__init__()
        self.last: dict[Key, tuple[int, dt.datetime]] = {}
        self.refused: list[str] = []

    def take(self, files: Mapping[str, bytes]) -> None:
        """Take later revisions in; one that changed without being later is noted in `refused`, and not taken."""
        new = dict(_keyed(files))
        before, self.held, self.refused = self.held, {}, []
        for key, entry in new.items():
            revision = _revision(entry)
            if key not in self.last or revision > self.last[key]:
                self.held[key], self.last[key] = entry, revision
            elif key in before:
                self.held[key] = before[key]
                if entry.to_ical() != before[key].to_ical():
                    self.refused.append(f"{key[1]} changed, and its revision is not later")
            elif revision == self.last[key]:
                self.held[key] = entry
            else:
                self.refused.append(f"{key[1]} came back with an earlier revision")


def _keyed(files: Mapping[str, bytes]) -> Iterator[tuple[Key, Component]]:
    for file, body in files.items():
        for entry in components(body):
            override = entry["RECURRENCE-ID"].to_ical().decode() if "RECURRENCE-ID" in entry else ""
            yield (file, str(entry["UID"]), override), entry


def _revision(entry: Component) -> tuple[int, dt.datetime]:
    modified = entry.get("LAST-MODIFIED") or entry["DTSTAMP"]
    return int(entry.get("SEQUENCE", 0)), modified.dt


def differences(
    jobs: Sequence[Mapping[str, Any]],
    view: Iterable[Shown],
    *,
    slack: int = 0,
    names: Mapping[str, Collection[str]] | None = None,
    ignored: Callable[[Shown], bool] = lambda _: False,
) -> list[str]:
    """Return where a window does not show what `jobs --format json` says from today on: nothing where they agree.

    An entry may hold several jobs. Each job that is to be done has to stand in an entry with its UID, at its hour (unless
    that is for the whole day) and on its day, or up to `slack` days away, and in words that name it by one of its `names`
    (by key; without, by its title). Each entry that is not `ignored` has to hold a job.
    """
    found = []
    by_uid: dict[str, list[Shown]] = {}
    held: set[tuple[str, dt.date]] = set()
    seen = list(view)
    for one in seen:
        by_uid.setdefault(one.uid, []).append(one)
    for line in jobs:
        if line["state"] == "done":
            continue
        due, what = (
            dt.date.fromisoformat(line["date"]),
            f"{line['enclosure']} {line['job']} {line['variant']}".strip(),
        )
        near = [one for one in by_uid.get(line["uid"], ()) if abs((one.day - due).days) <= slack]
        if not near:
            found.append(f"not shown: {due} {what}, {line['uid']}")
            continue
        held.update((one.uid, one.day) for one in near)
        if all(one.time is not None and f"{one.time:%H:%M}" != line["time"] for one in near):
            found.append(f"at another hour than {line['time']}: {due} {what}, {line['uid']}")
        said = [line["title"], *(names or {}).get(line["job"], ())]
        if not any(word.lower() in f"{one.title}\n{one.note}".lower() for one in near for word in said):
            found.append(f"not named in its entry: {due} {what}, {line['uid']}")
    for one in seen:
        if (one.uid, one.day) not in held and not ignored(one):
            found.append(f"shown, and no job says it: {one.day} {one.title}, {one.uid}")
    return found


def apart(other: Iterable[Shown], subscribed: Iterable[Shown]) -> list[str]:
    """Return what two windows show differently, whatever it means."""
    mine, theirs = set(other), set(subscribed)
    return [
        *(f"shown, and the subscriber does not: {o.day} {o.title}, {o.uid}" for o in sorted(mine - theirs)),
        *(f"shown to the subscriber alone: {o.day} {o.title}, {o.uid}" for o in sorted(theirs - mine)),
    ]


def follow(
    sample: str, days: int, seed: int, feeds: Collection[str], options: Sequence[str], slack: int
) -> Iterator[tuple[dt.date, str, str]]:
    """Yield the differences: day, program, what differs."""
    plain, cancelling = Kept(sample, seed), Kept(sample, seed)
    try:
        site = plain.site.settings.id
        names: dict[str, list[str]] = {}
        for words, key in plain.works.items():
            names.setdefault(key, []).append(words)
        subscriber, importer, store = Subscriber(), Importer(), Store()
        for one, other in zip(plain.days(days), cancelling.days(days), strict=True):
            today, jobs = one.today, one.jobs()
            last = today + (VIEW_DAYS - 1) * DAY
            stems = feeds or [f"{site}-{enclosure.id}" for enclosure in one.site.enclosures]
            files, kept = one.feeds(*options), other.feeds("--cancel", *options)
            subscriber.take({stem: files[stem] for stem in stems})
            store.take({stem: files[stem] for stem in stems})
            importer.take({stem: kept[stem] for stem in stems})
            views = {
                "subscriber": shown(subscriber.entries(), today, last),
                "importer": shown(importer.entries(), today, last),
                "store": shown(store.entries(), today, last),
            }
            for name, view in views.items():
                yield from ((today, name, text) for text in differences(jobs, view, slack=slack, names=names))
                yield from ((today, name, text) for text in apart(view, views["subscriber"]))
            yield from ((today, "store", text) for text in store.refused)
    finally:
        plain.close()
        cancelling.close()


def main() -> None:
    """Print each difference, and how many there are."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("sample", nargs="?", default="household")
    parser.add_argument("--days", type=int, default=61)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--slack", type=int, default=0)
    parser.add_argument(
        "--feed", action="append", default=[], metavar="STEM", help="a file without its ending"
    )
    parser.add_argument("--export", action="append", default=[], metavar="OPTION", help="--export=--all-day")
    told = parser.parse_args()
    count = 0
    for day, name, text in follow(told.sample, told.days, told.seed, told.feed, told.export, told.slack):
        count += 1
        print(f"{day} {name}: {text}", flush=True)
    print(f"{told.sample}, {told.days} days: {count} differences")


if __name__ == "__main__":
    main()
