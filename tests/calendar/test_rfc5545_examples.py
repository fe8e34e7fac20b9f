"""Every example of RFC 5545, section 3.8.5.3, from a description to calendar readers of another origin.

The sub-daily ones are refused: see tests/test_rules.py.
"""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from readers.rfc5545_examples import DAYS, ZONE
from support.feeds import NOTHING_ELSE, plan, read

from scheduler import workflow
from scheduler.calendar import Options

AFTER_THE_LAST = 3 * 366
"""Days to look for instances after the last that the RFC prints, where it prints all."""


def planned(example, folder):
    site = read(
        folder,
        f"""
        [site]
        name = "RFC 5545"
        time_zone = "{ZONE}"
        start = {example.start.date()}

        [site.times]
        morning = "{example.start:%H:%M}"

        [[enclosure]]
        name = "Example"

        {NOTHING_ELSE}

        [[enclosure.extra_job]]
        key = "example"
        title = "{example.name}"
        rule = "{example.rule}"
        """,
    )
    first, last = example.start.date(), example.days[-1]
    return plan(site, first, (last - first).days + 1 + (AFTER_THE_LAST if example.whole else 0))


@pytest.mark.parametrize("example", DAYS, ids=str)
def test_the_plan_has_the_dates_that_the_rfc_prints(example, tmp_path):
    found = workflow.days_of(planned(example, tmp_path))
    assert [dt.datetime.combine(o.day, o.time) for o in found] == list(example.instances)


@pytest.fixture(scope="module")
def feeds(tmp_path_factory):
    """Export every example; the site's feed and the enclosure's."""
    found = {}
    for example in DAYS:
        folder = tmp_path_factory.mktemp(example.name)
        done = workflow.export(planned(example, folder), folder, Options(each_job=True))
        found[example.name] = [path for path, _, _ in done.files]
    return found


@pytest.fixture(scope="module")
def seen(feeds, readers):
    """Have both readers list all feeds: reader -> file -> occurrences."""
    files = [file for pair in feeds.values() for file in pair]
    found = {}
    for reader in (readers.ical_js, readers.recurring_ical_events):
        by_file = found.setdefault(reader.__name__, {str(file): [] for file in files})
        for occurrence in reader(files, "1996-01-01T00:00:00Z", "2012-01-01T00:00:00Z"):
            by_file[occurrence["file"]].append(occurrence)
    return found


@pytest.mark.reader
@pytest.mark.parametrize("example", DAYS, ids=str)
@pytest.mark.parametrize("reader", ["ical_js", "recurring_ical_events"])
def test_a_reader_finds_in_the_feed_the_dates_that_the_rfc_prints(example, reader, feeds, seen):
    zone = ZoneInfo(ZONE)
    expected = [
        (local.isoformat(), f"{local.replace(tzinfo=zone).astimezone(dt.UTC):%Y-%m-%dT%H:%M:%SZ}", ZONE)
        for local in example.instances
    ]
    for file in feeds[example.name]:
        found = sorted((o["start"], o["utc"], o["tzid"]) for o in seen[reader][str(file)])
        if not example.whole:
            found = [o for o in found if o[0] <= expected[-1][0]]
        assert found == expected, file.name
