"""Readings, and what follows from them: the sentence that is said, and the jobs that it brings.

Every case is a record of a few lines. Without its last line all is as before: that is what `undo` does.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from support.recorded import history, load

from scheduler import care
from scheduler.care import Case, Consequence, On
from scheduler.history import History
from scheduler.readings import QUANTITIES, SIGNS

TANK = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
filter = {kind = "canister", media_trays = 4}
heater = [{power = "200 W", set_to = "24 degC"}]
lamp = [{kind = "T5 HO tube", installed = 2026-10-03, hours_a_day = 12, uvi = 3.0, uvi_at = "30 cm", basking_distance = "30 cm"}]
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm", mass = "300 g", arrived = 2026-10-20}]
feed = {grams = 3, protein = 0.4, meals_a_week = 3}
"""
BEGUN = "2026-10-20"


def case_of(lines, text=TANK, today="2027-02-01") -> Case:
    site = load(text)
    found = care.with_implied(site, history(BEGUN, lines))
    (case,) = care.cases(site, dt.date.fromisoformat(today), found)
    return case


def said(lines, text=TANK) -> list[Consequence]:
    return care.consequences(case_of(lines, text))


def extra_days(lines, text=TANK) -> dict[str, list[str]]:
    """Return the jobs that follow from readings, with their days."""
    jobs = care.jobs_of(case_of(lines, text))
    return {
        f"{job.key}/{job.variant}": [day.isoformat() for day in job.cadence.days]
        for job in jobs
        if job.fixed and job.recorded_as is not None and isinstance(job.cadence, On)
    }


# --- ammonia and nitrite ---


@pytest.mark.parametrize(
    ("ph", "celsius", "percent", "source"),
    [
        (7.0, 25.0, 0.564, "Emerson et al. 1975, printed as 0.566 with 273.2 K"),
        (8.0, 25.0, 5.366, "Emerson et al. 1975, printed as 5.38"),
        (9.0, 25.0, 36.19, "Emerson et al. 1975, printed as 36.3"),
        (8.5, 15.0, 7.93, "water-chemistry program documentation, NH3 of 0.030 mmol/L at 15 degC"),
        (9.0, 15.0, 21.43, "the same"),
    ],
)
def test_the_harmful_part_of_ammonia_is_that_of_the_published_tables(ph, celsius, percent, source):
    lines = [f"2026-12-01 ph {ph}", f"2026-12-01 temperature {celsius}", "2026-12-01 ammonia 4.0"]
    (alarm, *_) = [c for c in said(lines) if c.key == "water-change"]
    shown = float(alarm.reading.split(") ")[-1].split(" of it")[0])
    assert shown == pytest.approx(4.0 * percent / 100, rel=0.04), source


@pytest.mark.parametrize(
    ("ammonia", "verdict", "share"),
    [
        # At pH 8.0 and 25 degC 5.366 % are un-ionised (Emerson et al. 1975): 0.02 is reached at 0.373 mg/L, 0.05 at 0.932.
        (0.25, None, 0),
        (0.26, "look", 25),
        (0.37, "look", 35),  # over 0.25 mg/L in all: 1 - 0.25 / 0.37 = 0.324, to the next 5 %
        (0.38, "look", 35),  # both limits count, or more ammonia would ask for less: 1 - 0.25 / 0.38 = 0.342
        (0.93, "look", 50),  # 1 - 0.25 / 0.93 = 0.73, more than half at once is a shock
        (0.94, "act", 50),
    ],
)
def test_an_alarm_begins_at_its_limit(ammonia, verdict, share):
    lines = ["2026-12-01 ph 8.0", "2026-12-01 temperature 25", f"2026-12-01 ammonia {ammonia}"]
    alarms = [c for c in said(lines) if c.key == "water-change"]
    assert [c.verdict for c in alarms] == ([verdict] if verdict else [])
    if verdict:
        assert f"Change {share} % of the water now" in alarms[0].plan
        tests = {"look": ["2026-12-02", "2026-12-03"], "act": ["2026-12-02", "2026-12-03", "2026-12-05"]}[
            verdict
        ]
        assert extra_days(lines) == {
            "water-change/alarm-2026-12-01": ["2026-12-01"],
            "water-test/alarm-2026-12-01": tests,
        }
    assert extra_days(lines[:-1]) == {}


@pytest.mark.parametrize(("nitrite", "verdict"), [(0.09, None), (0.1, "look"), (0.49, "look"), (0.5, "act")])
def test_nitrite_has_limits_of_its_own(nitrite, verdict):
    alarms = [c.verdict for c in said([f"2026-12-01 nitrite {nitrite}"]) if c.key == "water-change"]
    assert alarms == ([verdict] if verdict else [])
    own = TANK.replace("[[enclosure]]", '[site.house_values]\nnitrite_look = "0.45 mg/L"\n[[enclosure]]', 1)
    (strict,) = [c for c in said(["2026-12-01 nitrite 0.47"], own) if c.key == "water-change"]
    assert strict.source.status == "keeper's value"
    assert not said(["2026-12-01 nitrite 0.4"], own)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (["2026-12-01 ph 7.6"], "at pH 7.6 (measured) and 24 °C (as the heater is set)"),
        (
            ["2026-11-10 ph 7.6", "2026-11-28 temperature 22"],
            "at pH 7.6 (of 10 November 2026) and 22 °C (of 28 November 2026)",
        ),
        (["2026-10-25 ph 7.6"], "at pH 8 (not measured, the safe side) and 24 °C"),
        (["2026-12-02 ph 7.0"], "at pH 8 (not measured, the safe side)"),
    ],
)
def test_it_says_with_which_ph_and_temperature_it_reckons(lines, words):
    (alarm,) = [c for c in said([*lines, "2026-12-01 ammonia 3"]) if c.key == "water-change"]
    assert words in alarm.reading


def test_two_clean_tests_on_two_days_end_an_alarm():
    alarm = ["2026-12-01 ammonia 3", "2026-12-02 ammonia 0.1"]
    assert extra_days(alarm)
    # The same day again is not a second day.
    assert extra_days([*alarm, "2026-12-02 20:00 ammonia 0"])
    clean = [*alarm, "2026-12-03 ammonia 0"]
    assert extra_days(clean) == {}
    (fine,) = said(clean)
    assert (fine.verdict, fine.reading) == (
        "fine",
        "Ammonia was clean in the tests of two days, the second on 3 December 2026.",
    )
    # A high one between begins anew, from its own day.
    again = ["2026-12-01 ammonia 3", "2026-12-02 ammonia 0", "2026-12-03 ammonia 3", "2026-12-04 ammonia 0"]
    assert list(extra_days(again)) == ["water-test/alarm-2026-12-03", "water-change/alarm-2026-12-03"]


def test_nobody_is_poisoned_while_nobody_lives_there():
    assert not said(["2026-10-19 ammonia 4"])
    assert said(["2026-10-20 ammonia 4"])


def test_the_keepers_own_rhythm_does_not_move_what_follows_from_a_reading():
    own = (
        TANK
        + '[enclosure.job.water-change]\nevery = "10 days"\n[enclosure.job.water-test]\nweekdays = ["Sat"]\n'
    )
    assert extra_days(["2026-12-01 ammonia 4"], own) == extra_days(["2026-12-01 ammonia 4"])
    off = TANK + "[enclosure.job.water-change]\noff = true\n"
    assert list(extra_days(["2026-12-01 ammonia 4"], off)) == ["water-test/alarm-2026-12-01"]
    (alarm,) = [c for c in said(["2026-12-01 ammonia 4"], off) if c.key == "water-change"]
    assert alarm.plan.startswith("Test the water again on")


def test_the_extra_change_has_the_litres_of_its_share():
    jobs = list(care.jobs_of(case_of(["2026-12-01 ammonia 4"])))
    (extra,) = [job for job in jobs if job.key == "water-change" and job.variant]
    # 120 x 50 x 40 cm are 240 L; half of it is 120, but for the 0.3 L of the animal.
    assert extra.title == "extra water change, 50 %"
    assert any("Drain 120 L (50 %)" in step for step in extra.notes().steps)
    assert (
        extra.notes()
        .steps[0]
        .endswith("Change 50 % of the water today; it counts as the next regular change too.")
    )


# --- a new filter ---

NEW = TANK.replace("cycled = true", "cycled = false")


@pytest.mark.parametrize(
    ("lines", "works_on"),
    [
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0.2", "2026-11-10 nitrite 0.09", "2026-11-12 ammonia 0", "2026-11-12 nitrite 0.09", "2026-11-12 nitrate 15"], "2026-11-12"),
        # What is not clean for the alarms is not clean here: nitrite from 0.1 on, ammonia over 0.25.
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0.2", "2026-11-10 nitrite 0", "2026-11-12 ammonia 0", "2026-11-12 nitrite 0.1", "2026-11-12 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0.2", "2026-11-10 nitrite 0", "2026-11-12 ammonia 0.26", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0.2", "2026-11-10 nitrite 0", "2026-11-12 ammonia 0.25", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"], "2026-11-12"),
        # Nitrate does not rise; one of the two is high; a bad test between; less than 24 hours by the clock.
        (["2026-11-01 nitrate 15", "2026-11-10 ammonia 0", "2026-11-10 nitrite 0", "2026-11-12 ammonia 0", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0", "2026-11-10 nitrite 0.3", "2026-11-12 ammonia 0", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 ammonia 0", "2026-11-10 nitrite 0", "2026-11-11 ammonia 1", "2026-11-11 nitrite 0", "2026-11-12 ammonia 0", "2026-11-12 nitrite 0", "2026-11-12 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 20:00 ammonia 0", "2026-11-10 20:00 nitrite 0", "2026-11-11 08:00 ammonia 0", "2026-11-11 08:00 nitrite 0", "2026-11-11 nitrate 15"], None),
        (["2026-11-01 nitrate 5", "2026-11-10 20:00 ammonia 0", "2026-11-10 20:00 nitrite 0", "2026-11-11 20:00 ammonia 0", "2026-11-11 20:00 nitrite 0", "2026-11-11 nitrate 15"], "2026-11-11"),
    ],
)  # fmt: skip
def test_a_filter_works_after_two_clean_tests_with_rising_nitrate(lines, works_on):
    case = case_of(lines, NEW)
    assert case.enclosure.cycled == (dt.date.fromisoformat(works_on) if works_on else False)
    keys = {job.key: job for job in care.jobs_of(case)}
    assert ("water-test" in keys) == bool(works_on)
    if works_on:
        assert keys["cycle-test"].cadence.until == dt.date.fromisoformat(works_on)
        assert "cycle-test" not in {c.key for c in said(lines[:-1], NEW) if c.verdict == "fine"}


# --- nitrate ---


def tank(
    rate: float, weeks: int, noise: float, seed: int, share: float = 0.5, start: float = 10.0
) -> list[str]:
    """Return the record of a tank whose nitrate rises by `rate` a day: a test and then a change every week."""
    rng = np.random.default_rng(seed)
    level, lines, first = start, [], dt.date(2026, 11, 1)
    for week in range(weeks):
        day = first + dt.timedelta(days=7 * week)
        lines.append(f"{day} nitrate {max(0.0, level + rng.normal(0.0, noise)):.1f}")
        lines.append(f"{day} did water-change {share}")
        level = level * (1.0 - share) + rate * 7.0
    return lines


def interval(lines: list[str], text: str = TANK) -> float:
    return case_of(lines, text).number("water_change_interval")


def test_by_the_food_changes_come_to_the_day():
    # 3 g x 3 a week x 0.4 x 0.16 = 0.0823 g of nitrogen a day: 1.52 mg/L of nitrate in 240 L; 40 x 0.5 / 1.52 = 13.2 days.
    assert interval([]) == 13


@pytest.mark.parametrize(
    ("rate", "expected"),
    [
        # 40 mg/L x 0.5 / rate, in whole weeks from a week on; as the food has it where they agree.
        (4.0, 5.0),
        (8.0, 2.0),
        (1.5, 13.0),
        # Rarer only as far as custom goes, and by the upper end of the range.
        (0.4, 14.0),
    ],
)
def test_a_sure_rate_moves_the_changes(rate, expected):
    lines = tank(rate, 10, 0.6, seed=3)
    assert abs(interval(lines) - expected) <= (1 if expected < 7 else 0)
    found = [c for c in said(lines) if c.key == "water_change_interval"]
    assert [c.verdict for c in found] == ["fine" if expected == 13 else "look"]


def test_the_range_that_is_printed_holds_the_rate_and_what_the_library_finds():
    lines = tank(4.0, 10, 1.5, seed=5)
    readings = [float(line.split()[-1]) for line in lines if "nitrate" in line]
    # The design by hand: the level of week n is C0 * a_n + r * b_n, both halved at each change; the tap brings nothing.
    a, b = [1.0], [0.0]
    for _ in readings[1:]:
        a.append(a[-1] * 0.5)
        b.append(b[-1] * 0.5 + 7.0)
    fit = sm.OLS(readings, np.column_stack([a, b])).fit()
    (found,) = [c for c in said(lines) if c.key == "water_change_interval"]
    assert found.reading == "By 10 nitrate readings it rises by 4 mg/L a day (3.1 to 5.1)."
    # Least squares know nothing of the kit's own 10 %, of drifts and of the food: their range lies within.
    assert fit.params[1] == pytest.approx(4.0, abs=0.1)
    assert 3.1 < fit.conf_int()[1][0] < fit.conf_int()[1][1] < 5.1


@given(st.floats(0.0, 300.0), st.integers(0, 20), st.integers(0, 5))
def test_one_wild_reading_moves_no_settled_plan(value, days_after, seed):
    lines = tank(1.6, 9, 1.0, seed=seed)
    assert interval(lines) == 13
    wild = dt.date(2026, 12, 27) + dt.timedelta(days=days_after)
    assert interval([*lines, f"{wild} nitrate {value:.0f}"]) == 13


def test_few_readings_decide_nothing():
    for weeks in range(1, 3):
        assert interval(tank(8.0, weeks, 0.1, seed=1)) == 13


def test_the_keepers_longest_interval_stays_the_longest():
    own = TANK + '[enclosure.job.water-change]\nevery = "9 days"\n'
    assert interval(tank(0.3, 10, 0.2, seed=2), own) <= 9


# --- weight ---


@pytest.mark.parametrize(
    ("lines", "verdict", "jobs"),
    [
        # 300 g in the description, on its arrival.
        (["2026-12-01 weight.fern 285"], None, {}),
        (["2026-12-01 weight.fern 284"], "look", {"weigh-measure/again-fern": ["2026-12-08"]}),
        (["2026-12-01 weight.fern 271"], "look", {"weigh-measure/again-fern": ["2026-12-08"]}),
        # One weighing may err: a second one decides, within three days or later.
        (["2026-12-01 weight.fern 265"], "look", {"weigh-measure/again-fern": ["2026-12-03"]}),
        (["2026-12-01 weight.fern 265", "2026-12-03 weight.fern 266"], "act", {"vet-check/weight-fern": ["2026-12-03"]}),
        (["2026-12-01 weight.fern 265", "2026-12-20 weight.fern 266"], "act", {"vet-check/weight-fern": ["2026-12-20"]}),
        (["2026-12-01 weight.fern 265", "2026-12-03 weight.fern 298"], None, {}),
        # Twice the limit is no error of a weighing.
        (["2026-12-01 weight.fern 235"], "act", {"vet-check/weight-fern": ["2026-12-01"]}),
        # The best counts, not the last; and since when it is over the limit.
        (["2026-11-10 weight.fern 320", "2026-12-01 weight.fern 268", "2026-12-03 weight.fern 268"], "act", {"vet-check/weight-fern": ["2026-12-03"]}),
        (["2026-11-10 weight.fern 320", "2026-12-01 weight.fern 266", "2026-12-03 weight.fern 267", "2026-12-08 weight.fern 265"], "act", {"vet-check/weight-fern": ["2026-12-03"]}),
        # It has recovered.
        (["2026-12-01 weight.fern 260", "2026-12-20 weight.fern 299"], None, {}),
    ],
)  # fmt: skip
def test_lost_weight_is_held_against_the_limit(lines, verdict, jobs):
    assert [c.verdict for c in said(lines)] == ([verdict] if verdict else [])
    assert extra_days(lines) == jobs


def test_a_hatchling_has_half_the_room():
    young = TANK.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "4 cm", mass = "12 g"')
    assert [c.verdict for c in said(["2026-12-01 weight.fern 11.5"], young)] == ["look"]
    twice = ["2026-12-01 weight.fern 11.2", "2026-12-02 weight.fern 11.2"]
    assert [c.verdict for c in said(twice, young)] == ["act"]


def test_a_sure_fall_is_told_with_the_librarys_range():
    grams = [300.0, 299.0, 297.5, 297.0, 295.0]
    days = [dt.date(2026, 11, 10) + dt.timedelta(days=7 * n) for n in range(5)]
    text = TANK.replace(', mass = "300 g"', "")
    (found,) = said([f"{day} weight.fern {g}" for day, g in zip(days, grams, strict=True)], text)
    fit = sm.OLS(grams, sm.add_constant([0.0, 7.0, 14.0, 21.0, 28.0])).fit()
    low, high = fit.conf_int()[1] * 7
    assert f"It loses {-fit.params[1] * 7:.2g} g a week ({-high:.2g} to {-low:.2g})." in found.rule


# --- light and warmth ---


@pytest.mark.parametrize(
    ("lines", "key", "plan"),
    [
        # 70 % of 3.0 are 2.1. It burned in after 100 hours, on 11 October.
        (["2026-10-08 uvi 1.5"], None, ""),
        (["2026-12-01 uvi 2.2"], None, ""),
        (["2026-12-01 uvi 2.0"], "uvi-reading", "Read it again on 4 December 2026"),
        (["2026-12-01 uvi 2.0", "2026-12-04 uvi 2.5"], None, ""),
        (
            ["2026-12-01 uvi 2.0", "2026-12-04 uvi 1.9"],
            "uv-lamp-replace",
            "Its replacement is due on 4 December 2026.",
        ),
    ],
)
def test_a_lamp_is_due_after_two_low_readings(lines, key, plan):
    found = said(lines)
    assert [c.key for c in found] == ([key] if key else [])
    assert not key or plan in found[0].plan


def test_a_lamp_that_fades_evenly_is_due_when_it_reaches_its_bound():
    # It halves in 200 days from 3.0 on 12 October 2026; 2.1 = 3.0 / 2^(103/200) is reached on 23 January.
    start = dt.date(2026, 10, 12)
    lines = [f"{start + dt.timedelta(days=n)} uvi {3.0 * 2 ** (-n / 200):.4f}" for n in (20, 40, 60, 80)]
    (found,) = said(lines)
    assert "halves in 200 days" in found.reading
    assert found.plan == "Its replacement is due on 22 January 2027."


def test_a_new_lamp_begins_anew():
    lines = [
        "2026-12-01 uvi 2.0",
        "2026-12-04 uvi 1.9",
        "2026-12-05 did uv-lamp-replace/t5-ho-tube-2026-10-03",
    ]
    case = case_of(lines)
    (lamp,) = case.enclosure.lamp
    assert (lamp.installed, lamp.uvi, lamp.id) == (dt.date(2026, 12, 5), None, "t5-ho-tube-2026-10-03")
    assert said(lines) == []
    days = {job.key: job.cadence for job in care.jobs_of(case) if job.variant == lamp.id}
    assert days["burn-in-baseline"].days == (dt.date(2026, 12, 14),)  # 100 hours at 12 a day
    assert days["uv-lamp-replace"].anchor == dt.date(2026, 12, 5)
    # When the keeper brings the description up to date, the lamp keeps its name, and its calendar entries.
    edited = TANK.replace("installed = 2026-10-03", "installed = 2026-12-05")
    assert {job.variant for job in care.jobs_of(case_of(lines, edited)) if job.key == "uv-lamp-replace"} == {
        lamp.id
    }


@pytest.mark.parametrize(
    ("lines", "verdict", "words"),
    [
        (["2026-12-01 temperature 22"], None, ""),
        (["2026-12-01 temperature 21.5"], "look", "21.5 °C on 1 December 2026, in one reading so far"),
        (["2026-12-01 temperature 21", "2026-12-04 temperature 20"], "look", "for 3 days of readings, since 1 December 2026"),
        (["2026-12-01 08:00 temperature 21", "2026-12-01 13:00 temperature 20"], "look", "for 5 h of readings"),
        (["2026-12-01 temperature 21", "2026-12-02 temperature 24", "2026-12-03 temperature 21"], "look", "in one reading so far"),
        (["2026-12-01 temperature 17"], "act", "17 °C"),
        (["2026-12-01 temperature 31"], "act", "31 °C"),
        (["2026-12-01 temperature 21", "2026-12-02 temperature 24"], None, ""),
    ],
)  # fmt: skip
def test_water_out_of_its_band_is_told_with_its_duration(lines, verdict, words):
    found = said(lines)
    assert [c.verdict for c in found] == ([verdict] if verdict else [])
    assert not verdict or words in found[0].reading
    assert bool(extra_days(lines)) == bool(verdict)
    # An indoor pond is like a tub; outdoors the water follows the weather.
    pond = TANK.replace('name = "Sedge"', 'name = "Sedge"\nkind = "pond"')
    assert [c.text for c in said(lines, pond)] == [c.text for c in found]
    assert not said(lines, TANK.replace('name = "Sedge"', 'name = "Sedge"\nkind = "pond"\noutdoors = true'))


# --- what is measured takes the place of what was written; what was done is remembered ---


def test_newer_sizes_take_the_place_of_the_descriptions():
    (fern,) = case_of(["2026-12-01 length.fern 13.1", "2026-12-01 weight.fern 330"]).enclosure.resident
    assert (fern.carapace, fern.mass, fern.measured) == (13.1, 330.0, dt.date(2026, 12, 1))
    dated = TANK.replace("carapace", "measured = 2026-12-05, carapace")
    (fern,) = case_of(["2026-12-01 length.fern 13.1"], dated).enclosure.resident
    assert fern.carapace == 12.0


@pytest.mark.parametrize(
    ("lines", "step"),
    [
        ([], "Take out 2 of the 4 media trays: those that were left alone last time. Mark them."),
        (["2026-12-01 did media-rinse 1"], "Take out half 2, trays 3 to 4 of 4, counted from the top: the other half was rinsed on 1 December 2026. Leave that one alone."),
        (["2026-10-30 did media-rinse 1", "2026-12-01 did media-rinse 2"], "Take out half 1, trays 1 to 2 of 4, counted from the top: the other half was rinsed on 1 December 2026. Leave that one alone."),
    ],
)  # fmt: skip
def test_a_rinse_remembers_which_half_it_was(lines, step):
    (rinse,) = [job for job in care.jobs_of(case_of(lines)) if job.key == "media-rinse"]
    assert step in rinse.notes().steps
    tests = {name: days for name, days in extra_days(lines).items() if "rinse" in name}
    assert tests == (
        {"water-test/rinse-2026-12-01": ["2026-12-03", "2026-12-05", "2026-12-08"]} if lines else {}
    )


@pytest.mark.parametrize(
    ("lines", "done"),
    [
        (["2026-12-01 nitrate 20"], ["water-test"]),
        (["2026-12-01 ammonia 0"], []),
        (["2026-12-01 ammonia 0", "2026-12-01 nitrite 0"], ["water-test"]),
        (["2026-12-01 uvi 2.5"], ["uvi-reading"]),
        (["2026-12-01 weight.fern 300"], ["weigh-measure"]),
        (["2026-12-01 temperature 24"], []),
        (["2026-12-01 nitrate 20", "2026-12-01 did water-test"], ["water-test"]),
    ],
)
def test_a_test_is_done_by_its_values(lines, done):
    found = case_of(lines).history.done("sedge")
    assert [e.name for e in found if e.day == dt.date(2026, 12, 1)] == done


VALUES = {"temperature": (0, 40), "basking": (10, 60), "uvi": (0, 9), "ammonia": (0, 8), "nitrite": (0, 8), "nitrate": (0, 300), "ph": (5, 9.5), "alkalinity": (0, 300), "weight": (100, 600), "length": (5, 30)}  # fmt: skip


@given(
    st.lists(st.tuples(st.integers(0, 90), st.sampled_from(sorted(VALUES)), st.floats(0, 1)), max_size=40),
    st.randoms(),
)
def test_any_readings_in_any_order_give_the_same_words(readings, order):
    assert set(VALUES) == set(QUANTITIES) - set(SIGNS)
    lines = []
    for n, name, part in readings:
        low, high = VALUES[name]
        of = ".fern" if name in ("weight", "length") else ""
        lines.append(
            f"{dt.date(2026, 11, 1) + dt.timedelta(days=n)} {name}{of} {low + part * (high - low):.2f}"
        )
    site = load(TANK)
    entries = history(BEGUN, lines)
    mixed = list(entries.measured("sedge"))
    order.shuffle(mixed)
    other = History(entries.begun, readings=mixed)
    texts = []
    for found in (entries, other):
        (case,) = care.cases(site, dt.date(2027, 2, 1), care.with_implied(site, found))
        texts.append([c.text for c in care.consequences(case)])
        assert all(job.notes().text() for job in care.jobs_of(case))
    assert texts[0] == texts[1]
    assert not any(word in text for text in texts[0] for word in ("nan", "inf ", "None"))
