"""Recurrence rules against RFC 5545, section 3.3.10, its own examples, and dateutil."""

import calendar
import datetime as dt
from dataclasses import replace
from itertools import islice
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import rrulestr
from hypothesis import example, given, settings
from hypothesis import strategies as st
from readers.rfc5545_examples import DAYS, EXAMPLES, SUB_DAILY, ZONE
from support.depth import examples

from scheduler.rules import MOST_INSTANCES, RuleError, parse

NEW_YORK = ZoneInfo(ZONE)
FOR_EVER = dt.date(2100, 1, 1)


def test_all_42_examples_of_the_rfc_are_looked_at():
    assert (len(DAYS), len(SUB_DAILY), len(EXAMPLES)) == (37, 5, 42)


@pytest.mark.parametrize("example", DAYS, ids=str)
def test_an_example_of_the_rfc_gives_the_dates_that_the_rfc_prints(example):
    rule = parse(example.rule).ending(NEW_YORK, example.start.time())
    found = rule.dates(example.start.date(), FOR_EVER)
    if example.whole:
        assert list(found) == example.days
    else:
        assert list(islice(found, len(example.days))) == example.days


@pytest.mark.parametrize(
    ("number", "message", "hint"),
    [
        (
            "35",
            "found FREQ=HOURLY, but a job is due at most once a day",
            "write FREQ=DAILY, or two extra jobs",
        ),
        (
            "36",
            "found FREQ=MINUTELY, but a job is due at most once a day",
            "write FREQ=DAILY, or two extra jobs",
        ),
        (
            "37",
            "found FREQ=MINUTELY, but a job is due at most once a day",
            "write FREQ=DAILY, or two extra jobs",
        ),
        ("38", "found BYHOUR, but a job has one start a day", "leave it out; site.times says"),
        ("39", "found BYHOUR, but a job has one start a day", "leave it out; site.times says"),
    ],
)
def test_a_sub_daily_example_of_the_rfc_is_refused_with_a_reason(number, message, hint):
    (example,) = [e for e in SUB_DAILY if e.name.endswith(number)]
    with pytest.raises(RuleError) as refused:
        parse(example.rule)
    assert (refused.value.message, refused.value.hint[: len(hint)]) == (message, hint)


@pytest.mark.parametrize(
    ("text", "message", "source"),
    [
        ("", 'found "", expected NAME=VALUE', "recur = recur-rule-part, 3.3.10"),
        ("DAILY", 'found "DAILY", expected NAME=VALUE', "recur-rule-part is NAME=VALUE, 3.3.10"),
        ("FREQ=", 'found "FREQ=", expected NAME=VALUE', "recur-rule-part is NAME=VALUE, 3.3.10"),
        ("FREQ=DAILY;", 'found "", expected NAME=VALUE', "no empty part in the grammar of 3.3.10"),
        ("INTERVAL=2", 'found FREQ=""', "FREQ is REQUIRED, 3.3.10"),
        ("FREQ=FORTNIGHTLY", 'found FREQ="FORTNIGHTLY"', "the seven values of freq, 3.3.10"),
        ("FREQ=DAILY;FREQ=DAILY", "found FREQ twice", "each part at most once, 3.3.10"),
        ("FREQ=DAILY;INTREVAL=2", 'found the unknown part "INTREVAL"', "recur-rule-part, 3.3.10"),
        ("FREQ=DAILY;SKIP=OMIT", 'found the unknown part "SKIP"', "RFC 7529, which few readers know"),
        ("FREQ=DAILY;INTERVAL=0", 'found INTERVAL="0"', "a positive integer, 3.3.10"),
        ("FREQ=DAILY;INTERVAL=1.5", 'found INTERVAL="1.5"', "1*DIGIT, 3.3.10"),
        ("FREQ=DAILY;COUNT=0", 'found COUNT="0"', "house rule: a job that never falls due is a slip"),
        ("FREQ=DAILY;COUNT=99999", 'found COUNT="99999"', "house limit of 10,000 instances"),
        (
            "FREQ=DAILY;COUNT=2;UNTIL=20270101",
            "found COUNT and UNTIL together",
            "MUST NOT occur together, 3.3.10",
        ),
        ("FREQ=DAILY;UNTIL=tomorrow", 'found UNTIL="TOMORROW"', "enddate = date / date-time, 3.3.10"),
        ("FREQ=DAILY;UNTIL=20270230", 'found UNTIL="20270230"', "there is no 30 February"),
        ("FREQ=DAILY;UNTIL=2027-01-01", 'found UNTIL="2027-01-01"', "date = 8DIGIT, 3.3.4"),
        ("FREQ=WEEKLY;BYDAY=XX", 'found BYDAY="XX"', "weekday, 3.3.10"),
        (
            "FREQ=WEEKLY;BYDAY=1MO",
            "found BYDAY=1MO with FREQ=WEEKLY",
            "MUST NOT be specified with a numeric value",
        ),
        (
            "FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO",
            "found BYDAY=1MO with FREQ=YEARLY",
            "not with BYWEEKNO, 3.3.10",
        ),
        ("FREQ=MONTHLY;BYDAY=0MO", 'found BYDAY="0MO"', "ordwk is 1 to 53, 3.3.10"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "found BYMONTHDAY=0", "ordmoday is 1 to 31, 3.3.10"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", 'found BYMONTHDAY="32"', "ordmoday is 1 to 31, 3.3.10"),
        ("FREQ=YEARLY;BYMONTH=13", 'found BYMONTH="13"', "monthnum is 1 to 12, 3.3.10"),
        ("FREQ=YEARLY;BYWEEKNO=54", 'found BYWEEKNO="54"', "ordwk is 1 to 53, 3.3.10"),
        ("FREQ=YEARLY;BYYEARDAY=-367", 'found BYYEARDAY="-367"', "ordyrday is 1 to 366, 3.3.10"),
        ("FREQ=WEEKLY;BYMONTHDAY=1", "BYMONTHDAY must not go with FREQ=WEEKLY", "table of BYxxx, 3.3.10"),
        ("FREQ=DAILY;BYYEARDAY=1", "BYYEARDAY goes only with FREQ=YEARLY", "table of BYxxx, 3.3.10"),
        ("FREQ=MONTHLY;BYWEEKNO=1", "BYWEEKNO goes only with FREQ=YEARLY", "table of BYxxx, 3.3.10"),
        (
            "FREQ=MONTHLY;BYSETPOS=1",
            "BYSETPOS needs another BY part",
            "MUST only be used with another, 3.3.10",
        ),
        ("FREQ=WEEKLY;WKST=8", 'found WKST="8"', "weekday, 3.3.10"),
        ("FREQ=DAILY" + ";" * 500, "found a rule of 510 characters", "house limit of 500"),
        ("FREQ=DAILY;INTERVAL=٣", 'found INTERVAL="٣"', "DIGIT is ASCII, RFC 5234, appendix B.1"),
        ("FREQ=DAILY;UNTIL=٢٠٢٧٠١٠١", 'found UNTIL="٢٠٢٧٠١٠١"', "DIGIT is ASCII, RFC 5234, appendix B.1"),
    ],
)
def test_what_the_rfc_forbids_is_refused(text, message, source):
    with pytest.raises(RuleError) as refused:
        parse(text)
    assert refused.value.message.startswith(message), source
    assert refused.value.hint


# Until when does a job at 09:00 in New York (EST, UTC-5, in December) run?
@pytest.mark.parametrize(
    ("until", "last", "source"),
    [
        ("20261224", dt.date(2026, 12, 24), "a date is the last day, 3.3.10"),
        ("20261224T140000Z", dt.date(2026, 12, 24), "the very instant of 09:00 is included, 3.3.10"),
        ("20261224T135959Z", dt.date(2026, 12, 23), "a second before it is not"),
        ("20261224T000000Z", dt.date(2026, 12, 23), "as in example 2 of 3.8.5.3"),
        ("20261225T030000Z", dt.date(2026, 12, 24), "22:00 on the 24th in New York"),
        ("20261224T090000", dt.date(2026, 12, 24), "without Z a keeper means local time"),
        ("20261224T085959", dt.date(2026, 12, 23), "without Z a keeper means local time"),
    ],
)
def test_an_end_given_as_an_instant_becomes_the_last_day(until, last, source):
    rule = parse(f"FREQ=DAILY;UNTIL={until}").ending(NEW_YORK, dt.time(9))
    assert list(rule.dates(dt.date(2026, 12, 1), FOR_EVER))[-1] == last, source


def test_a_rule_that_still_ends_at_an_instant_is_not_expanded():
    with pytest.raises(ValueError, match="give zone and start"):
        list(parse("FREQ=DAILY;UNTIL=20261224T140000Z").dates(dt.date(2026, 12, 1), FOR_EVER))


@pytest.mark.parametrize(
    "text",
    [
        "freq=weekly;byday=mo,fr",
        "RRULE:FREQ=WEEKLY;BYDAY=MO,FR",
        " FREQ=WEEKLY ; BYDAY=FR,MO ",
        "BYDAY=MO,FR,MO;FREQ=WEEKLY",
    ],
)
def test_case_order_and_blanks_do_not_matter(text):
    assert parse(text) == parse("FREQ=WEEKLY;BYDAY=MO,FR")


# The vocabulary that calendar programs agree on: measured over twelve readers, and what Exchange maps
# ([MS-OXCICAL], section 2.1.3.2: templates with a single BYMONTHDAY or a single numbered weekday).
@pytest.mark.parametrize(
    ("text", "start", "portable"),
    [
        ("FREQ=DAILY", None, True),
        ("FREQ=DAILY;INTERVAL=3", None, True),
        ("FREQ=DAILY;BYDAY=MO", None, False),
        ("FREQ=DAILY;BYMONTH=1", None, False),
        ("FREQ=WEEKLY", None, True),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH", None, True),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=SU", None, False),
        ("FREQ=WEEKLY;BYDAY=TU,SU;WKST=SU", None, True),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=TU;WKST=SU", None, True),
        ("FREQ=WEEKLY;BYMONTH=5", None, False),
        ("FREQ=MONTHLY;BYDAY=1SA", None, True),
        ("FREQ=MONTHLY;BYDAY=-1SU", None, True),
        ("FREQ=MONTHLY;BYDAY=SU", None, False),
        ("FREQ=MONTHLY;BYDAY=1SA,3SA", None, False),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", None, True),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", None, False),
        ("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", None, False),
        ("FREQ=YEARLY", dt.date(2027, 3, 1), True),
        ("FREQ=YEARLY", dt.date(2028, 2, 29), False),
        ("FREQ=YEARLY;BYMONTH=3;BYDAY=1SU", dt.date(2027, 3, 1), False),
        ("FREQ=YEARLY;BYWEEKNO=20", dt.date(2027, 3, 1), False),
        ("FREQ=YEARLY;BYYEARDAY=100", dt.date(2027, 3, 1), False),
    ],
)
def test_which_rules_calendar_programs_agree_on(text, start, portable):
    why = parse(text).unportable(start)
    assert (why == "") is portable, why


# --- against dateutil ---

WEEKDAYS = st.sampled_from(["MO", "TU", "WE", "TH", "FR", "SA", "SU"])


def _list(values, most=4):
    return st.lists(values, min_size=1, max_size=most, unique=True).map(lambda v: ",".join(map(str, v)))


def _signed(most):
    return st.integers(-most, most).filter(bool)


@st.composite
def rule_texts(draw):
    """Rules of every form that RFC 5545, section 3.3.10, allows, daily or slower."""
    freq = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]))
    parts = {"FREQ": freq, "INTERVAL": draw(st.integers(1, 5))}
    some = {"BYDAY": _list(WEEKDAYS), "BYMONTH": _list(st.integers(1, 12)), "WKST": WEEKDAYS}
    if freq != "WEEKLY":
        # To 28, so that the rule happens at all: the reference would search for a 31 February to the year 9999.
        some["BYMONTHDAY"] = _list(_signed(28))
    if freq == "MONTHLY":
        some["BYDAY"] |= _list(st.tuples(_signed(5), WEEKDAYS).map(lambda d: f"{d[0]}{d[1]}"))
    if freq == "YEARLY":
        # Not 52 and 53 from either end: there the reference errs (see the test of ISO 8601's weeks).
        some |= {"BYYEARDAY": _list(_signed(366)), "BYWEEKNO": _list(_signed(51))}
    for name in draw(st.lists(st.sampled_from(sorted(some)), max_size=3, unique=True)):
        parts[name] = draw(some[name])
    if any(name.startswith("BY") for name in parts) and draw(st.booleans()):
        parts["BYSETPOS"] = draw(_list(_signed(1 if freq in ("DAILY", "WEEKLY") else 4), 2))
    if draw(st.booleans()):
        parts["COUNT"] = draw(st.integers(1, 40))
    return ";".join(f"{name}={value}" for name, value in parts.items())


TOO_FAR = "BYSETPOS counts further than a period of the rule has days"


@pytest.mark.parametrize("text", ["FREQ=DAILY;BYDAY=MO;BYSETPOS=2", "FREQ=WEEKLY;BYDAY=MO,TU;BYSETPOS=3,-4"])
def test_a_place_that_no_period_has_is_refused(text):
    """dateutil would look for such a day in every period up to the year 9999."""
    with pytest.raises(RuleError, match=TOO_FAR):
        parse(text)


@settings(deadline=None)
@given(text=rule_texts(), start=st.dates(dt.date(2020, 1, 1), dt.date(2031, 12, 31)))
def test_a_rule_gives_the_same_days_as_dateutil(text, start):
    end = start + dt.timedelta(days=1500)
    reference = rrulestr(text, dtstart=dt.datetime.combine(start, dt.time()))
    expected = [m.date() for m in reference.between(_midnight(start), _midnight(end), inc=True)]
    try:
        rule = parse(text)
    except RuleError as error:
        assert error.message == TOO_FAR and expected == []
        return
    assert list(rule.dates(start, end)) == expected


def iso_weeks(day):
    """Return the number of a day's week in its year by ISO 8601, and the number from the end (the last is -1)."""
    year, week, _ = day.isocalendar()
    # 28 December is in the last week of its year (ISO 8601: week 1 has 4 January).
    return {week, week - dt.date(year, 12, 28).isocalendar().week - 1}


@settings(deadline=None)
@given(
    weeks=st.lists(
        _signed(53) | st.sampled_from([1, 52, 53, -1, -52, -53]), min_size=1, max_size=3, unique=True
    ),
    months=st.lists(st.integers(1, 12), max_size=3, unique=True),
    weekdays=st.lists(st.integers(0, 6), max_size=2, unique=True),
    interval=st.integers(1, 3),
    start=st.dates(dt.date(2018, 1, 1), dt.date(2031, 12, 31)),
)
# 1 January 2021 is in week 53 of 2020, the last one; 1 January 2022 in week 52, which dateutil 2.9 takes for 53;
# 30 December 2024 is in the first week of 2025, the 52nd from its end, which dateutil passes over.
@example(weeks=[-1], months=[1], weekdays=[], interval=1, start=dt.date(2020, 1, 1))
@example(weeks=[52], months=[1], weekdays=[5], interval=1, start=dt.date(2021, 6, 1))
@example(weeks=[-52], months=[12], weekdays=[], interval=1, start=dt.date(2024, 1, 1))
@example(weeks=[53], months=[], weekdays=[], interval=1, start=dt.date(2026, 12, 30))
def test_weeks_by_their_number_are_those_of_iso_8601(weeks, months, weekdays, interval, start):
    parts = [f"FREQ=YEARLY;INTERVAL={interval}", "BYWEEKNO=" + ",".join(map(str, weeks))]
    if months:
        parts.append("BYMONTH=" + ",".join(map(str, months)))
    if weekdays:
        parts.append("BYDAY=" + ",".join(["MO", "TU", "WE", "TH", "FR", "SA", "SU"][d] for d in weekdays))
    days = [start + dt.timedelta(n) for n in range(2600)]
    expected = [
        day
        for day in days
        if iso_weeks(day) & set(weeks)
        and (not months or day.month in months)
        and (not weekdays or day.weekday() in weekdays)
        and (day.year - start.year) % interval == 0
    ]
    assert list(parse(";".join(parts)).dates(start, days[-1])) == expected


def test_a_rule_at_the_turn_of_the_year_comes():
    rule = parse("FREQ=YEARLY;INTERVAL=1;BYMONTH=1;BYWEEKNO=-1")
    assert rule.happens(dt.date(2020, 1, 1))
    assert next(rule.dates(dt.date(2020, 1, 1), FOR_EVER)) == dt.date(2021, 1, 1)


@pytest.mark.parametrize(
    ("text", "days"),
    [
        # Counted on a calendar: week 1 of 2027 begins on Monday 4 January, the last week of 2026 (53) on 28 December.
        ("FREQ=YEARLY;BYWEEKNO=1;BYSETPOS=1", [dt.date(2027, 1, 4), dt.date(2028, 1, 3)]),
        ("FREQ=YEARLY;BYWEEKNO=-1,1;BYSETPOS=-1", [dt.date(2026, 12, 31), dt.date(2027, 12, 31)]),
        # Weeks from Sunday: the one with 4 January 2027 begins on the 3rd, and 2026 has 52 of them.
        ("FREQ=YEARLY;BYWEEKNO=1;BYDAY=SU;WKST=SU", [dt.date(2027, 1, 3), dt.date(2028, 1, 2)]),
        ("FREQ=YEARLY;BYWEEKNO=53;BYDAY=SU;WKST=SU", []),
        ("FREQ=YEARLY;BYWEEKNO=52;BYYEARDAY=-5", [dt.date(2026, 12, 27), dt.date(2027, 12, 27)]),
    ],
)
def test_week_numbers_with_other_parts(text, days):
    assert list(parse(text).dates(dt.date(2026, 12, 20), dt.date(2028, 6, 1))) == days


@settings(deadline=None, max_examples=examples(400))
@given(text=rule_texts(), start=st.dates(dt.date(2020, 1, 1), dt.date(2031, 12, 31)))
def test_a_portable_rule_is_the_same_rule_when_written_aloud_and_read_back(text, start):
    """What goes into a feed: from the rule's own first instance, the day of DTSTART written out, no WKST, no end."""
    try:
        rule = replace(parse(text), count=None, until=None).aloud(start)
    except RuleError as error:
        assert error.message == TOO_FAR
        return
    if rule.unportable(start):
        return
    end = start + dt.timedelta(days=1500)
    reference = rrulestr(text.split(";COUNT")[0], dtstart=_midnight(start))
    expected = [m.date() for m in reference.between(_midnight(start), _midnight(end), inc=True)]
    assert list(parse(rule.text()).dates(expected[0], end)) == expected


def _midnight(day):
    return dt.datetime.combine(day, dt.time())


@given(st.text(max_size=60) | st.text("FREQ=DAILYBYMONTHCOUNTUNTIL;,-+0123456789 ", max_size=60))
def test_any_text_is_a_rule_or_an_error_with_a_hint(text):
    try:
        assert parse(text).freq in ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
    except RuleError as error:
        assert error.message and error.hint


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=31",
        "FREQ=MONTHLY;BYDAY=5MO;BYMONTHDAY=1",
        "FREQ=DAILY;INTERVAL=7;BYDAY=MO",
        "FREQ=MONTHLY;BYMONTHDAY=31;BYMONTH=2,4,6,9,11",
        "FREQ=YEARLY;BYYEARDAY=1;BYMONTH=2",
        f"FREQ=YEARLY;INTERVAL=1000;COUNT={MOST_INSTANCES}",
        "FREQ=YEARLY;BYWEEKNO=-1;BYMONTH=3",
    ],
)
def test_a_rule_that_hardly_or_never_happens_is_not_followed_beyond_the_end(text, monkeypatch):
    """A description may hold hundreds of them; calendar programs are known to hang on such rules.

    dateutil goes from year to year, to 9999, and asks the calendar for each of them: what it asked for is looked at.
    """
    asked, is_leap = set(), calendar.isleap
    monkeypatch.setattr(calendar, "isleap", lambda year: asked.add(year) or is_leap(year))
    assert len(list(parse(text).dates(dt.date(2026, 12, 1), dt.date(2028, 12, 1)))) <= 1
    assert len(asked) < 50
