"""What the measures of calendars say of calendars that a person can count."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from follow_calendars import Importer, Store, Subscriber, differences
from measure_calendars import Figures, Works, rare_in_lines, told_apart
from shown_days import Shown, components, shown

MONDAY = dt.date(2026, 12, 7)
SEVEN = dt.time(7)
WORKS = Works(
    {"water change": "water-change", "water test": "water-test", "feed": "feed", "look in": "daily-look"},
    frozenset({"feed", "daily-look"}),
)


def titles(*some: str) -> list[Shown]:
    return [Shown(MONDAY, SEVEN, title, f"u{n}") for n, title in enumerate(some)]


def calendar(*entries: str) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//test//EN"]
    for entry in entries:
        uid, number, start, title, *more = entry.split("|")
        lines += ["BEGIN:VEVENT", f"UID:{uid}", "DTSTAMP:20261201T000000Z", f"SEQUENCE:{number}"]
        lines += [f"DTSTART:{start}", f"SUMMARY:{title}", *more, "END:VEVENT"]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


def view(entries: Iterable[object], days: int = 7) -> list[str]:
    return [
        f"{one.day:%a} {one.title}"
        for one in shown(entries, MONDAY, MONDAY + dt.timedelta(days=days - 1))  # type: ignore[arg-type]
    ]


def test_a_title_tells_its_work_where_the_cut_text_begins_no_other() -> None:
    by_place = titles("Tejo: water change", "Tejo: water test", "Tejo: feed")
    assert told_apart(by_place, WORKS, 5) == 0
    # "Tejo: wa" may be both; "Tejo: fe" is the feed.
    assert told_apart(by_place, WORKS, 8) == 1 / 3
    by_work = titles(
        "Water change", "Late: water change Den", "Des: Water change Den, 6 more", "Feed, look in"
    )
    assert told_apart(by_work, WORKS, 5) == 2 / 4
    assert told_apart(by_work, WORKS, 8) == 1
    # A round that names no work tells none; what holds none is not asked.
    rounds = [Shown(MONDAY, SEVEN, "2 jobs, 15 min", "r", note="1. Den: feed (10 min)\n   - Feed 4 g.")]
    assert told_apart([*rounds, *titles("Rounds planned to here")], WORKS, 20) == 0


def test_rare_work_is_seen_in_the_first_three_lines_of_a_day() -> None:
    day = titles("Feed, look in", "Look in: Den", "Feed: Rush", "Water change")
    assert rare_in_lines(day, WORKS) == 0
    assert rare_in_lines([day[3], *day[:3]], WORKS) == 1
    assert rare_in_lines([day[3], *day[:3], *titles("Look in", "Water test")], WORKS) == 1 / 2
    unnamed = Shown(MONDAY, SEVEN, "1 job, 35 min", "r", note="1. Den: water change (35 min)")
    assert rare_in_lines([unnamed], WORKS) == 0


def test_what_a_window_shows_of_a_rule_an_override_and_a_cancelled_entry() -> None:
    body = calendar(
        "a|0|20261201T070000Z|Feed|RRULE:FREQ=WEEKLY;BYDAY=MO,WE,FR|EXDATE:20261209T070000Z",
        "a|1|20261211T090000Z|Feed late|RECURRENCE-ID:20261211T070000Z",
        "b|0|20261208|Weigh",
        "c|0|20261208T070000Z|Gone|STATUS:CANCELLED",
    ).replace(b"DTSTART:20261208\r\n", b"DTSTART;VALUE=DATE:20261208\r\n")
    assert view(components(body)) == ["Mon Feed", "Tue Weigh", "Fri Feed late"]


def test_changes_are_counted_of_what_is_to_come_and_of_whole_files() -> None:
    figures = Figures()
    figures.take(
        calendar("a|0|20261207T070000Z|Feed", "b|0|20261220T070000Z|Weigh", "c|0|20261221T070000Z|Test"),
        MONDAY,
    )
    # The feed of yesterday is over: its leaving is none of what is to come. The test moved; a wipe is new.
    tuesday = MONDAY + dt.timedelta(days=1)
    figures.take(calendar("c|1|20261222T070000Z|Test", "d|0|20261222T070000Z|Wipe"), tuesday)
    assert figures.ahead == {"new": 1, "gone": 1, "changed": 1}
    assert figures.whole == {"new": 1, "gone": 2, "changed": 1}


def test_three_programs_follow_a_calendar_each_in_its_way() -> None:
    first = {"f": calendar("a|0|20261207T070000Z|Feed", "b|0|20261208T070000Z|Weigh")}
    second = {"f": calendar("a|0|20261209T070000Z|Feed", "c|0|20261210T070000Z|Wipe")}
    programs = Subscriber(), Importer(), Store()
    for one in programs:
        one.take(first)
        one.take(second)
    subscriber, importer, store = programs
    assert view(subscriber.entries()) == ["Wed Feed", "Thu Wipe"]
    assert view(importer.entries()) == ["Tue Weigh", "Wed Feed", "Thu Wipe"]
    # It moved without a higher number: who keeps revisions does not take it.
    assert view(store.entries()) == ["Mon Feed", "Thu Wipe"]
    assert store.refused == ["a changed, and its revision is not later"]


def test_an_entry_may_hold_several_jobs_and_each_job_has_to_stand_in_one() -> None:
    def line(day: str, job: str, uid: str, time: str = "07:00") -> dict[str, str]:
        return {
            "date": day, "time": time, "enclosure": "den", "job": job, "variant": "", "title": job, "state": "due", "uid": uid,
        }  # fmt: skip

    seen = [Shown(MONDAY, SEVEN, "Feed, look in", "r"), *titles("Weigh")]
    jobs = [
        line("2026-12-07", "feed", "r"),
        line("2026-12-07", "look in", "r"),
        line("2026-12-07", "weigh", "u0"),
    ]
    assert differences(jobs, seen) == []
    moved = line("2026-12-08", "weigh", "u0")
    assert differences([*jobs[:2], moved], seen, slack=1) == []
    assert differences([*jobs[:2], moved], seen) == [
        "not shown: 2026-12-08 den weigh, u0",
        "shown, and no job says it: 2026-12-07 Weigh, u0",
    ]
    other = line("2026-12-07", "wipe", "u0", "08:00")
    assert differences([*jobs[:2], other], seen) == [
        "at another hour than 08:00: 2026-12-07 den wipe, u0",
        "not named in its entry: 2026-12-07 den wipe, u0",
    ]
