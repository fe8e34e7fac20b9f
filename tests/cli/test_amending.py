"""`postpone`, `skip`, `once` and `away` in whole conversations, what they refuse, and what is kept of them."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from icalendar import Calendar
from support import conversations
from support.conversations import conversation

from scheduler.history import Entry
from scheduler.sheets.entries import record_of

TODAY = "2026-12-07"
"""A Monday."""

KEEPERS = """\
[[keeper]]
name = "Noor"
weekdays = ["Mon", "Wed", "Fri", "Sun"]
[[keeper]]
name = "Ines"
"""

ALONE = """
[site]
name = "Reed End"
time_zone = "Europe/Dublin"
[site.tap_water]
nitrate = "5 mg/L"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister", flow = "1400 L/h"}
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm", mass = "300 g", measured = 2026-11-20}]
feed = {protein = 0.4, grams = 3}
[[enclosure.extra_job]]
key = "pane"
title = "wipe the pane"
rule = "FREQ=WEEKLY;BYDAY=TU,FR"
[[enclosure]]
name = "Nook"
set_up = 2026-11-20
resident = [{name = "Bryony", species = "common musk turtle", quarantine = true, arrived = 2026-12-01}]
"""
REED_END = ALONE.replace("[[enclosure]]", f"{KEEPERS}[[enclosure]]", 1)


@pytest.fixture
def reed_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand beside a description, at a terminal of 80 columns, without a log."""
    (tmp_path / "enclosures.toml").write_text(REED_END, "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    return tmp_path


run = partial(conversations.run, today=TODAY)
ok = partial(conversations.ok, today=TODAY)


def days(key: str, *, count: int = 30, today: str = TODAY) -> list[str]:
    """Return the days of a job."""
    listed = (json.loads(line) for line in ok(f"jobs --days {count} --format json", today=today).splitlines())
    return [one["date"] for one in listed if one["job"] == key and one["enclosure"] == "sedge"]


def test_a_week_as_it_reads(reed_end: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-07 did sedge water-change --by noor",
        "2026-12-07 postpone sedge pane --to thursday --by noor --note 'no cloth'",
        "2026-12-07 postpone sedge pane --to thursday --by noor --note 'no cloth'",
        "2026-12-07 jobs --from 2026-12-10 --days 1 --enclosure sedge",
        "2026-12-07 skip sedge pane --on 2026-12-15 --dry-run",
        "2026-12-07 once sedge 'Mend the lid' --on saturday --minutes 30 --can lifting --note 'The spare hinge is in the drawer.'",
        "2026-12-08 postpone sedge water-change --to 2027-01-04 --by ines",
        "2026-12-08 skip nook quarantine-watch --by ines",
        "2026-12-10 postpone sedge pane --to 2026-12-11 --by ines",
        "2026-12-12 did sedge mend --by noor",
        "2026-12-12 history",
        "2026-12-12 undo --entry 2",
        "2026-12-12 undo --entry 4",
    )
    golden("a-bent-week.txt", said)


def test_who_is_away_as_it_reads(reed_end: Path, golden: Callable[[str, str], None]) -> None:
    said = conversation(
        "2026-12-07 rota --weeks 2 --publish",
        "2026-12-07 away enclosures.toml noor wednesday/friday --note 'a cold' --dry-run",
        "2026-12-07 away enclosures.toml noor wednesday/friday --note 'a cold' --by ines",
        "2026-12-07 rota",
        "2026-12-07 away enclosures.toml noor wednesday/friday --note 'a cold' --by ines",
        "2026-12-07 away enclosures.toml noor --back friday --by ines",
        "2026-12-07 away enclosures.toml noor --back friday --by ines",
        "2026-12-07 history",
    )
    golden("who-is-away.txt", said)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("postpone sedge pane --to 2026-12-06", "is over; today is"),
        ("postpone sedge pane --to yesterday", "is over; today is"),
        ("postpone sedge pane --to 2029-01-01", "is more than a year away"),
        ("postpone sedge pane --to 2026-12-08", "comes on 8 December 2026 anyway; nothing changes"),
        ("postpone sedge pane --to 2026-12-11", "comes on 11 December 2026 anyway; choose a day before that"),
        ("postpone sedge pane --to 2026-12-14", "comes on 11 December 2026 anyway; choose a day before that"),
        ("postpone sedge pane --to someday", '"someday" is not a date'),
        (
            "postpone sedge pane --on 2026-12-09 --to 2026-12-10",
            "has no wipe the pane on 9 December 2026; it comes on",
        ),
        ("postpone sedge pane --on 2026-12-01 --to 2026-12-10", "is over; record what was done then"),
        (
            "postpone sedge water-change --on 2026-12-27 --to 2026-12-29",
            "counts from the day on which it was last done",
        ),
        ("postpone sedge juggling --to tomorrow", 'there is no enclosure and no job "juggling"'),
        ("postpone sedge pane daily-look --to 2026-12-09", "one job at a time"),
        ("skip nook quarantine-watch", "It must not wait: it belongs to quarantine"),
        (
            "once sedge 'Mend the lid' --on 2026-12-01",
            "is over; what was done then can be written down as a note",
        ),
        (
            "once sedge 'Mend the lid' --on 2029-12-01",
            "is more than a year away; write it into the description",
        ),
        ("once sedge '' --on tomorrow", "title"),
        ("once sedge 'Mend the lid' --on tomorrow --minutes 0", "minutes"),
        ("once sedge 'Mend the lid' --on tomorrow --can 'Heavy!'", "expected a skill in small letters"),
        ("once sedge 'wipe the pane' --on tomorrow", "Sedge has the job wipe the pane already"),
        ("once 'Mend the lid' --on tomorrow", "name the enclosure: Nook, Sedge"),
        ("once a b c --on tomorrow", "write the enclosure and what is to be done, in quotes"),
        ("away enclosures.toml noor 2026-12-01", "is over; today is"),
        ("away enclosures.toml noor 2026-12-09/2026-12-08", "ends before it begins"),
        ("away enclosures.toml noor 2026-12-09/2029-12-08", "more than 366 days"),
        ("away enclosures.toml nobody 2026-12-09", 'there is no keeper "nobody"'),
        ("away enclosures.toml noor --back tomorrow", "Noor is not away on 8 December 2026 or later"),
        ("away enclosures.toml noor 2026-12-09 --back tomorrow", "not both"),
    ],
)
def test_what_is_refused(reed_end: Path, line: str, said: str) -> None:
    code, out, err = run(line)
    assert (code, out) == (2, "")
    assert said in " ".join(err.split())
    assert not (reed_end / "enclosures.db").exists()


def test_what_must_not_wait_is_asked_about_twice(reed_end: Path) -> None:
    ok("skip nook quarantine-watch --by ines --sure")
    assert json.loads(ok("history --format json"))["kind"] == "skipped"


def test_a_dry_run_records_nothing_and_says_what_the_real_one_does(reed_end: Path) -> None:
    for line in (
        "postpone sedge pane --to thursday",
        "skip sedge water-change",
        "once sedge 'Mend the lid' --on saturday",
    ):
        before = ok("history --format json")
        thought = ok(f"{line} --dry-run")
        assert ok("history --format json") == before
        assert ok(line) == thought


def test_words_for_days(reed_end: Path) -> None:
    """Of what is to come a weekday is the next one, of what was done the last one."""
    ok("postpone sedge pane --to Wednesday")
    assert days("pane", count=6) == ["2026-12-09", "2026-12-11"]
    ok("did sedge daily-look --on yesterday")
    ok("did sedge daily-look --on Sat")
    ok("did sedge daily-look --on Monday")
    recorded = [json.loads(line) for line in ok("history --format json").splitlines()]
    assert [one["date"] for one in recorded if one["kind"] == "done"] == ["2026-12-06", "2026-12-05", TODAY]


def test_undo_inverts_each_and_a_chain_goes_from_its_end(reed_end: Path) -> None:
    ok("did sedge daily-look")
    before = ok("jobs --days 40 --format json")
    ok("postpone sedge pane --to wednesday")
    ok("postpone sedge pane --to thursday")
    code, _, err = run("undo --entry 2")
    assert code == 2 and "entry 3 has bent it further since; take that back first: undo --entry 3" in err
    assert days("pane", count=5) == ["2026-12-10", "2026-12-11"]
    ok("undo")
    assert days("pane", count=5) == ["2026-12-09", "2026-12-11"]
    ok("undo --entry 2")
    assert ok("jobs --days 40 --format json") == before


def test_an_export_comes_back_with_all_of_it(reed_end: Path, tmp_path: Path) -> None:
    ok("postpone sedge pane --to thursday --note 'no cloth'")
    ok("skip sedge water-change")
    ok("once sedge 'Mend the lid' --on saturday --can lifting")
    run("away enclosures.toml noor wednesday")
    before = ok("jobs --days 40 --format json"), ok("rota --weeks 2 --format json --seconds 5")
    for form in ("json", "csv"):
        exported = tmp_path / f"log.{form}"
        exported.write_text(ok(f"history --format {form}"), "utf-8", newline="")
        (tmp_path / "enclosures.db").rename(tmp_path / f"{form}.db")
        ok(f"history --import {exported}")
        assert (ok("jobs --days 40 --format json"), ok("rota --weeks 2 --format json --seconds 5")) == before


def test_what_was_put_off_says_from_when_and_why(reed_end: Path) -> None:
    """In JSON and in the calendar of its enclosure, and of what was put off twice from which day at first."""
    ok("postpone sedge pane --to wednesday --note 'no cloth'")
    ok("postpone sedge pane --to thursday --note 'still none'")
    (line,) = [
        one
        for one in map(json.loads, ok("jobs --days 5 --format json").splitlines())
        if one["date"] == "2026-12-10" and one["job"] == "pane"
    ]
    assert line["notes"].startswith("Put off from 8 December 2026: still none")
    (reed_end / "enclosures.toml").write_text(ALONE, "utf-8")
    ok("export --to calendars")
    calendar = Calendar.from_ical((reed_end / "calendars/reed-end-sedge.ics").read_bytes())
    events = [event for event in calendar.walk("VEVENT") if "wipe the pane" in event["SUMMARY"].casefold()]
    told = {event["DTSTART"].dt.date(): str(event["DESCRIPTION"]).splitlines()[0] for event in events}
    assert told[dt.date(2026, 12, 10)] == "Put off from 8 December 2026: still none"
    assert "Put off" not in "".join(text for day, text in told.items() if day != dt.date(2026, 12, 10))


@pytest.mark.parametrize(
    ("kind", "given"),
    [
        ("postponed", ""), ("postponed", "2026-12-08"), ("postponed", "soon/later"), ("postponed", "2026-12-08/1970-01-01"),
        ("skipped", "2026-12-08/2026-12-10"), ("skipped", "9999-12-31"), ("once", "lifting"), ("once", ""),
        ("away", "2026-12-08"), ("away", "2026-12-10/2026-12-08"), ("away", "2026-12-08/2226-12-08"),
    ],
)  # fmt: skip
def test_an_import_of_no_days_is_refused(reed_end: Path, tmp_path: Path, kind: str, given: str) -> None:
    """With the line, and the log is as it was: a plan that rested on it could not be made."""
    ok("did sedge daily-look")
    before = ok("history --format json")
    entry = Entry(
        kind=kind,  # type: ignore[arg-type]
        enclosure="sedge",
        name="pane",
        day=dt.date(2026, 12, 7),
        given=given,
        recorded=dt.datetime(2026, 12, 7, 9),  # noqa: DTZ001 - UTC, as the log keeps it
    )
    exported = tmp_path / "log.json"
    exported.write_text(json.dumps(record_of("reed-end", entry)), "utf-8")
    code, _, err = run(f"history --import {exported}")
    assert code == 2 and f'given: found "{given}", expected ' in err
    assert ok("history --format json") == before


def test_days_that_a_failing_disk_wrote_are_told(reed_end: Path) -> None:
    ok("postpone sedge pane --to wednesday")
    run("away enclosures.toml noor wednesday")
    for kind in ("postponed", "away"):
        with sqlite3.connect(reed_end / "enclosures.db") as connection:
            connection.execute("UPDATE entry SET given = 'x' WHERE kind = ?", [kind])
        connection.close()
        code, _, err = run("rota --weeks 1 --seconds 1")
        assert code == 1 and "is damaged" in err
        with sqlite3.connect(reed_end / "enclosures.db") as connection:
            connection.execute("UPDATE entry SET given = '2026-12-08/2026-12-09' WHERE kind = ?", [kind])
        connection.close()


def test_two_who_bend_one_job_at_once(reed_end: Path) -> None:
    """The second one is told: the plan that it rests on is no more."""
    from scheduler import workflow
    from scheduler.errors import UsageError
    from scheduler.history import JobRef
    from scheduler.workflow.record.amendments import amendment_of, keep
    from scheduler.workflow.record.standing import standing_before
    from scheduler.workflow.site_log import open_to_record

    space = workflow.open_workspace(reed_end / "enclosures.toml", TODAY)
    one, other = (standing_before(space) for _ in range(2))
    who = workflow.Who(as_of=space.today)
    wishes = [workflow.AmendmentWish(to=dt.date(2026, 12, day)) for day in (9, 10)]
    with open_to_record(space.file, space.site) as log:
        for before, wish in zip((one, other), wishes, strict=True):
            entry, _ = amendment_of(before.planned, JobRef("sedge", "pane"), wish, who, sure=False)
            if before is one:
                assert keep(log, space.site, entry, before.seen)[1]
                assert not keep(log, space.site, entry, before.seen)[1]
            else:
                with pytest.raises(UsageError, match="somebody recorded wipe the pane meanwhile"):
                    keep(log, space.site, entry, before.seen)
    assert days("pane", count=5) == ["2026-12-09", "2026-12-11"]


def test_who_is_away_takes_nothing_and_nobody_else_comes(reed_end: Path) -> None:
    """The list of what a keeper can take, and what is said of a day on which nobody comes."""
    run("away enclosures.toml noor wednesday/friday --by ines")
    listed = [
        json.loads(line)["date"] for line in ok("jobs --days 7 --keeper noor --format json").splitlines()
    ]
    assert set(listed) == {"2026-12-07", "2026-12-13"}
    run("away enclosures.toml ines wednesday/thursday --by ines")
    said = run("postpone sedge pane --to thursday --dry-run")[2]
    assert "nobody who can do it comes on Thursday 10 December 2026; somebody does on Friday 11" in said


def test_somebody_else_did_it(reed_end: Path) -> None:
    """The keeper of an entry is corrected, its note and its value stay, and both are seen in the history."""
    ok("did sedge water-change --by noor --share 0.3 --note 'cold tap'")
    said = run("did sedge water-change --by ines --correct")
    assert said == (
        0,
        "Sedge: water change, 30 %, done by Ines on 7 December 2026.\n  next on Friday 18 December 2026\n",
        "it was recorded as done by Noor\n",
    )
    recorded = [json.loads(line) for line in ok("history --format json").splitlines()]
    assert [(one["kind"], one["keeper"], one["voided"]) for one in recorded] == [
        ("done", "noor", True),
        ("void", "ines", False),
        ("done", "ines", False),
    ]
    assert (recorded[2]["value"], recorded[2]["note"]) == (0.3, "cold tap")
    # Said twice it is known; without a name it says nothing.
    assert "was recorded for 7 December 2026 already" in ok("did sedge water-change --by ines --correct")
    assert run("did sedge water-change --correct")[0] == 2
    assert len(ok("history --format json").splitlines()) == 3


def test_a_round_on_another_day_of_the_same_keeper(reed_end: Path) -> None:
    run("rota --weeks 2 --publish")

    def rounds() -> dict[str, set[str]]:
        made = json.loads(run("rota --format json")[1])["rounds"]
        return {one["date"]: {job["job"] for job in one["jobs"]} for one in made if one["keeper"] == "Noor"}

    before = rounds()
    day = next(day for day, jobs in before.items() if "wipe-down" in jobs)
    weekday = dt.date.fromisoformat(day)
    for other in (weekday + dt.timedelta(days=n) for n in (-1, 1, 2, -2)):
        code, _, err = run(f"swap enclosures.toml {day} noor noor wipe-down --to {other}")
        if code == 0:
            assert "wipe-down" in rounds()[f"{other}"] and "wipe-down" not in rounds().get(day, set())
            break
        assert any(word in err for word in ("window", "does not come", "min on", "is over")), err
    else:
        raise AssertionError("no day of the window took it")
    # All or nothing: the daily look of that round is for that day alone.
    held = rounds()
    code, _, err = run("swap enclosures.toml 2026-12-09 noor noor --to 2026-12-11")
    assert code == 2 and "it has no window: it is for that day alone" in err
    assert rounds() == held
    assert "name that one twice" in run("swap enclosures.toml 2026-12-09 noor ines --to 2026-12-11")[2]
    assert "another day of theirs is named by --to" in run("swap enclosures.toml 2026-12-09 noor noor")[2]
