"""The tank's own nitrate: when its readings move the water changes, and that no single one of them does."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.care.watching import NEW, TANK, case_of, said

from scheduler import care

# 3 g x 3 a week x 0.4 x 0.16 are 0.0823 g of nitrogen a day, 0.364 g of nitrate: 1.82 mg/L in 200 L.
# 40 mg/L x 0.5 / 1.82 = 10.99 days, to the day. By readings from a week on in whole weeks.
BY_FOOD = 10
UNFED = TANK.replace("feed = {grams = 3, protein = 0.4, meals_a_week = 3}", "")


def record(
    rate: float, weeks: int = 10, noise: float = 0.8, seed: int = 1, changes: bool = True
) -> list[str]:
    """Return a tank's record: nitrate rises by `rate` a day; each week it is read, and then half the water changed."""
    rng = np.random.default_rng(seed)
    level, lines, first = 10.0, [], dt.date(2026, 11, 1)
    for week in range(weeks):
        day = first + dt.timedelta(days=7 * week)
        lines.append(f"{day} nitrate {max(0.0, level + rng.normal(0.0, noise)):.1f}")
        if changes:
            lines.append(f"{day} did water-change 0.5")
            level *= 0.5
        level += rate * 7.0
    return lines


def interval(lines: list[str], text: str = TANK) -> float:
    return case_of(lines, text).number("water_change_interval")


def test_what_the_food_asks_for():
    assert (interval([]), interval([], UNFED)) == (BY_FOOD, 14)


@pytest.mark.parametrize(
    ("lines", "text", "words"),
    [
        (record(4.0, seed=3), TANK,
         ["look: Nitrate was 59 mg/L on 3 January 2027. The limit is 40.",
          "look: By 10 nitrate readings it rises by 4 mg/L a day (3.1 to 5.1). Two readings in a row ask for changes "
          "more often. By the food changes would come every 10 days. Changes come every "
          "4 days."]),
        (record(0.4, seed=3), TANK,
         ["look: By 10 nitrate readings it rises by 0.42 mg/L a day (0.3 to 0.87). Two readings in a row ask for changes "
          "less often. By the food changes would come every 10 days. Changes come every "
          "14 days."]),
        (record(1.6, seed=3), TANK,
         ["fine: By 10 nitrate readings it rises by 1.6 mg/L a day (1.2 to 2.1). That agrees with the plan. By the food "
          "changes would come every 10 days. The plan stays as it is."]),
        (["2026-12-01 nitrate 40.3"], TANK,
         ["look: Nitrate was 40.3 mg/L on 1 December 2026. The limit is 40. Test nitrate each week: one reading moves nothing, "
          "3 over 14 days tell the tank's own rate."]),
        (["2026-12-01 nitrate 85"], TANK,
         ["act: Nitrate was 85 mg/L on 1 December 2026. The limit is 80. Measure nitrate again tomorrow, in a fresh sample: a "
          "second reading as high brings an extra change."]),
        (["2026-12-01 nitrate 40"], TANK,
         ["look: Nitrate was 40 mg/L on 1 December 2026. The limit is 40. Test nitrate each week: one reading moves nothing, "
          "3 over 14 days tell the tank's own rate."]),
        (["2026-12-01 nitrate 39.9"], TANK, []),
    ],
)  # fmt: skip
def test_a_record_says_its_rate_and_what_that_moves(lines, text, words):
    assert said(lines, text) == words


@pytest.mark.parametrize("rate", [0.4, 1.8, 3.0, 5.0, 9.0])
@given(value=st.floats(0.0, 400.0), days_after=st.integers(1, 20), seed=st.integers(0, 3))
def test_one_wild_reading_more_moves_no_settled_plan(rate, value, days_after, seed):
    lines = record(rate, seed=seed)
    level = 10.0
    for _ in range(9):
        level = level * 0.5 + rate * 7.0
    expected = level * 0.5 + rate * days_after
    # What lies within the scatter is not wild: the rate may follow it as it follows every reading.
    wild = abs(value - expected) > 8.0
    last = dt.date(2027, 1, 3) + dt.timedelta(days=days_after)
    before, after = interval(lines), interval([*lines, f"{last} nitrate {value:.0f}"])
    assert before == after if wild or rate == 1.8 else abs(before - after) <= 1


@given(st.integers(0, 9), st.floats(0.0, 400.0), st.integers(0, 5))
def test_one_reading_replaced_never_moves_a_plan_that_is_as_the_food_asks(place, value, seed):
    lines = record(1.8, seed=seed)
    lines[2 * place] = f"{lines[2 * place][:10]} nitrate {value:.0f}"
    assert interval(lines) == BY_FOOD


def test_a_reading_that_does_not_fit_is_named():
    lines = record(4.0, seed=3)
    (before,) = [t for t in said(lines) if "By 10 nitrate readings" in t]
    (after,) = [t for t in said([*lines, "2027-01-10 nitrate 150"]) if "nitrate readings" in t]
    assert after == (
        "look: By 10 nitrate readings without that of 10 January 2027, which does not fit, it rises by 4 mg/L a day (3 to "
        "5.7). Two readings in a row ask for changes more often. By the food changes would come every 10 days. Changes "
        "come every 4 days."
    )
    assert before.endswith("Changes come every 4 days.")


def test_where_the_food_is_not_known_one_reading_moves_nothing_either():
    lines = record(1.0, weeks=6)
    assert interval(lines, UNFED) == 14
    assert interval([*lines, "2027-01-01 nitrate 200"], UNFED) == 14
    assert interval(record(8.0), UNFED) == 2


def test_changes_that_nobody_wrote_down_make_nothing_rarer():
    # The same glass of water every week: either nothing rises, or somebody changes water and does not say so.
    even = [f"2026-11-{day:02} nitrate 20" for day in (1, 8, 15, 22, 29)]
    assert interval(even) == BY_FOOD
    assert said(even) == [
        "fine: By 5 nitrate readings it rises by 0.56 mg/L a day (0.22 to 1.2). It asks for changes less often, but no water "
        "change is on record between them. By the food changes would come every 10 days. The plan stays as it is."
    ]
    falling = [f"2026-11-{day:02} nitrate {60 - day}" for day in (1, 8, 15, 22, 29)]
    assert interval(falling) == BY_FOOD
    assert said(falling) == [
        "fine: By 5 nitrate readings it rises by 0.78 mg/L a day (0.29 to 1.7). It asks for changes less often, but between "
        "changes it cannot fall: a change is not on record, or plants take it up. By the food changes would come every "
        "10 days. The plan stays as it is."
    ]


@given(st.lists(st.integers(0, 60), min_size=5, max_size=9), st.booleans(), st.booleans())
def test_any_record_gives_a_plan_within_the_customary_two_weeks(values, fed, changed):
    first = dt.date(2026, 11, 1)
    lines = [f"{first + dt.timedelta(days=4 * n)} nitrate {value}" for n, value in enumerate(values)]
    if changed:
        lines.append("2026-11-06 did water-change 0.3")
    text = TANK if fed else UNFED
    assert 1 <= interval(lines, text) <= 14
    for words in said(lines, text):
        assert not any(odd in words for odd in ("nan", "inf", "e-", "e+", "-0 "))
    (change, *_) = [job for job in care.jobs_of(case_of(lines, text)) if job.key == "water-change"]
    assert change.notes().text(explain=True)


def test_the_keepers_interval_is_the_longest():
    own = TANK + '[enclosure.job.water-change]\nevery = "9 days"\n'
    assert interval(record(0.3, seed=2), own) == 9
    assert interval(record(3.9, seed=2), own) == 4
    assert interval(record(4.0), TANK + "[enclosure.job.water-change]\nshare = 0.25\n") < interval(
        record(4.0)
    )


def test_a_tank_without_changes_that_come_back_is_told_no_rhythm():
    single = TANK + "[enclosure.job.water-change]\non = [2027-02-10]\n"
    assert [t for t in said(record(4.0), single) if "nitrate readings" in t] == []


def test_a_new_filter_has_its_own_nitrate_too():
    assert interval(record(4.0), NEW) == interval(record(4.0))
