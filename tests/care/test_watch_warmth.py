"""Water and basking places out of the band of the species: the limits, the duration, and the heater."""

from __future__ import annotations

import pytest
from support.care.watching import IN_US, TANK, follows, said, switched_off

NO_HEATER = TANK.replace('heater = [{power = "200 W", set_to = "25 degC"}]\n', "")


@pytest.mark.parametrize(
    ("lines", "text", "words"),
    [
        (["2026-12-01 temperature 17.9"], TANK,
         "act: The water was 17.9 °C on 1 December 2026, in one reading so far. These animals want 22-26 °C; under 18 °C "
         "is an alarm. A check of the heater is due at once."),
        (["2026-12-01 temperature 18"], TANK,
         "look: The water was 18 °C on 1 December 2026, in one reading so far. These animals want 22-26 °C. A check of "
         "the heater is due at once."),
        (["2026-12-01 temperature 26.1", "2026-12-02 temperature 30.1"], TANK,
         "act: The water was 30.1 °C on 2 December 2026, for 1 day of readings, since 1 December 2026. These animals want "
         "22-26 °C; over 30 °C is an alarm. A check of the heater is due at once."),
        (["2026-12-01 23:00 temperature 20", "2026-12-02 01:00 temperature 20"], TANK,
         "look: The water was 20 °C on 2 December 2026, for 1 day of readings, since 1 December 2026. These animals want "
         "22-26 °C. A check of the heater is due at once."),
        (["2026-12-01 08:00 temperature 20", "2026-12-01 08:10 temperature 20"], TANK,
         "look: The water was 20 °C on 1 December 2026, for 1 h of readings. These animals want 22-26 °C. A check of the "
         "heater is due at once."),
        # From too warm to too cold is a new run.
        (["2026-12-01 temperature 28", "2026-12-03 temperature 20"], TANK,
         "look: The water was 20 °C on 3 December 2026, in one reading so far. These animals want 22-26 °C. A check of "
         "the heater is due at once."),
        (["2026-12-01 temperature 17.5"], IN_US,
         "act: The water was 63.5 °F on 1 December 2026, in one reading so far. These animals want 72-79 °F; under 64 °F "
         "is an alarm. A check of the heater is due at once."),
        (["2026-12-01 temperature 20"], NO_HEATER,
         "look: The water was 20 °C on 1 December 2026, in one reading so far. These animals want 22-26 °C. Find the cause, and measure again today: nothing changes in the plan."),
        (["2026-12-01 temperature 20"], switched_off("heater-check"),
         "look: The water was 20 °C on 1 December 2026, in one reading so far. These animals want 22-26 °C. Find the cause, and measure again today: nothing changes in the plan."),
        (["2026-12-01 basking 38"], TANK,
         "look: The basking surface was 38 °C on 1 December 2026, in one reading so far. These animals want 30-35 °C. "
         "Nothing changes in the plan: raise the lamp, or take a weaker one, and measure again after an hour. Lamps are "
         "moved unplugged and cold."),
        (["2026-12-01 basking 38.2"], TANK,
         "act: The basking surface was 38.2 °C on 1 December 2026, in one reading so far. These animals want 30-35 °C; "
         "over 38 °C is an alarm. Nothing changes in the plan: raise the lamp, or take a weaker one, and measure again "
         "after an hour. Lamps are moved unplugged and cold."),
        (["2026-12-01 basking 24"], TANK,
         "look: The basking surface was 24 °C on 1 December 2026, in one reading so far. These animals want 30-35 °C. "
         "Nothing changes in the plan: lower the lamp, or take a stronger one, and measure again after an hour. Lamps are "
         "moved unplugged and cold. Lower it not nearer to the basking place than 15 cm, half the distance at which it was "
         "read (UVI 7 is the most for these animals), and no nearer to anything than its maker allows, since lamps start "
         "fires (Merck Veterinary Manual: 46 cm at least for 50 to 75 W). Measure the UVI again before an animal goes under "
         "it."),
    ],
)  # fmt: skip
def test_out_of_the_band_it_is_told_how_far_and_how_long(lines, text, words):
    assert said(lines, text) == [words]
    checks = [name for name in follows(lines, text) if name.startswith("heater-check")]
    assert bool(checks) == ("A check of the heater" in words)


@pytest.mark.parametrize(
    "line", ["2026-12-01 temperature 22", "2026-12-01 temperature 26", "2026-12-01 basking 30"]
)
def test_on_the_edge_of_the_band_all_is_well(line):
    assert said([line]) == []


def test_a_check_that_was_made_is_not_asked_for_again():
    lines = ["2026-12-01 temperature 20", "2026-12-02 did heater-check", "2026-12-05 temperature 20"]
    (words,) = said(lines)
    assert words.endswith(
        "The heater was checked on 2 December 2026: find another cause, and measure again today."
    )
    # A check from before it began to be cold says nothing about it.
    (words,) = said(["2026-11-30 did heater-check", *lines[::2]])
    assert words.endswith("A check of the heater is due at once.")


def test_hatchlings_have_their_own_band():
    young = TANK.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "3 cm"')
    (words,) = said(["2026-12-01 temperature 24"], young)
    assert "These animals want 25-28 °C" in words
