"""What a record does to the calendars: one entry moves, one is added, all others stay as they are to the byte."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from support.depth import examples
from support.recorded import history, load, planned

from scheduler import care, workflow
from scheduler.calendar import Options
from scheduler.calendar.text import escape
from scheduler.care import Every
from scheduler.history import NO_HISTORY, Entry, History
from scheduler.plan import occurrences
from scheduler.workflow.site_files import read_site

SAMPLES = Path(__file__).parents[2] / "sample_configs"
RECORDED = dt.datetime(2026, 12, 1, 12)  # noqa: DTZ001 - UTC, as the log keeps it
BEGUN = dt.date(2026, 12, 10)
EACH_JOB = Options(each_job=True)

TANK = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
not_logged = ["daily-look"]
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
filter = {kind = "canister"}
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm", arrived = 2026-12-12}]
"""


EACH_JOB = Options(each_job=True)


def export(
    plan: workflow.Planned,
    to: Path,
    options: Options = EACH_JOB,
    *,
    cancel: bool = False,
) -> bytes:
    """Write the calendars and return that of the site."""
    workflow.export(plan, to, options, keep_starts=True, cancel=cancel)
    stem = plan.site.settings.id + (".to-dos" if options.to_dos else "")
    return (to / f"{stem}.ics").read_bytes()


def entries(feed: bytes, kind: str = "VEVENT") -> dict[str, bytes]:
    """Return the entries of a feed by UID, as they stand."""
    blocks = re.findall(rb"^BEGIN:%b\r\n.*?^END:%b\r\n" % (kind.encode(), kind.encode()), feed, re.M | re.S)
    found = {re.search(rb"^UID:(\S+)", block, re.M)[1].decode(): block for block in blocks}  # type: ignore[index]
    assert len(found) == len(blocks)
    return found


def sequence(block: bytes) -> int:
    return int(re.search(rb"^SEQUENCE:(\d+)", block, re.M)[1])  # type: ignore[index]


def line(block: bytes, name: str) -> str:
    found = re.search(rb"^%b[^\r\n]*" % name.encode(), block, re.M)
    return found[0].decode() if found else ""


def done(job: care.Job, day: dt.date) -> Entry:
    enclosure, key, of = job.log_name
    return Entry(kind="done", enclosure=enclosure, name=key, of=of, day=day, recorded=RECORDED)


BASE = [Entry(kind="done", enclosure="nowhere", name="daily-look", day=BEGUN, recorded=RECORDED)]


@pytest.mark.parametrize("sample", ["one-tank", pytest.param("household", marks=pytest.mark.slow)])
def test_a_job_that_is_done_moves_its_own_entry_and_no_other(sample, tmp_path):
    """RFC 5545, section 3.8.7.4: the sequence number goes up with each revision; RFC 5546, section 2.1.4: the higher one
    is the newer one, and what has not changed has no new number."""
    site, today = read_site(SAMPLES / f"{sample}.toml"), dt.date(2026, 12, 14)
    moved = 0
    for job in care.jobs(site):
        if not isinstance(job.cadence, Every) or job.heavy or job.cadence.lasts:
            # A new lamp moves its order and its baseline too; filter service may keep off a change.
            continue
        folder = tmp_path / f"{job.enclosure.id}-{job.key}-{job.variant}"
        before = export(workflow.make_plan(site, today, today, 366, History(BEGUN, done=BASE)), folder)
        plan = workflow.make_plan(site, today, today, 366, History(BEGUN, done=[*BASE, done(job, today)]))
        after = export(plan, folder)
        old, new = entries(before), entries(after)
        changed = [uid for uid in old if uid in new and old[uid] != new[uid]]
        added = [uid for uid in new if uid not in old]
        gone = [uid for uid in old if uid not in new]
        assert len(added) == 1 and b"SUMMARY:Done: " in new[added[0]]
        # What was open is gone with what was done.
        assert all(b"Fell due on " in old[uid] for uid in gone)
        for uid in changed:
            assert sequence(new[uid]) == sequence(old[uid]) + 1
            assert line(new[uid], "CATEGORIES") == line(old[uid], "CATEGORIES")
            assert line(new[uid], "CATEGORIES").endswith(escape(job.short))
            assert line(new[uid], "DTSTAMP") > line(old[uid], "DTSTAMP")
            days = job.cadence.span.interval_days
            start = re.search(r"(\d{8})T", line(new[uid], "DTSTART"))
            assert start is not None
            if not any(k.weekdays for k in site.keepers):
                assert start[1] == f"{today + dt.timedelta(days=days):%Y%m%d}"
        moved += bool(changed)
    assert moved > 8


DONE = [
    "2026-12-12 did daily-look", "2026-12-13 did water-change", "2026-12-14 did feed", "2026-12-16 did feed",
    "2026-12-15 did basking-watch/2026-12-12", "2026-12-19 did weigh-measure",
]  # fmt: skip
BENT = [
    # One of each form: an interval, a day of a routine, another day of it, what is open, a single day, and what comes once.
    "2026-12-13 postponed water-change 2026-12-27/2026-12-30", "2026-12-14 skipped daily-look 2026-12-22",
    "2026-12-14 postponed feed/adult 2026-12-21/2026-12-22", "2026-12-19 postponed wipe-down 2026-12-13/2026-12-29",
    "2026-12-14 postponed basking-review/2026-12-12 2026-12-26/2026-12-29", "2026-12-20 postponed rcd-test 2026-12-15/2026-12-23",
    "2026-12-14 once mend-the-lid 2026-12-24",
]  # fmt: skip


@pytest.mark.reader
@pytest.mark.parametrize("lines", [DONE, [*DONE, *BENT]], ids=["as it was done", "bent by hand"])
def test_other_readers_see_what_jobs_lists(readers, tmp_path, lines):
    """The days from today on, and what is done, as recurring-ical-events and ical.js read them."""
    text = TANK.replace('not_logged = ["daily-look"]\n', "")
    for today in ("2026-12-14", "2026-12-20"):
        plan = planned(text, today, history("2026-12-12", [one for one in lines if one <= today]), days=40)
        export(plan, tmp_path)
    end = plan.today + dt.timedelta(days=39)
    found = occurrences(plan.site, plan.series, plan.today, end, plan.done)
    expected = sorted((o.day.isoformat(), o.job.short.casefold(), o.state) for o in found)
    since, until = f"{plan.today}T00:00:00Z", f"{end + dt.timedelta(days=1)}T00:00:00Z"
    for read in (readers.recurring_ical_events, readers.ical_js):
        seen = []
        for event in read([tmp_path / "fen-lane.ics"], since, until):
            state, title = read_title(event["summary"])
            seen.append((event["utc"][:10], title, state))
        # A day on which the series has its own occurrence shows that one, without a word about what was missed.
        own = {
            (o.day.isoformat(), o.job.short.casefold())
            for s in plan.series
            if s.open and s.open.own
            for o in [_own(s)]
        }
        assert sorted((d, t, "due" if (d, t) in own else s) for d, t, s in seen) == sorted(
            (d, t, "due" if (d, t) in own else s) for d, t, s in expected
        )
    bent = {(d, t) for d, t, _ in expected}
    if lines is not DONE:
        assert {
            ("2026-12-30", "water change"),
            ("2026-12-22", "feed"),
            ("2026-12-24", "mend the lid"),
        } <= bent
        assert (
            not {("2026-12-27", "water change"), ("2026-12-21", "feed"), ("2026-12-22", "daily look")} & bent
        )


def read_title(summary: str) -> tuple[str, str]:
    """Return the state that a title tells, and the work."""
    for word, state in (("Done: ", "done"), ("Late: ", "overdue")):
        if summary.startswith(word):
            return state, summary.removeprefix(word).casefold()
    return "due", summary.casefold()


def _own(series):
    from scheduler.plan import Occurrence

    return Occurrence(series.open.day, dt.time(7), series.job, series)


def test_twice_without_news_gives_the_same_bytes(tmp_path):
    found = history("2026-12-10", ["2026-12-13 did water-change", "2026-12-14 did feed"])
    first = export(planned(TANK, "2026-12-15", found, 366), tmp_path)
    assert export(planned(TANK, "2026-12-15", found, 366), tmp_path) == first
    # And the next day only what is open, and what will come after it, is news.
    next_day = planned(TANK, "2026-12-16", found, 366)
    old, new = entries(first), entries(export(next_day, tmp_path))
    news = {line(new[uid], "CATEGORIES").partition(",")[2] for uid in new if new[uid] != old.get(uid)}
    assert news and news <= {
        escape(series.job.short) for series in next_day.series if series.open is not None
    }
    assert len(news) < len({line(block, "CATEGORIES") for block in new.values()}) / 2


def test_what_is_overdue_stands_on_today_until_it_is_done(tmp_path):
    found = history("2026-12-10", ["2026-12-12 did daily-look", "2026-12-01 did wipe-down"])
    (uid,) = [
        u
        for u, b in entries(export(planned(TANK, "2026-12-12", found), tmp_path)).items()
        if b"SUMMARY:Late: wipe down\r\n" in b
    ]
    for today in ("2026-12-13", "2026-12-20", "2027-01-05"):
        feed = entries(export(planned(TANK, today, found), tmp_path))
        block = feed[uid]
        assert line(block, "DTSTART") == f"DTSTART;TZID=Europe/Dublin:{today.replace('-', '')}T073000"
        assert b"DESCRIPTION:Fell due on 8 December 2026 and was not recorded as done.\\n" in block.replace(
            b"\r\n ", b""
        )
    done_then = history("2026-12-10", ["2026-12-12 did daily-look", "2027-01-05 did wipe-down"])
    assert uid not in entries(export(planned(TANK, "2027-01-05", done_then), tmp_path))


def test_what_was_done_stays_for_60_days(tmp_path):
    found = history("2026-12-10", ["2026-12-13 did water-change"])
    name = next(
        u
        for u, b in entries(export(planned(TANK, "2026-12-13", found), tmp_path)).items()
        if b"SUMMARY:Done: water change\r\n" in b
    )
    last = entries(export(planned(TANK, "2027-02-11", found), tmp_path))
    assert b"Done on 13 December 2026" in last[name] and sequence(last[name]) == 0
    assert name not in entries(export(planned(TANK, "2027-02-12", found), tmp_path))


def test_a_done_day_is_taken_out_of_its_rule(tmp_path):
    """RFC 5545, section 3.8.5.1: EXDATE takes an instance out; here in the form of DTSTART, with its zone."""
    text = TANK.replace('["daily-look"]', '["feed"]')
    begun = ["2026-12-10 did daily-look", "2026-12-11 did daily-look"]
    export(planned(text, "2026-12-12", history("2026-12-10", begun)), tmp_path)
    # The 12th was missed: the rule keeps its start, and loses the 14th.
    feed = export(
        planned(text, "2026-12-14", history("2026-12-10", [*begun, "2026-12-14 did daily-look"])), tmp_path
    )
    (rule,) = [b for b in entries(feed).values() if b"SUMMARY:Look in\r\n" in b]
    assert line(rule, "DTSTART") == "DTSTART;TZID=Europe/Dublin:20261212T073000"
    assert line(rule, "EXDATE") == "EXDATE;TZID=Europe/Dublin:20261214T073000"
    event = next(e for e in Calendar.from_ical(feed).walk("VEVENT") if e["SUMMARY"] == "Look in")
    assert [d.dt.date() for d in event["EXDATE"].dts] == [dt.date(2026, 12, 14)]


def test_a_revision_is_later_than_the_one_before_even_with_the_clock_set_back(tmp_path):
    """RFC 5546, section 2.1.4: by the sequence number, then by DTSTAMP. LAST-MODIFIED of a feed never goes back."""
    states = [
        ("2026-12-15", []),
        ("2026-12-15", ["2026-12-15 did water-change"]),
        ("2026-12-13", ["2026-12-13 did water-change"]),
        ("2026-12-13", []),
    ]
    seen = []
    for today, lines in states:
        plan = planned(TANK, today, history("2026-12-10", ["2026-12-10 did feed", *lines]))
        feed = export(plan, tmp_path)
        (rule,) = [
            b for b in entries(feed).values() if b"SUMMARY:Water change\r\n" in b and b"\r\nRRULE:" in b
        ]
        assert line(rule, "DTSTAMP")[8:] == line(rule, "LAST-MODIFIED")[14:]
        seen.append((sequence(rule), line(rule, "DTSTAMP"), line(feed, "LAST-MODIFIED")))
    assert [n for n, _, _ in seen] == [0, 1, 2, 3]
    assert seen == sorted(seen) and len({stamp for _, stamp, _ in seen}) == 4
    assert len({modified for _, _, modified in seen}) == 4


def test_what_is_gone_is_cancelled_where_that_is_asked_for(tmp_path):
    """RFC 5545, section 3.8.1.11 (STATUS:CANCELLED) and RFC 5546, section 3.2.5: with a higher sequence number."""
    before = entries(export(planned(TANK, "2026-12-11", NO_HISTORY), tmp_path, cancel=True))
    without = TANK.replace('filter = {kind = "canister"}\n', "")
    after = entries(export(planned(without, "2026-12-12", NO_HISTORY), tmp_path, cancel=True))
    gone = {uid for uid, block in after.items() if b"STATUS:CANCELLED" in block}
    keys = {line(after[uid], "CATEGORIES").partition(",")[2] for uid in gone}
    assert keys == {"Filter check", "Rinse media", "Cords\\, hoses", "RCD test"}  # nothing electric is left
    for uid in gone:
        assert sequence(after[uid]) == sequence(before[uid]) + 1
        assert line(after[uid], "DTSTART") == line(before[uid], "DTSTART")
    # The same again while nothing changes, for 60 days; then they are gone.
    again = entries(export(planned(without, "2027-02-10", NO_HISTORY), tmp_path, cancel=True))
    assert {uid: again[uid] for uid in gone} == {uid: after[uid] for uid in gone}
    late = entries(export(planned(without, "2027-02-11", NO_HISTORY), tmp_path, cancel=True))
    assert not gone & late.keys()
    # Without the option they are just left out, and back in the plan they are planned again.
    assert not any(
        b"CANCELLED" in b for b in entries(export(planned(TANK, "2027-02-11", NO_HISTORY), tmp_path)).values()
    )


@pytest.mark.parametrize(
    ("zone", "hour", "utc"),
    [
        ("Europe/Dublin", "", "12:00"),
        ("Europe/Dublin", "23:40", "23:40"),
        ("Pacific/Auckland", "", "23:00 the day before"),
        ("Pacific/Auckland", "18:05", "05:05"),
        ("Pacific/Honolulu", "", "22:00"),
        ("Pacific/Honolulu", "19:30", "05:30 the day after"),
    ],
)
def test_to_dos_that_are_done_are_completed(tmp_path, zone, hour, utc):
    """RFC 5545, sections 3.8.1.11, 3.8.2.1 (COMPLETED in UTC) and 3.8.1.8; a program shows it on the day of the site."""
    text = TANK.replace("Europe/Dublin", zone)
    found = history("2026-12-10", [f"2026-12-13 {hour} did water-change"])
    feed = export(planned(text, "2026-12-13", found), tmp_path, Options(to_dos=True))
    finished = [t for t in Calendar.from_ical(feed).walk("VTODO") if t["STATUS"] == "COMPLETED"]
    assert [t["SUMMARY"] for t in finished] == ["Done: water change"]
    assert finished[0]["PERCENT-COMPLETE"] == 100
    moment = finished[0]["COMPLETED"].dt
    assert moment.utcoffset() == dt.timedelta(0)
    away = {-1: " the day before", 0: "", 1: " the day after"}[(moment.date() - dt.date(2026, 12, 13)).days]
    assert f"{moment:%H:%M}{away}" == utc
    assert moment.astimezone(ZoneInfo(zone)).date() == dt.date(2026, 12, 13)


KEYS = [job.key for job in care.jobs(load(TANK)) if not job.variant]


@settings(max_examples=examples(25))
@given(
    st.lists(st.tuples(st.integers(0, 40), st.sampled_from(KEYS)), max_size=25, unique=True),
    st.integers(20, 60),
    st.sampled_from(
        [Options(each_job=True), Options(each_job=True, all_day=True), Options(to_dos=True, alarms=True)]
    ),
)
def test_whatever_was_done_the_feed_is_whole(tmp_path_factory, events, days, options):
    folder = tmp_path_factory.mktemp("feeds")
    today = BEGUN + dt.timedelta(days=days)
    lines = [f"{BEGUN + dt.timedelta(days=n)} did {key}" for n, key in sorted(events) if n <= days]
    feed = export(planned(TANK, today.isoformat(), history(BEGUN.isoformat(), lines)), folder, options)
    parsed = Calendar.from_ical(feed)
    assert not any(component.errors for component in parsed.walk())
    assert len(parsed.walk(options.kind)) == len(entries(feed, options.kind)) > 5
