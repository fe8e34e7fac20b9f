"""The outlook's days: lamps, sizes, arrivals, seasons and services; and what is not known."""

import datetime as dt
from dataclasses import replace

import pytest
from support.care.looked_ahead import LAMP, REED, SITE, TODAY, lines, look, tank
from support.recorded import load

import scheduler
from scheduler import workflow
from scheduler.care import Case
from scheduler.care.outlook.coming import line_of

# --- Days -------------------------------------------------------------------------------------------------------


def test_a_lamp_is_ordered_and_replaced_with_the_reason():
    found = look(SITE + tank() + LAMP)
    why = "the customary 1 year for its kind"
    (order,), (replaced,) = lines(found, "uv-lamp-order"), lines(found, "uv-lamp-replace")
    assert order[1] == f"order a T5 HO tube lamp of 24 W: the one in use is replaced in about 4 weeks ({why})"
    assert replaced[1] == f"replace the T5 HO tube lamp of 24 W ({why})"
    assert replaced[2] is None
    # A year from 17 January 2026, at most two weeks early; ordered four weeks before, give or take as much.
    assert dt.date(2027, 1, 2) <= replaced[0] <= dt.date(2027, 1, 17)
    assert 14 <= (replaced[0] - order[0]).days <= 42


MAP_TURTLE = """
[[enclosure]]
name = "Stickleback"
length = "80 cm"
width = "40 cm"
height = "40 cm"
water_depth = "20 cm"
set_up = 2026-01-17
cycled = true
[[enclosure.resident]]
name = "Lighthouse"
species = "Graptemys geographica"
sex = "female"
carapace = "8.8 cm"
measured = 2026-11-21
"""


def test_an_animal_that_grows_out_of_its_enclosure_is_told_by_code():
    # 80 x 40 = 3200 cm2: EU 2010/63 asks for 1600 cm2 up to 10 cm of carapace, and for 3500 from there on.
    found = look(SITE + MAP_TURTLE)
    (line,) = [line for line in found.lines if line.kind == "space"]
    assert (line.day.isoformat(), line.job) == ("2027-01-28", "space-review")
    assert line.text == (
        "Lighthouse may outgrow it: beyond 10 cm of carapace EU 2010/63 asks for more area. "
        "By the curve of wild animals: on 13 June 2027"
    )
    later = look(SITE + MAP_TURTLE, today=dt.date(2027, 3, 1))
    (line,) = [line for line in later.lines if line.kind == "space"]
    assert (line.day.isoformat(), line.job) == ("2027-03-01", None)
    assert line.text.startswith(
        "measure now, Lighthouse may have outgrown it since 28 January 2027: beyond 10 cm"
    )
    # On the day itself it has one line, that of the plan.
    (line,) = [
        line for line in look(SITE + MAP_TURTLE, today=dt.date(2027, 1, 28)).lines if line.kind == "space"
    ]
    assert (line.day.isoformat(), line.job) == ("2027-01-28", "space-review")
    (line,) = [
        line for line in look(SITE + MAP_TURTLE.replace("8.8 cm", "10.2 cm")).lines if line.kind == "space"
    ]
    assert line.text == "Lighthouse has outgrown it: beyond 10 cm of carapace EU 2010/63 asks for more area"


def test_arrivals_and_the_end_of_quarantine():
    text = tank().replace('carapace = "9 cm"', 'carapace = "9 cm"\narrived = 2027-02-06\nquarantine = true')
    found = look(SITE + text)
    told = [(line.day.isoformat(), line.kind, line.job) for line in found.lines]
    # 90 days of quarantine; faecal tests on days 14, 42 and 70.
    for line in (
        ("2027-02-05", "arrival", "pre-arrival-check"),
        ("2027-02-06", "arrival", None),
        ("2027-02-20", "vet", "faecal-test"),
        ("2027-03-20", "vet", "faecal-test"),
        ("2027-04-17", "vet", "faecal-test"),
        ("2027-05-07", "arrival", "quarantine-release"),
    ):
        assert told.count(line) == 1, line


def test_the_cold_season_and_the_seldom_services_are_there_and_the_routine_is_not():
    found = look(SITE + tank())
    keys = [line.job for line in found.lines]
    assert [line.day.isoformat() for line in found.lines if line.kind == "season"] == ["2027-10-01"]
    assert {"media-rinse", "cord-check", "space-review", "vet-check"} <= set(keys)
    routine = {
        "daily-look",
        "feed",
        "water-change",
        "water-test",
        "top-up",
        "wipe-down",
        "filter-check",
        "supplies",
    }
    assert not routine & set(keys)
    site = load(SITE + tank())
    planned = list(workflow.days_of(workflow.make_plan(site, TODAY, TODAY, 365)))
    assert keys.count("media-rinse") == sum(o.job.key == "media-rinse" for o in planned) in (6, 7)
    # The hours of care count everything.
    assert sum(found.minutes.values()) == sum(o.job.minutes for o in planned)
    assert list(found.minutes) == [f"2026-{12:02}", *(f"2027-{month:02}" for month in range(1, 12))]


def test_the_cadence_of_the_keeper_is_the_source():
    text = SITE + tank() + "[enclosure.job.vet-check]\non = [2027-04-12]\n"
    (line,) = [line for line in look(text).lines if line.job == "vet-check"]
    assert (line.day.isoformat(), line.source.status) == ("2027-04-12", "keeper's value")
    (line,) = [line for line in look(SITE + tank()).lines if line.job == "vet-check"]
    assert line.source.status == "from memory"


OWN = [
    # the cadence of a duty of the keeper's own, how many lines it has in a year
    ('rule = "FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=1"', 1),
    ('rule = "FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=1"', 4),
    ('rule = "FREQ=MONTHLY;BYMONTHDAY=1"', 0),
    ('every = "8 weeks"', 6),
    ('every = "55 days"', 0),
    ("on = [2026-12-24, 2027-04-01]", 2),
]


@pytest.mark.parametrize(("cadence", "count"), OWN)
def test_a_duty_of_the_keepers_own_has_lines_where_it_is_seldom(cadence, count):
    duty = f'[[enclosure.extra_job]]\nkey = "hose"\ntitle = "Hang up the hose"\n{cadence}\n'
    found = [line for line in look(SITE + tank() + duty).lines if line.job == "hose"]
    assert count <= len(found) <= count + (count == 6)
    assert {(line.kind, line.text, line.source.status) for line in found} <= {
        ("service", "Hang up the hose", "keeper's value")
    }


def test_a_job_whose_days_follow_from_what_happened_is_not_the_keepers():
    site = load(SITE + tank() + '[enclosure.job.vet-check]\nevery = "6 months"\n')
    case = Case(site, site.enclosures[0], TODAY)
    (job,) = (job for job in scheduler.jobs(site) if job.key == "vet-check")
    assert line_of(case, TODAY, job).source.status == "keeper's value"
    assert line_of(case, TODAY, replace(job, fixed=True)).source.status == "from memory"


# --- What is not known ------------------------------------------------------------------------------------------


UNKNOWN = [
    # what is taken away, what is put there, what is said
    ("grams = 3\n", "", "food: feed.grams is not in the description"),
    ("water_depth = \"40 cm\"\n", "", "water conditioner: water_depth is not in the description"),
    ("water_depth = \"40 cm\"\n", "", "when it gets too small: water_depth is not in the description"),
    ("{feed}", 'pack = "250 g"', "food: the days to order: feed.opened is not in the description"),
    ("{feed}", "", "food: the days to order: feed.pack and feed.opened are not in the description"),
    ("{feed}", 'pack = "1 g"\nopened = 2026-11-30', "food: the days to order: a pack would not last a day"),
    ('species = "Sternotherus odoratus"\n', "", "whether it gets too small for Moss: resident.species is not in the description"),
]  # fmt: skip


@pytest.mark.parametrize(("taken", "put", "said"), UNKNOWN, ids=[said for *_, said in UNKNOWN])
def test_what_is_not_known_is_named_and_not_guessed(taken, put, said):
    text = REED.replace(taken, put, 1)
    assert text != REED
    found = look(SITE + text.replace("{feed}", "").replace("{conditioner}", ""))
    assert said in [u.text for u in found.unknown]
    assert not [line for line in found.lines if line.kind == "supply"]


def test_a_lamp_without_a_day_is_named():
    text = SITE + tank() + LAMP.replace("installed = 2026-01-17\n", "")
    found = look(text)
    assert (
        "T5 HO tube lamp of 24 W: the days to order and replace it; lamp.installed is not in the description"
        in [u.text for u in found.unknown]
    )
    assert not [line for line in found.lines if line.kind == "lamp" and "order" in line.text]
