"""What calendar readers of another origin find in a feed is what `pondround jobs` lists, occurrence for occurrence."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from support.feeds import read

from scheduler import workflow
from scheduler.calendar import Options, uid_of
from scheduler.calendar.titles import job_title, place_names
from scheduler.errors import DescriptionError
from scheduler.workflow import Planned

SAMPLES = sorted((Path(__file__).parents[2] / "sample_configs").glob("*.toml"))
SAMPLES = [file for file in SAMPLES if not file.name.endswith(".species.toml")]
TODAY = dt.date(2026, 12, 1)
TWO_YEARS = 731

FORMS = {
    "events": Options(each_job=True),
    "all-day": Options(each_job=True, all_day=True),
    "to-dos": Options(to_dos=True),
    "all-day to-dos": Options(to_dos=True, all_day=True),
}

# Cadences of every kind, on a site whose clocks are those of the zone.
OF_ALL_KINDS = """
[site]
name = "Fen Lane, {zone}"
time_zone = "{zone}"
start = 2026-03-02

[site.times]
morning = "04:00"
evening = "20:55"

[[keeper]]
name = "Noor"
weekdays = ["Sat", "Sun", "Wed"]

[[enclosure]]
name = "Sedge; \\\\ the “big” tank 🐢, by the window"
id = "sedge"
length = "150 cm"
width = "60 cm"
height = "60 cm"
water_depth = "52 cm"
set_up = 2026-03-05
cycled = true
[enclosure.filter]
kind = "canister"
flow = "2400 L/h"
media_trays = 4
[[enclosure.heater]]
set_to = "25 degC"
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "39 W"
installed = 2026-11-20
hours_a_day = 12
[[enclosure.resident]]
name = "Fern"
species = "Trachemys scripta"
sex = "female"
carapace = "14 cm"
mass = "480 g"
born = 2023-06-15
arrived = 2026-11-28
[enclosure.job.water-change]
every = "10 days"
window = "4 days"

[[enclosure]]
name = "Duties"
{duties}
"""
CADENCES = (
    'every = "1 day"', 'every = "2 days"', 'every = "9 days"', 'every = "6 weeks"', 'every = "1 month"',
    'every = "5 months"', 'every = "1 year"', 'every = "3 weeks"\nweekdays = ["Tue"]',
    'every = "1 month"\nweekdays = ["Sat", "Sun"]', 'every = "3 days"\nweekdays = ["Mon", "Tue", "Thu", "Sat"]\nwindow = "2 days"',
    "on = [2026-12-24, 2027-03-28, 2028-02-29]",
    *(
        f'rule = "{rule}"'
        for rule in (
            "FREQ=DAILY;COUNT=400", "FREQ=DAILY;INTERVAL=3;UNTIL=20270710T120000Z", "FREQ=DAILY;BYMONTH=4,10",
            "FREQ=WEEKLY", "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,FR", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=SU",
            "FREQ=WEEKLY;INTERVAL=3;BYDAY=SU;WKST=SU;UNTIL=20280301", "FREQ=MONTHLY", "FREQ=MONTHLY;BYMONTHDAY=31",
            "FREQ=MONTHLY;BYMONTHDAY=-1", "FREQ=MONTHLY;BYDAY=1SA", "FREQ=MONTHLY;INTERVAL=2;BYDAY=-1SU;COUNT=9",
            "FREQ=MONTHLY;BYMONTHDAY=1,15", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", "FREQ=MONTHLY;INTERVAL=5",
            "FREQ=YEARLY", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "FREQ=YEARLY;BYDAY=20MO", "FREQ=YEARLY;BYWEEKNO=20",
        )
    ),
)  # fmt: skip
ZONES = (
    ("Europe/Dublin", dt.date(2026, 12, 1)),
    ("America/New_York", dt.date(2027, 3, 14)),  # the day on which the clocks change there
    ("Australia/Lord_Howe", dt.date(2027, 4, 4)),  # by half an hour
    ("Asia/Kathmandu", dt.date(2026, 12, 31)),
    ("America/Santiago", dt.date(2027, 9, 4)),  # at midnight
    ("Africa/Casablanca", dt.date(2027, 2, 6)),  # by a table, not by a rule
    ("UTC", dt.date(2028, 2, 29)),
)


def of_all_kinds(zone):
    duties = "".join(
        f"""
[[enclosure.extra_job]]
key = "duty-{number}"
title = "duty {number}, a long name; so that it has to be folded – twice"
part = "{("morning", "evening")[number % 2]}"
minutes = {10 + 7 * number}
note = "one\\ntwo, three; four \\\\ five"
{cadence}
"""
        for number, cadence in enumerate(CADENCES)
    )
    return OF_ALL_KINDS.format(zone=zone, duties=duties)


@dataclass
class Trip:
    """One export: the plan that went out, and the files."""

    planned: Planned
    options: Options
    files: list[Path]

    def expected(self, file: Path) -> list[tuple]:
        """Return what a reader should find: (start, UTC, zone, UID, summary) of each occurrence of the file's enclosures."""
        site, options = self.planned.site, self.options
        stems = {f"{site.settings.id}-{e.id}": e.id for e in site.enclosures}
        enclosure = stems.get(file.name.removesuffix(".ics").removesuffix(".to-dos"))
        found, places = [], place_names(site)
        for o in workflow.days_of(self.planned, enclosure):
            uid = uid_of(site.settings.id, o.series, o.day, to_do=options.to_dos)
            title = job_title(o.job, places[o.job.enclosure.id])
            if options.all_day:
                found.append((f"{o.day}T00:00:00", None, None, uid, title))
            else:
                local = dt.datetime.combine(o.day, o.time)
                utc = local.replace(tzinfo=ZoneInfo(site.settings.time_zone)).astimezone(dt.UTC)
                found.append(
                    (local.isoformat(), f"{utc:%Y-%m-%dT%H:%M:%SZ}", site.settings.time_zone, uid, title)
                )
        return sorted(found, key=str)

    def found(self, reader, files: list[Path]) -> dict[str, list[tuple]]:
        """Return what a reader finds in the files, by file."""
        first, last = self.planned.first, self.planned.horizon
        # A day more on either side: the reader's bounds are instants, ours are local days.
        begin, end = first - dt.timedelta(days=2), last + dt.timedelta(days=2)
        by_file = defaultdict(list)
        for o in reader(files, f"{begin}T00:00:00Z", f"{end}T00:00:00Z"):
            if str(first) <= o["start"][:10] <= str(last):
                by_file[o["file"]].append((o["start"], o["utc"], o["tzid"], o["uid"], o["summary"]))
        return {file: sorted(list_, key=str) for file, list_ in by_file.items()}

    def check(self, reader, files: list[Path]) -> None:
        """Compare what a reader finds with what was planned; an empty file or plan proves nothing and is counted."""
        found = self.found(reader, files)
        for file in files:
            expected, seen = self.expected(file), found.get(str(file), [])
            if seen != expected:
                lacking, extra = (
                    sorted(set(expected) - set(seen), key=str),
                    sorted(set(seen) - set(expected), key=str),
                )
                pytest.fail(
                    f"{file.name}: {len(seen)} occurrences instead of {len(expected)}; lacking {lacking[:5]}, too many {extra[:5]}"
                )
        assert sum(map(len, found.values())) > 0


def trip(site, folder, options, first):
    planned = workflow.make_plan(site, first, first, TWO_YEARS)
    done = workflow.export(planned, folder, options, keep_starts=True)
    return Trip(planned, options, [path for path, _, _ in done.files])


@pytest.mark.reader
@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("zone", "first"), ZONES)
def test_cadences_of_every_kind_in_zones_of_every_kind(zone, first, form, tmp_path, readers):
    made = trip(read(tmp_path, of_all_kinds(zone)), tmp_path / "calendars", FORMS[form], first)
    assert len(made.files) == 3
    made.check(readers.ical_js, made.files)
    # The slower reader sees the site's own feed, which comes last and holds everything once more, in one form only.
    made.check(readers.recurring_ical_events, made.files if form == "events" else made.files[:-1])


@pytest.mark.reader
@pytest.mark.parametrize("form", ["events", "all-day", "to-dos"])
def test_an_export_over_an_earlier_one_says_the_same_from_today_on(form, tmp_path, readers):
    """Rules keep the start that they had in the earlier feed; what comes must not change by it."""
    site, first = read(tmp_path, of_all_kinds("Europe/Dublin")), dt.date(2026, 12, 1)
    trip(site, tmp_path / "calendars", FORMS[form], first)
    made = trip(site, tmp_path / "calendars", FORMS[form], first + dt.timedelta(days=39))
    made.check(readers.ical_js, made.files)
    made.check(readers.recurring_ical_events, made.files[:-1])


SLOW_FROM = 12
"""Enclosures from which on the slower reader takes a few files of a sample only."""


@pytest.mark.reader
@pytest.mark.parametrize("form", ["events", "all-day", "to-dos"])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda file: file.stem)
def test_the_samples(sample, form, tmp_path, readers):
    site = workflow.read_site(sample)
    made = trip(site, tmp_path, FORMS[form], TODAY)
    assert len(made.files) == len(site.enclosures) + 1
    made.check(readers.ical_js, made.files)
    small = len(site.enclosures) < SLOW_FROM
    made.check(readers.recurring_ical_events, made.files if small else made.files[:3])


# RFC 5545 says of a local time that the clocks skip both that it takes the offset before the gap (3.3.5) and that the
# instance is ignored (3.3.10), and readers differ; of one that comes twice that it means the first (3.3.5), and ical.js
# takes the second. Hours of the changes: IANA time zone database, 2026 to 2036.
@pytest.mark.parametrize(
    ("zone", "part", "time"),
    [
        ("Europe/Dublin", "morning", "01:30"),
        ("America/New_York", "morning", "02:30"),
        ("Australia/Lord_Howe", "morning", "02:15"),
        ("America/Havana", "morning", "00:30"),
        ("Pacific/Chatham", "morning", "03:00"),
        ("America/Santiago", "evening", "23:30"),
        ("America/Nuuk", "evening", "23:30"),
        ("Africa/Cairo", "evening", "23:30"),
        ("Asia/Beirut", "evening", "23:30"),
        ("Pacific/Easter", "evening", "21:30"),
        ("Pacific/Easter", "evening", "22:30"),
    ],
)
def test_a_start_that_the_clocks_skip_or_repeat_is_refused(zone, part, time, tmp_path):
    toml = f"""
[site]
name = "Fen Lane"
time_zone = "{zone}"
[site.times]
{part} = "{time}"
[[enclosure]]
name = "Sedge"
"""
    with pytest.raises(DescriptionError) as refused:
        read(tmp_path, toml)
    assert [problem.where for problem in refused.value.problems] == [f"site.times.{part}"]
