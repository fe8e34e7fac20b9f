"""pH and alkalinity: the whole sentence, the limits, and that nothing of it goes against what ammonia asks for."""

from __future__ import annotations

import pytest
from support.care.watching import TANK, said

ACID = (
    "Measure again now, with a fresh sample and another kit where there is one. Test ammonia and alkalinity with it, and the pH of the tap. Acid water stops the "
    "bacteria of the filter, so that ammonia rises; new water lifts the pH, and with it the part of the ammonia that harms. So no large change at once: where "
    "there is any ammonia bind it first, with a conditioner that binds ammonia, by its label, then change 20 % a day, with a test of pH and ammonia before each. No "
    "powder or drops that lift the pH at once. Call a vet who knows reptiles where an animal is listless, or skin or eyes are red."
)
# Emerson et al. 1975: at pH 9.6 and 25 degC 1/(1 + 10^(9.2464 - 9.6)) = 69.3 % of total ammonia are un-ionised.
ALKALINE = (
    "Measure again now, with a fresh sample and another kit where there is one. Test ammonia with it, and the pH of the tap. At this pH and 25 °C 69 % of all "
    "ammonia is of the kind that harms. Look for what lifts the pH: limestone, shells, concrete, a new product, soap. Take it out; no acid into the water. Where "
    "the tap's pH is lower, change 25 % of the water today, and measure again. Call a vet who knows reptiles where an animal is listless, or skin or eyes are red."
)

WHOLE = [
    (
        ["2026-12-01 ph 5.2"],
        [f"act: The water had pH 5.2 on 1 December 2026. It is acted on from 6 down. {ACID}"],
    ),
    (
        ["2026-12-01 ph 9.6"],
        [f"act: The water had pH 9.6 on 1 December 2026. It is acted on from 9 up. {ALKALINE}"],
    ),
    (
        ["2026-11-24 ph 8.0", "2026-12-01 ph 6.4"],
        [
            "act: The water had pH 6.4 on 1 December 2026, 1.6 lower than on 24 November 2026 (pH 8). A change is acted on from 1 on. "
            + ACID
        ],
    ),
]


@pytest.mark.parametrize(("lines", "words"), WHOLE)
def test_a_ph_that_means_something_says_what(lines, words):
    assert said(lines) == words


LIMITS = [
    # readings, whether something follows (6, 9 and a change of 1 within 30 days: house values; limits count at the value)
    (["2026-12-01 ph 6.1"], False),
    (["2026-12-01 ph 6"], True),
    (["2026-12-01 ph 8.9"], False),
    (["2026-12-01 ph 9"], True),
    (["2026-11-24 ph 7.5", "2026-12-01 ph 6.6"], False),
    (["2026-11-24 ph 7.5", "2026-12-01 ph 6.5"], True),
    (["2026-11-24 ph 7.5", "2026-12-01 ph 8.5"], True),
    (["2026-10-25 ph 7.5", "2026-12-01 ph 6.5"], False),
    # Back again: over.
    (["2026-12-01 ph 5.2", "2026-12-01 ph 7.5", "2026-12-02 ph 7.5"], False),
]


@pytest.mark.parametrize(("lines", "follows"), LIMITS)
def test_where_the_limits_are(lines, follows):
    assert [w.split(":")[0] for w in said(lines)] == (["act"] if follows else [])


def test_the_keepers_own_limits():
    text = TANK.replace("[[enclosure]]", "[site.house_values]\nph_low = 5.0\nph_step = 2.0\n[[enclosure]]")
    assert said(["2026-11-24 ph 7.0", "2026-12-01 ph 5.2"], text) == []


def test_acid_water_and_ammonia_agree():
    words = said(["2026-12-01 ph 5.2", "2026-12-01 ammonia 1"])
    of_ammonia = next(w for w in words if "Ammonia was" in w)
    assert "ind the ammonia in the tank first" in of_ammonia and "20 %" in of_ammonia
    assert not any("50 %" in w or "25 %" in w for w in words)


ALKALINITY = [
    # mg/L as CaCO3; 50 and 20: house values
    ("51", []),
    ("50", ["look: Alkalinity was 50 mg/L (as CaCO3) on 1 December 2026. From 50 down the pH may fall at any time, and the filter with it. Measure the pH today. "
            "Measure that of the tap: where it is as low, ask a reptile vet or the utility what may be added."]),
    ("20", ["act: Alkalinity was 20 mg/L (as CaCO3) on 1 December 2026. From 20 down the pH may fall at any time, and the filter with it. Measure the pH today. "
            "Measure that of the tap: where it is as low, ask a reptile vet or the utility what may be added."]),
]  # fmt: skip


@pytest.mark.parametrize(("value", "words"), ALKALINITY)
def test_alkalinity_is_recorded_and_means_something(value, words):
    assert said([f"2026-12-01 alkalinity {value}"]) == words


def test_a_tap_with_more_is_the_way_out():
    text = TANK.replace("[[enclosure]]", '[site.tap_water]\nalkalinity = "120 mg/L"\n[[enclosure]]')
    (words,) = said(["2026-12-01 alkalinity 40"], text)
    assert words.endswith("New water brings 120: smaller changes that come more often hold it up.")
