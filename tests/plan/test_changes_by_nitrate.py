"""Water is changed as often as nitrate asks for: the planned dates are held against a tank that is reckoned day by day."""

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.described import WEEKDAYS, days, load, plan, text_of

FIRST, LAST = dt.date(2027, 1, 4), dt.date(2029, 12, 31)
DAY = dt.timedelta(days=1)
CUSTOM = 14
"""Days: half the water every two weeks, common practice, no published source."""

WEEK = 7
"""Days: on the food alone changes come no more often. House value."""

LOOK = 40.0
"""mg/L of nitrate: the house limit."""

NITRATE_IN_PROTEIN = 0.16 * 62.004 / 14.007
"""g of nitrate from each g of protein: 16 % of it is nitrogen by the convention of labels; molar masses by IUPAC."""


def tank_table(litres, grams, protein, tap=0.0, **change):
    """Return a bare tank of so many litres whose animal is fed daily."""
    return {
        "site": {"name": "Fen Lane", "tap_water": {"nitrate": f"{tap} mg/L"} if tap else {}},
        "enclosure": [
            {
                "name": "Sedge",
                "set_up": FIRST,
                "length": "100 cm",
                "width": "50 cm",
                "height": "2 m",
                "water_depth": f"{litres / 5} cm",
                "filter": {"kind": "canister"},
                "resident": [{"name": "Fern"}],
                "feed": {"grams": grams, "protein": protein, "meals_a_week": 7},
                "job": {"water-change": change},
            }
        ],
    }


def tank(*food, **change):
    return load(text_of(tank_table(*food, **change)))


def changes(site):
    return days(plan(site, FIRST, LAST), "sedge", "water-change")


def highest(litres, grams, protein, tap, share, dates):
    """Return the highest nitrate, mg/L, in three years with changes on the dates, starting with tap water."""
    level = most = tap
    for n in range(1, (LAST - FIRST).days + 1):
        level += grams * protein * NITRATE_IN_PROTEIN * 1000 / litres
        most = max(most, level)
        if FIRST + n * DAY in dates:
            level += share * (tap - level)
    return most


foods = {
    "litres": st.integers(60, 900),
    "grams": st.floats(0.2, 12).map(lambda g: round(g, 2)),
    "protein": st.floats(0.2, 0.55).map(lambda p: round(p, 2)),
}


@given(**foods, tap=st.integers(0, 30), share=st.sampled_from([0.1, 0.25, 0.5, 0.75, 1.0]))
def test_nitrate_stays_under_the_limit_between_the_planned_changes(litres, grams, protein, tap, share):
    rise = grams * protein * NITRATE_IN_PROTEIN * 1000 / litres
    # Where the tap brings much, 20 mg/L over it: house value.
    limit = max(LOOK, tap + 20)
    longest = (limit - tap) * share / rise
    found = changes(tank(litres, grams, protein, tap, share=share))
    (gap,) = {(b - a).days for a, b in pairwise(found)}
    assert WEEK <= gap <= CUSTOM
    if longest < WEEK:
        # On the food alone no more often than weekly: the review names the ways out.
        assert gap == WEEK
        return
    assert highest(litres, grams, protein, tap, share, set(found)) <= limit + 1e-6
    # Nor more often than that: a day more would be too long.
    if gap < CUSTOM:
        assert gap + 1 > longest - 1e-9


@given(**foods, every=st.integers(1, 40))
def test_the_keepers_interval_is_a_cap(litres, grams, protein, every):
    rise = grams * protein * NITRATE_IN_PROTEIN * 1000 / litres
    longest = LOOK * 0.5 / rise
    table = tank_table(litres, grams, protein, every=f"{every} days")
    # Without filter service nothing is to make way for.
    table["enclosure"][0]["job"] |= {"filter-check": {"off": True}, "media-rinse": {"off": True}}
    gaps = {(b - a).days for a, b in pairwise(changes(load(text_of(table))))}
    assert len(gaps) == 1
    if longest >= every:
        assert gaps == {every}
    else:
        assert max(gaps) <= min(every, max(WEEK, longest))


@pytest.mark.parametrize(
    ("grams", "every", "why"),
    [
        (0.5, 14, "27 days would do: custom"),
        (1.0, 13, "13.5 days would do: to the day"),
        (1.9, 7, "7.1 days"),
        (2.0, 7, "6.8 days: on the food alone no more often than weekly"),
        (15.0, 7, "0.9 days: the same"),
    ],
)
def test_the_interval_of_a_small_tank(grams, every, why):
    # 60 L, 40 % protein: 20 mg/L / (grams x 0.4 x 0.16 x 4.427 x 1000 / 60) days.
    gaps = {(b - a).days for a, b in pairwise(changes(tank(60, grams / 3.18, 0.4)))}
    assert gaps == {every}, why


def test_of_a_keepers_weekdays_it_is_one_a_week():
    found = changes(tank(60, 2, 0.4, weekdays=["Wed", "Sat"]))
    assert {(b - a).days for a, b in pairwise(found)} == {7}
    assert {WEEKDAYS[day.weekday()] for day in found} <= {"Wed", "Sat"}


def test_a_keepers_rule_is_kept_whatever_the_nitrate():
    found = changes(tank(60, 5, 0.4, rule="FREQ=MONTHLY;BYDAY=1SA"))
    assert len(found) == 35  # the first Saturday of January 2027 was before the set-up
    assert all(day.weekday() == 5 and day.day <= 7 for day in found)


def test_food_that_is_not_known_leaves_custom():
    fed = text_of(tank_table(60, 5, 0.4))
    assert {(b - a).days for a, b in pairwise(changes(load(fed)))} == {WEEK}
    unknown = fed.replace("protein = 0.4\n", "")
    assert unknown != fed
    assert {(b - a).days for a, b in pairwise(changes(load(unknown)))} == {CUSTOM}


@given(**foods)
def test_filter_service_keeps_off_from_the_changes_that_leave_room(litres, grams, protein):
    site = tank(litres, grams, protein)
    found = plan(site, FIRST, LAST)
    change = days(found, "sedge", "water-change")
    gap = (change[1] - change[0]).days
    service = {key: days(found, "sedge", key) for key in ("filter-check", "media-rinse")}
    if gap >= 6:
        # Three days between heavy services of one enclosure: house value.
        assert all(
            abs((day - other).days) >= 3 for dates in service.values() for day in dates for other in change
        )
    else:
        # No day is three days away from both neighbours: filter service does not wait for one, and stays regular.
        for key, every in (("filter-check", 28), ("media-rinse", 56)):
            assert {(b - a).days for a, b in pairwise(service[key])} == {every}
