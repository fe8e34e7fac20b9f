"""How often: cadences and days that are computed from the description, and the sums that they are explained with."""

import calendar
import datetime as dt
import json
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import care, workflow
from scheduler.care import Every, On
from scheduler.description import load
from scheduler.handbook import daylight
from scheduler.sheets.records import job_lines
from scheduler.sheets.terminal import day_table
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)

TANK = """
[site]
name = "Staithe"
time_zone = "Europe/Dublin"
[site.tap_water]
disinfectant = "chloramine"
disinfectant_level = "1.5 mg/L"
nitrate = "5 mg/L"
cold = "10 degC"
hot = "55 degC"
[[enclosure]]
name = "Withy"
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
covered = true
set_up = 2026-06-01
cycled = true
[enclosure.filter]
kind = "canister"
[[enclosure.heater]]
set_to = "25 degC"
[[enclosure.resident]]
name = "Sorrel"
[enclosure.feed]
protein = 0.40
grams = 3
meals_a_week = 3
"""
LITRES = 100 * 50 * 40 / 1000


def site_of(text, *more):
    return load("".join([text, *more]), load_sheets(), (care.check,))


def case_of(text, *more, today=TODAY):
    site = site_of(text, *more)
    return care.Case(site, site.enclosures[0], today)


def jobs_of(text, key, *more):
    return [job for job in care.jobs_of(case_of(text, *more)) if job.key == key]


def value(text, key, *more):
    (figure,) = case_of(text, *more).known(key)
    return figure.value


def interval(text, *more):
    """Return the days between water changes, of the figure and of the job: they agree."""
    (job,) = jobs_of(text, "water-change", *more)
    assert isinstance(job.cadence, Every)
    days = value(text, "water_change_interval", *more)
    assert job.cadence.span.days == days
    return days


def fed(grams, text=TANK):
    return text.replace("grams = 3\n", f"grams = {grams}\n")


# --- Water changes --------------------------------------------------------------------------------------------------

INTERVALS = [
    # grams a meal, what the keeper writes about the job, days, where from
    (1, "", 14, "1 g x 3/7 x 0.064 x 4427 / 200 = 0.61 mg/L a day, 28.8 days: custom's two weeks are the most"),
    (2, "", 14, "1.21 mg/L, 14.4 days"),
    (2.1, "", 13, "1.27 mg/L, 13.7 days: to the day"),
    (4, "", 7, "2.43 mg/L, 7.2 days"),
    (4.2, "", 7, "2.55 mg/L, 6.9 days: on the food alone no more often than weekly"),
    (14, "", 7, "8.50 mg/L, 2.06 days: the same"),
    (14, 'weekdays = ["Wed", "Sat"]', 7, "the same on weekdays"),
    (1, 'every = "28 days"', 28, "28.8 days, and the keeper's four weeks are the most"),
    (1, 'every = "10 days"', 10, "the keeper's own is the most, in whole weeks or not"),
    (4, 'every = "3 days"', 3, "7.2 days, and the keeper's own three stay"),
    (2.1, 'every = "28 days"', 13, "13.7 days is less than the keeper's four weeks"),
    (4, "share = 1.0", 14, "all of it: 14.4 days"),
    (4, "share = 0.25", 7, "a quarter: 3.6 days, and on the food alone weekly"),
]  # fmt: skip


@pytest.mark.parametrize(("grams", "own", "days", "source"), INTERVALS)
def test_water_changes_come_as_often_as_nitrate_asks_for(grams, own, days, source):
    more = f"[enclosure.job.water-change]\n{own}\n" if own else ""
    assert interval(fed(grams), more) == days, source


@pytest.mark.parametrize("line", ["protein = 0.40\n", "grams = 3\n", 'length = "100 cm"\n'])
def test_what_cannot_be_computed_yet_goes_by_custom(line):
    # Half the water every two weeks: common practice, no published source.
    assert interval(TANK.replace(line, "")) == 14


@pytest.mark.parametrize(
    ("tap", "days", "source"),
    [
        (5, 9, "(40 - 5) x 0.5 / 1.82 = 9.6 days"),
        (19, 7, "(40 - 19) x 0.5 / 1.82 = 5.8 days"),
        (45, 7, "20 over the tap: (65 - 45) x 0.5 / 1.82 = 5.5 days"),
        (71, 7, "a tenth under the act limit: (72 - 71) x 0.5 / 1.82 = 0.3 days"),
        (75, 7, "no change gets under 72: as often as before, never rarer"),
    ],
)
def test_a_tap_with_much_nitrate_leaves_a_rhythm_that_a_person_can_keep(tap, days, source):
    assert interval(TANK.replace('"5 mg/L"', f'"{tap} mg/L"')) == days, source


@given(rise=st.floats(0.5, 9), share=st.none() | st.floats(0.1, 0.5), own=st.none() | st.integers(1, 60))
def test_from_one_mg_of_tap_nitrate_to_the_next_the_interval_moves_by_a_day_at_most(rise, share, own):
    grams = rise * LITRES / (3 / 7 * 0.40 * 0.16 * 62.004 / 14.007 * 1000)
    every = f'every = "{own} days"\n' if own else ""
    part = f"share = {share:.4f}\n" if share else ""
    found = [
        interval(
            fed(f"{grams:.4f}").replace('"5 mg/L"', f'"{tap} mg/L"'),
            f"[enclosure.job.water-change]\n{part}{every}",
        )
        for tap in range(0, 81, 4)
    ]
    assert all(0 <= before - after <= 4 for before, after in pairwise(found))


def test_the_smallest_share_that_keeps_the_limit_is_planned():
    # 1.82 mg/L a day x 7 days / (40 - 5) = 36.4 %, up to the next percent; never less than custom's half in two weeks:
    # 1 - 0.5^(7/14) = 29.3 %.
    weekly = '[enclosure.job.water-change]\nevery = "7 days"\n'
    assert value(TANK, "water_change_share", weekly) == 0.37
    assert value(fed(1), "water_change_share", weekly) == 0.30
    assert value(fed(14), "water_change_share", weekly) == 0.50
    assert value(fed(1), "water_change_share") == 0.50
    own = "[enclosure.job.water-change]\nshare = 0.8\n"
    assert value(fed(14), "water_change_share", own) == 0.80
    assert value(TANK.replace("protein = 0.40\n", ""), "water_change_share", weekly) == 0.50


@given(
    grams=st.floats(0.1, 60),
    share=st.floats(0.05, 1),
    tap=st.floats(0, 60),
    limit=st.none() | st.floats(20, 75),
    own=st.none() | st.integers(1, 60),
)
def test_the_planned_interval_keeps_the_peak_under_the_limit(grams, share, tap, limit, own):
    """Peak = tap + rise x days / share, the sum of the geometric series of what changes leave."""
    look = 40.0 if limit is None else limit
    # What the tap leaves room for, 20 mg/L, but a tenth under the act limit of 80: house values.
    look = max(look, min(round(tap, 4) + 20.0, 72.0))
    text = fed(f"{grams:.4f}").replace('"5 mg/L"', f'"{tap:.4f} mg/L"')
    if limit is not None:
        text = text.replace(
            "[site.tap_water]", f'[site.house_values]\nnitrate_look = "{limit:.6f} mg/L"\n[site.tap_water]'
        )
    every = f'every = "{own} days"\n' if own else ""
    days = interval(text, f"[enclosure.job.water-change]\nshare = {share:.4f}\n{every}")
    rise = round(grams, 4) * 3 / 7 * 0.40 * 0.16 * 62.004 / 14.007 * 1000 / LITRES
    most = own or 14
    least = min(7, most)
    assert least <= days <= most

    def peak(interval):
        return round(tap, 4) + rise * interval / round(share, 4)

    computed = (look - round(tap, 4)) * round(share, 4) / rise
    if computed >= least + 1e-6:
        assert peak(days) <= look + 1e-3
    else:
        # Not more often on the food alone.
        assert days == least
    if days < most:
        # To the day: a day more would pass the limit.
        assert peak(days + 1) > look - 1e-3


def test_a_rule_of_the_keepers_own_is_kept_and_its_longest_gap_decides_the_peak():
    rule = '[enclosure.job.water-change]\nrule = "FREQ=WEEKLY;BYDAY=MO,SA"\n'
    (job,) = jobs_of(TANK, "water-change", rule)
    assert not isinstance(job.cadence, Every)
    assert value(TANK, "water_change_interval", rule) == pytest.approx(3.5)
    # Monday to Saturday 5 days, Saturday to Monday 2: the steady level of that round, by repeating it. The share is the smallest
    # for the longer gap: 1.82 x 5 / 35 = 26.02 %, up to the next percent.
    rise, level = 3 * 3 / 7 * 0.064 * 62.004 / 14.007 * 1000 / LITRES, 5.0
    for _ in range(50):
        high = level + 5 * rise
        level = high + 0.27 * (5 - high)
        level = level + 2 * rise + 0.27 * (5 - level - 2 * rise)
    assert value(TANK, "nitrate_peak", rule) == pytest.approx(high, rel=1e-3)


# --- How it came about ----------------------------------------------------------------------------------------------

LINES = [
    # the figure's name, what its line says, the sum
    ("gross volume", "100 cm x 50 cm x 40 cm of water = 200 L", "length x width x depth"),
    ("water change share", "47 % every 9 days keeps the limit", "1.82 x 9 / 35 = 46.8 %"),
    ("water change volume", "200 L x 47 % (what keeps the limit) = 94 L", "0.47 x 200"),
    ("hot water volume", "(25 °C - 10 °C) / (55 °C - 10 °C) = 0.333 of 94 L = 31 L hot, the rest cold", "15 / 45"),
    ("chlorine to neutralise", "94.0 L x 1.5 mg/L (as Cl2) = 141 mg", "volume x level"),
    ("freed ammonia", "1.5 mg/L of chloramine x 14.007 / 70.906 = 0.30 mg/L of nitrogen", "molar masses"),
    ("ration", "3 g x 3 meals a week / 7 = 1.29 g a day", "9 / 7"),
    ("feed nitrogen", "1.29 g a day x 0.4 protein x 0.16 = 0.082 g of nitrogen a day", "9 / 7 x 0.064"),
    ("nitrate rise", "0.082 g x 4.427 (nitrate from nitrogen) in 200 L = 1.82 mg/L a day", "62.004 / 14.007"),
    ("water change interval", "(40 - 5) mg/L x 0.5 / 1.82 mg/L a day = 9.6 days, planned: every 9 days", "17.5 / 1.82"),
    ("nitrate before a change", "tap 5 + 1.82 mg/L a day x 9 days / 0.47 = 40 mg/L", "5 + 34.875"),
]  # fmt: skip


@pytest.mark.parametrize(("label", "said", "source"), LINES, ids=[row[0] for row in LINES])
def test_a_water_change_explains_each_of_its_amounts(label, said, source):
    (job,) = jobs_of(TANK, "water-change")
    (line,) = [line for line in job.notes().workings() if line.startswith(f"{label}: ")]
    assert said in line, source


def plan_of(text, days=10):
    planned = workflow.make_plan(site_of(text), TODAY, TODAY, days)
    return planned, list(workflow.days_of(planned, None, None, "water-change"))


def test_the_table_of_jobs_explains_line_by_line_only_when_asked():
    planned, found = plan_of(TANK, 30)
    assert len(found) > 2
    plain = list(day_table(planned.site, found, 80))
    told = list(day_table(planned.site, found, 80, explain=True))
    assert not any("- ration:" in line for line in plain)
    # The first of its occurrences says it, the others do not say it again.
    assert [line for line in told if "- ration:" in line] == [
        "         - ration: 3 g x 3 meals a week / 7 = 1.29 g a day."
    ]
    assert [line for line in told if line in plain] == plain
    assert max(map(len, told)) <= 80


def test_json_notes_carry_the_explanation_only_when_asked():
    planned, found = plan_of(TANK)
    entry = workflow.entries_for(planned, None)
    plain = [json.loads(line)["notes"] for line in job_lines(planned.site, found, entry)]
    told = [json.loads(line)["notes"] for line in job_lines(planned.site, found, entry, explain=True)]
    (job,) = jobs_of(TANK, "water-change")
    block = "\n\nHow it came about:\n" + "\n".join(f"- {line}" for line in job.notes().workings())
    assert not any("How it came about" in notes for notes in plain)
    assert [notes.replace(block, "") for notes in told] == plain
    assert all(block in notes for notes in told)


# --- UV lamps -------------------------------------------------------------------------------------------------------


def lamp(kind="T5 HO tube", hours="12", more="", installed="2026-03-02"):
    return f'[[enclosure.lamp]]\nkind = "{kind}"\ninstalled = {installed}\nhours_a_day = {hours}\n{more}'


def sliders(text=TANK):
    return text.replace('name = "Sorrel"\n', 'name = "Sorrel"\nspecies = "Trachemys scripta"\n')


def north(text=TANK):
    return text.replace('time_zone = "Europe/Dublin"\n', 'time_zone = "Europe/Dublin"\nlatitude = 53.3\n')


def uvi(value):
    return f'uvi = {value}\nuvi_at = "30 cm"\nbasking_distance = "30 cm"\n'


def days_of_life(found):
    return (found - dt.date(2026, 3, 2)).days


HALF_YEAR_H, YEAR_H = 12 * 365.25 / 2, 12 * 365.25
LIVES = [
    # Months: veterinary convention, from memory. Whole weeks, rounded down.
    (lamp("T5 HO tube"), 364, "12 months"),
    (lamp("metal halide"), 364, "12 months"),
    (lamp("mercury vapour"), 182, "6 months, the earlier end"),
    (lamp("compact"), 182, "6 months"),
    # 70 % of the baseline are left after the customary life at 12 hours: twice the hours, half the days.
    (lamp("T5 HO tube", "24"), 182, "4383 h / 24"),
    (lamp("T5 HO tube", "16"), 273, "4383 h / 16 = 273.9"),
    (lamp("T5 HO tube", "6"), 364, "731 days: the months come first"),
    # A T8 tube halves in half a year at 12 hours (measured, see the handbook): 70 % after log2(1 / 0.7) of that.
    (lamp("T8 tube"), int(182.625 * math.log2(1 / 0.7)) // 7 * 7, "93.97 days"),
    (lamp("T8 tube", "6"), 182, "187.9 days: the months come first"),
    (lamp("T8 tube", "3.5"), 182, "322 days: the months come first"),
    # Zone 3 from UVI 1.0 on (Ferguson et al. 2010, restated): 1.2 has faded to it before 70 %.
    (lamp("T5 HO tube", "12", uvi(1.2)), int(YEAR_H * math.log2(1.2) / math.log2(1 / 0.7) / 12) // 7 * 7, "186.7"),
    (lamp("T5 HO tube", "12", uvi(3)), 364, "70 % of 3 is above 1.0"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "days", "source"), LIVES, ids=[f"{i}-{r[2]}" for i, r in enumerate(LIVES)])
def test_a_uv_lamp_is_replaced_by_the_earliest_of_three_bounds(table, days, source):
    text = sliders() + table
    assert days_of_life(value(text, "uv_lamp_replace_on")) == days, source
    (job,) = jobs_of(text, "uv-lamp-replace")
    assert job.cadence == Every(span=job.cadence.span, anchor=dt.date(2026, 3, 2), lasts=True)
    assert job.cadence.span.interval_days == days
    (order,) = jobs_of(text, "uv-lamp-order")
    # Four weeks ahead: house value.
    assert order.cadence.anchor == dt.date(2026, 3, 2) - dt.timedelta(days=28)
    assert order.cadence.span == job.cadence.span


def test_the_order_comes_as_far_ahead_as_the_keeper_says():
    text = TANK.replace("[site.tap_water]", '[site.house_values]\nlamps_ahead = "6 weeks"\n[site.tap_water]')
    (order,) = jobs_of(text + lamp(), "uv-lamp-order")
    assert order.cadence.anchor == dt.date(2026, 3, 2) - dt.timedelta(weeks=6)


@pytest.mark.parametrize("kind", ["T5 HO tube", "T8 tube", "compact"])
@pytest.mark.parametrize("every", [100, 800])
def test_the_keepers_own_interval_of_a_lamp_wins(kind, every):
    text = sliders() + lamp(kind, "12", uvi(1.05))
    own = f'[enclosure.job.uv-lamp-replace]\nevery = "{every} days"\n'
    assert days_of_life(value(text, "uv_lamp_replace_on", own)) == every
    (job,) = jobs_of(text, "uv-lamp-replace", own)
    (order,) = jobs_of(text, "uv-lamp-order", own)
    assert job.cadence.span.interval_days == order.cadence.span.interval_days == every


def test_of_several_lamps_the_first_to_go_is_told():
    text = TANK + lamp("T5 HO tube") + lamp("compact", installed="2026-04-01")
    assert value(text, "uv_lamp_replace_on") == dt.date(2026, 4, 1) + dt.timedelta(days=182)
    assert len(jobs_of(text, "uv-lamp-replace")) == 2


@pytest.mark.parametrize("latitude", [-41.3, 0.0, 53.3, 65.0])
def test_a_lamp_that_follows_the_day_burns_the_days_hours(latitude):
    text = sliders(north().replace("53.3", str(latitude))) + lamp("T5 HO tube", '"daylight"', uvi(1.1))
    # Hours until 1.1 has faded to 1.0, counted day by day with the timer's hours.
    left, day = YEAR_H * math.log2(1.1) / math.log2(1 / 0.7), dt.date(2026, 3, 2)
    while left > 1e-6:
        left -= daylight.lamp_hours(day, latitude)
        day += dt.timedelta(days=1)
    whole_weeks = (day - dt.date(2026, 3, 2)).days // 7 * 7
    assert days_of_life(value(text, "uv_lamp_replace_on")) == whole_weeks
    burned = sum(
        daylight.lamp_hours(dt.date(2026, 3, 2) + dt.timedelta(n), latitude)
        for n in range((TODAY - dt.date(2026, 3, 2)).days)
    )
    assert value(text, "uv_lamp_hours") == pytest.approx(burned)


def test_more_daylight_wears_a_lamp_sooner():
    # Over the northern summer half of a year lamps burn longer in the north than in the south.
    lives = [
        days_of_life(
            value(sliders(north().replace("53.3", lat)) + lamp("T5 HO tube", '"daylight"', uvi(1.1)), "uv_lamp_replace_on")
        )
        for lat in ("55.0", "0.0", "-55.0")
    ]  # fmt: skip
    assert lives == sorted(lives) and lives[0] < lives[2]


def sun_hours(day_of_year, latitude):
    """Sunrise to sunset by Cooper's declination (1969) and the hour angle of 90.833 degrees from the zenith."""
    declination = math.radians(23.45 * math.sin(math.radians(360 * (284 + day_of_year) / 365)))
    place = math.radians(latitude)
    cosine = (math.cos(math.radians(90.833)) - math.sin(place) * math.sin(declination)) / (
        math.cos(place) * math.cos(declination)
    )
    return 2 * math.degrees(math.acos(cosine)) / 15


@pytest.mark.parametrize("latitude", [-33.9, 28.0, 53.3])
def test_the_timer_has_the_hours_of_each_month(latitude):
    (job,) = jobs_of(north().replace("53.3", str(latitude)) + lamp("T5 HO tube", '"daylight"'), "lamp-timer")
    assert job.cadence.span.days == 28
    (table,) = [step for step in job.notes().steps if "January" in step]
    found = {}
    for part in table.removesuffix(".").partition("here: ")[2].split(", "):
        month, _, clock = part.partition(" ")
        hours, minutes = map(int, clock.split(":"))
        assert minutes % 15 == 0, "as a timer is set"
        found[month] = hours + minutes / 60
    assert list(found) == list(calendar.month_name)[1:]
    wanted = np.clip([sun_hours(day, latitude) for day in range(1, 366)], 8, 16)
    # A timer goes by a quarter of an hour a week at most (house value), the sun faster. No curve of that slope strays less
    # than half of what the two steepest days differ by over what the slope allows between them.
    days = np.arange(365)
    apart = np.abs(days[:, None] - days)
    allowed = 0.25 / 7 * np.minimum(apart, 365 - apart)
    stray = max(0.0, (np.abs(wanted[:, None] - wanted) - allowed).max() / 2)
    for number, hours in enumerate(found.values(), start=1):
        day = dt.date(2025, number, 1).timetuple().tm_yday
        # An eighth is rounding, a tenth the difference of the two formulas.
        assert abs(hours - wanted[day - 1]) <= stray + 0.125 + 0.1
    longest, shortest = ("June", "December") if latitude > 0 else ("December", "June")
    assert found[longest] > found["March"] > found[shortest]


def test_a_timer_without_a_latitude_asks_for_it():
    (job,) = jobs_of(TANK + lamp("T5 HO tube", '"daylight"'), "lamp-timer")
    assert any("write latitude into the [site] table" in step for step in job.notes().steps)
    assert not any("January" in step for step in job.notes().steps)


# --- Supplies -------------------------------------------------------------------------------------------------------

SUPPLIES = [
    # pack g, opened, days it lasts, day to order; ordered 14 days ahead: house value
    ("90 g", "2026-11-01", "2026-12-27", "90 / (9/7) = 70 days, less 14"),
    ("500 g", "2026-11-01", "2027-11-10", "388 days, whole ones, less 14"),
    ("10 g", "2026-11-01", "2026-11-01", "7 days: at once, not before it is opened"),
]


@pytest.mark.parametrize(("pack", "opened", "day", "source"), SUPPLIES)
def test_food_is_ordered_before_the_pack_ends(pack, opened, day, source):
    text = TANK.replace("grams = 3\n", f'grams = 3\npack = "{pack}"\nopened = {opened}\n')
    assert value(text, "food_order_on").isoformat() == day, source
    (job,) = [job for job in jobs_of(text, "supplies") if job.variant == "food"]
    assert job.cadence == On(days=(dt.date.fromisoformat(day),))


def test_the_keeper_says_how_far_ahead_supplies_are_ordered():
    text = TANK.replace(
        "[site.tap_water]", '[site.house_values]\nsupplies_ahead = "30 days"\n[site.tap_water]'
    )
    text = text.replace("grams = 3\n", 'grams = 3\npack = "90 g"\nopened = 2026-11-01\n')
    assert value(text, "food_order_on") == dt.date(2026, 11, 1) + dt.timedelta(days=70 - 30)


def test_conditioner_goes_with_the_litres_that_it_is_dosed_for():
    # 100 L in pails every 7 days: 1000 L are 70 days.
    half = '[enclosure.job.water-change]\nevery = "7 days"\nshare = 0.5\n'
    bottle = half + '[enclosure.conditioner]\ntreats = "1000 L"\nopened = 2026-11-01\n'
    by_pail = TANK.replace("[site.tap_water]", '[site.house_values]\nhose_from = "150 L"\n[site.tap_water]')
    assert value(by_pail, "conditioner_order_on", bottle) == dt.date(2026, 11, 1) + dt.timedelta(days=70 - 14)
    (job,) = [job for job in jobs_of(by_pail, "supplies", bottle) if job.variant == "conditioner"]
    assert job.cadence == On(days=(dt.date(2026, 12, 27),))
    # By hose the dose is for the whole tank, 200 L, as the note says: 1000 L are 35 days.
    assert value(TANK, "conditioner_order_on", bottle) == dt.date(2026, 11, 1) + dt.timedelta(days=35 - 14)


def test_without_a_pack_nothing_is_ordered():
    assert [job.variant for job in jobs_of(TANK, "supplies")] == [""]
