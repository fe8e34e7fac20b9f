"""The description as the record leaves it: what was measured since, and what that does to meals, growth and rinses."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import NEW, TANK, case_of, follows

from scheduler import care

DATED = TANK.replace('carapace = "12 cm"', 'measured = 2026-12-05, carapace = "12 cm"')


@pytest.mark.parametrize(
    ("lines", "text", "carapace", "mass", "measured"),
    [
        ([], TANK, 12.0, 300.0, None),
        # Without a day the sizes of the description are of its arrival, on 20 October.
        (["2026-10-19 length.wren 14", "2026-10-19 weight.wren 340"], TANK, 12.0, 300.0, None),
        (["2026-10-20 length.wren 14", "2026-10-20 weight.wren 340"], TANK, 14.0, 340.0, "2026-10-20"),
        (["2026-12-04 length.wren 14", "2026-12-04 weight.wren 340"], DATED, 12.0, 300.0, "2026-12-05"),
        (["2026-12-05 length.wren 14", "2026-12-05 weight.wren 340"], DATED, 14.0, 340.0, "2026-12-05"),
        # The newest wins, in whatever order it was written down.
        (["2027-01-09 length.wren 14.2", "2026-12-09 length.wren 14"], TANK, 14.2, 300.0, "2027-01-09"),
        (["2026-12-09 20:00 weight.wren 350", "2026-12-09 08:00 weight.wren 340"], TANK, 12.0, 350.0, None),
        (["2026-12-09 weight.somebody 350"], TANK, 12.0, 300.0, None),
    ],
)  # fmt: skip
def test_the_newest_size_is_the_animals(lines, text, carapace, mass, measured):
    (wren,) = case_of(lines, text).enclosure.resident
    assert (wren.carapace, wren.mass) == (carapace, mass)
    assert wren.measured == (dt.date.fromisoformat(measured) if measured else None)


def test_what_was_described_is_still_known():
    case = case_of(["2026-12-09 length.wren 14"])
    assert (case.described.resident[0].carapace, case.enclosure.resident[0].carapace) == (12.0, 14.0)


def test_meals_and_warmth_follow_the_size():
    hatchling = TANK.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "3 cm"')
    hatchling = hatchling.replace(", meals_a_week = 3", "")
    grown = ["2027-01-20 length.wren 12"]
    small, large = case_of([], hatchling), case_of(grown, hatchling)
    assert (small.water_band, large.water_band) == ((25.0, 28.0), (22.0, 26.0))
    assert small.number("ration") > large.number("ration")


def test_space_follows_the_size():
    # A species whose growth is published (its sheet names the source).
    mapped = TANK.replace('species = "painted turtle"', 'species = "northern map turtle", sex = "female"')
    mapped = mapped.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "8 cm"')

    def outgrown(lines):
        (job,) = [
            j
            for j in care.jobs_of(case_of(lines, mapped))
            if (j.key, j.variant) == ("space-review", "outgrown")
        ]
        return job.cadence.days[0]

    # Larger than it would have grown by then, it outgrows the tank earlier; smaller, later.
    assert outgrown(["2026-12-20 length.wren 9.5"]) < outgrown([]) < outgrown(["2026-12-20 length.wren 8"])


@pytest.mark.parametrize(
    ("lines", "turn"),
    [
        (["2026-12-01 did media-rinse"], "Take out half 1, trays 1 to 2 of 4, counted from the top: a half was rinsed on 1 December 2026. Leave that one alone."),
        (["2026-12-01 did media-rinse 2"], "Take out half 1, trays 1 to 2 of 4, counted from the top: the other half was rinsed on 1 December 2026. Leave that one alone."),
    ],
)  # fmt: skip
def test_the_other_half_is_next(lines, turn):
    (rinse,) = [job for job in care.jobs_of(case_of(lines)) if job.key == "media-rinse"]
    assert turn in rinse.notes().steps


def test_only_the_last_rinse_is_tested_after():
    lines = ["2026-11-01 did media-rinse 1", "2026-12-01 did media-rinse 2"]
    assert follows(lines) == {"water-test/rinse-2026-12-01": ["2026-12-03", "2026-12-05", "2026-12-08"]}
    # The daily test of a new filter sees it anyway.
    assert follows(lines, NEW) == {}
