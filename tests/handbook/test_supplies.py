"""Packs of feed: how long they last, when the next is ordered, and the protein that young turtles grow on."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.handbook import feeding


def test_a_pack_lasts_its_grams_over_the_grams_of_a_day():
    # 6 g three times a week: 250 g x 7 / 18 = 97.2 days
    a_day = feeding.grams_a_day(6, 3)
    assert feeding.supply_days(250, a_day) == pytest.approx(250 * 7 / 18)
    assert feeding.supply_days(250, a_day) == pytest.approx(97.2, abs=0.05)


@pytest.mark.parametrize(
    ("opened", "days", "ahead", "ordered"),
    [
        # Counted on a calendar by hand: day 97 after 1 March is 6 June; 14 days earlier is 23 May.
        ("2027-03-01", 97.2, 14, "2027-05-23"),
        ("2027-03-01", 97.9, 14, "2027-05-23"),
        ("2027-03-01", 97.2, 0, "2027-06-06"),
        # Over the end of February, in a leap year and not.
        ("2028-02-01", 43, 14, "2028-03-01"),
        ("2027-02-01", 43, 14, "2027-03-02"),
        # A pack shorter than the lead: the next one is ordered at once.
        ("2027-03-01", 10, 14, "2027-03-01"),
        ("2027-03-01", 0, 0, "2027-03-01"),
        # A pack for ever counts as 36,500 days: a century less its 24 leap days, since 2100 has none.
        ("2027-03-01", 1e12, 0, "2127-02-05"),
        ("2027-03-01", math.inf, 14, "2127-01-22"),
    ],
)
def test_the_next_pack_is_ordered_ahead(opened, days, ahead, ordered):
    assert feeding.order_on(dt.date.fromisoformat(opened), days, ahead) == dt.date.fromisoformat(ordered)


@given(
    st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)),
    st.floats(1, 20_000),
    st.floats(1, 100),
    st.integers(0, 60),
)
def test_feed_is_left_for_the_lead_on_the_day_of_ordering(opened, pack, grams, ahead):
    days = feeding.supply_days(pack, grams)
    day = feeding.order_on(opened, days, ahead)
    assert day >= opened
    if day > opened:
        left = pack - grams * (day - opened).days
        # Enough for the lead, and not a day more than needed.
        assert grams * ahead - 1e-6 <= left < grams * (ahead + 1) + 1e-6


def test_two_weeks_is_the_house_lead():
    assert feeding.ORDER_AHEAD_DAYS == 14
    assert feeding.ORDER_AHEAD.status == "house value"


def test_young_turtles_grow_on_a_quarter_of_protein():
    # Avery et al. 1993, Physiol. Zool. 66:902: 25 and 40 % grew, 10 % shrank over 13 weeks.
    assert 0.10 < feeding.LEAST_PROTEIN_YOUNG <= 0.25
    assert feeding.PROTEIN.status == "published"


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: feeding.supply_days(0, 1), "a pack must hold more than 0 g, not 0"),
        (lambda: feeding.supply_days(float("nan"), 1), "a pack must hold more than 0 g, not nan"),
        (lambda: feeding.supply_days(250, 0), "a pack is used up only by more than 0 g a day, not 0"),
        (
            lambda: feeding.order_on(dt.date(2027, 1, 1), -1, 14),
            "a pack lasts 0 days or more, and is ordered 0 days or more ahead",
        ),
        (
            lambda: feeding.order_on(dt.date(2027, 1, 1), 10, -14),
            "a pack lasts 0 days or more, and is ordered 0 days or more ahead",
        ),
    ],
)
def test_impossible_packs_are_refused(ask, message):
    with pytest.raises(ValueError) as refused:
        ask()
    assert str(refused.value) == message
