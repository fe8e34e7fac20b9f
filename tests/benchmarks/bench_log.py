"""A log of a million entries in SQLite and PostgreSQL: import, what a plan reads, the cold start of a record.

Each table begins with what ten million additions take, since seconds alone say as much about the machine's other work.

Run by hand: python tests/benchmarks/bench_log.py [entries of the log]
"""

from __future__ import annotations

import datetime as dt
import gc
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.servers import programs, running

from scheduler.history import Entry, Kind, Looks
from scheduler.log import open_log

ENCLOSURES = 500
TODAY = dt.date(2026, 12, 1)
SITE = "reed-house"

EVERY = {
    # days between two entries of an enclosure: jobs
    1: "daily-look",
    2: "feed",
    7: "water-test top-up",
    14: "water-change",
    28: "wipe-down filter-check lamp-clean uvi-reading weigh-measure cuttlebone rcd-test heater-check",
    84: "media-rinse cord-check space-review supplies",
    182: "faecal-test lamp-timer cold-season-check",
    364: "uv-lamp-replace burn-in-baseline vet-check fit-out pre-arrival-check basking-review quarantine-release",
}
EVERY_READING = {
    3: "temperature",
    7: "nitrate ammonia nitrite ph basking",
    28: "uvi weight",
    84: "length",
}
LAMPS, ANIMALS = ("uv-1", "uv-2"), ("fern", "moss")
OF_LAMPS = {"lamp-clean", "uv-lamp-replace", "burn-in-baseline", "uvi-reading", "uvi"}
OF_ANIMALS = {"weigh-measure", "faecal-test", "vet-check", "weight", "length"}
SUPPLIES = ("pellets", "conditioner", "test kit", "cuttlebone")


def variants(name: str, tank: int) -> tuple[str, ...]:
    """Return what a job or a reading of an enclosure is of: one or two lamps, one or two animals, the supplies."""
    if name in OF_LAMPS:
        return LAMPS[: 1 + (tank % 4 == 0)]
    if name in OF_ANIMALS:
        return ANIMALS[: 1 + tank % 2]
    return SUPPLIES if name == "supplies" else ("",)


def entries(count: int) -> Iterator[Entry]:
    """Yield so many entries, day by day, the last of today; one in 200 is taken back."""
    jobs: list[tuple[Kind, str, int]] = [
        ("done", n, days) for days, some in EVERY.items() for n in some.split()
    ]
    names = jobs + [("reading", n, days) for days, some in EVERY_READING.items() for n in some.split()]
    a_day = sum(len(variants(name, tank)) / every for _, name, every in names for tank in range(ENCLOSURES))
    days = round(count / a_day)
    made = 0
    for n in range(days, -1, -1):
        day = TODAY - dt.timedelta(n)
        recorded = dt.datetime.combine(day, dt.time(18, 30))
        for tank in range(ENCLOSURES):
            for kind, name, every in names:
                if (n + tank + len(name)) % every:
                    continue
                for of in variants(name, tank):
                    entry = Entry(
                        kind=kind,
                        enclosure=f"tank-{tank:03}",
                        name=name,
                        of=of,
                        day=day,
                        value=20 + (n % 17) / 4 if kind == "reading" else None,
                        keeper="Noor",
                        title=name.replace("-", " "),
                        minutes=15,
                        note="all well" if made % 7 == 0 else "",
                        recorded=recorded,
                    )
                    yield entry
                    made += 1
                    if made % 200 == 0:
                        yield replace(entry, kind="void", value=None, voids=entry.uid(SITE))


def back(days: int) -> dt.date:
    """Return the day so many days ago."""
    return TODAY - dt.timedelta(days)


LOOKS = Looks(
    done=dict.fromkeys(["water-change", "water-test", "faecal-test", "media-rinse"], back(120)),
    readings={
        **dict.fromkeys(["nitrate", "ammonia", "nitrite", "ph"], back(120)),
        **dict.fromkeys(["temperature", "basking"], back(30)),
        **dict.fromkeys(["uvi", "weight", "length"], back(400)),
    },
)


def seconds(what: Callable[[], object], rounds: int = 5) -> str:
    """Return the median and the longest of some rounds, as text."""
    taken = []
    for _ in range(rounds):
        begin = time.perf_counter()
        what()
        taken.append(time.perf_counter() - begin)
    return f"{statistics.median(taken):7.3f} s, at most {max(taken):.3f} s"


COLD = """
import datetime as dt, sys
from scheduler.history import Entry
from scheduler.log import open_log
with open_log(sys.argv[1]) as log:
    now = dt.datetime(2026, 12, 1, 18, 30)
    log.record("reed-house", [Entry(kind="done", enclosure="tank-001", name="top-up", day=now.date(), recorded=now)], again=True)
"""


def additions() -> None:
    """Add ten million times."""
    total = 0
    for n in range(10_000_000):
        total += n


def measure(name: str, url: str, count: int) -> None:
    """Print a table for one database."""
    print(f"{name}: ten million additions {seconds(additions, 3)}")
    begin = time.perf_counter()
    with open_log(url) as log:
        added, _ = log.join(SITE, entries(count))
    print(f"  {added:,} entries, imported in {time.perf_counter() - begin:.1f} s")
    with open_log(url, create=False) as log:

        def one() -> None:
            log.history(SITE, TODAY, LOOKS, ["tank-250"])

        found = log.history(SITE, TODAY, LOOKS)
        rows = sum(
            len(found.measured(f"tank-{t:03}")) + len(list(found.done(f"tank-{t:03}")))
            for t in range(ENCLOSURES)
        )
        print(
            f"  history of the site, {len(found.last):,} names, {rows:,} entries  {seconds(lambda: log.history(SITE, TODAY, LOOKS))}"
        )
        shown = Looks(done=LOOKS.done, readings=LOOKS.readings, all_done=back(60))
        print(f"  with all that was done in 60 days  {seconds(lambda: log.history(SITE, TODAY, shown))}")
        print(f"  of half a year ago  {seconds(lambda: log.history(SITE, back(180), LOOKS))}")
        print(f"  history of one enclosure  {seconds(one)}")
        print(f"  latest, first  {seconds(lambda: (log.latest(SITE), log.first(SITE)))}")
        print(
            f"  the last 50 of one job  {seconds(lambda: list(log.entries(SITE, names=['vet-check'], last=50)))}"
        )
        print(f"  all entries, streamed  {seconds(lambda: sum(1 for _ in log.entries(SITE)), 1)}")
    command = [sys.executable, "-c", COLD, url]
    print(f"  a record from a cold start  {seconds(lambda: subprocess.run(command, check=True), 9)}")
    bare = [
        sys.executable,
        "-c",
        f"import sqlalchemy, sqlalchemy.dialects.{name}{', psycopg' * (name != 'sqlite')}",
    ]
    print(f"  a process that only imports  {seconds(lambda: subprocess.run(bare, check=True), 9)}")


def main() -> None:
    """Measure both databases; PostgreSQL where it is installed. The collector is set as the command sets it."""
    gc.set_threshold(200_000, 20, 20)
    count = int(sys.argv[1]) if sys.argv[1:] else 1_000_000
    with tempfile.TemporaryDirectory() as folder:
        measure("sqlite", f"sqlite:///{folder}/log.db", count)
    found = programs()
    if found is None:
        print("postgresql: not installed")
        return
    with running(found) as server:
        measure("postgresql", server.url(), count)


if __name__ == "__main__":
    main()
