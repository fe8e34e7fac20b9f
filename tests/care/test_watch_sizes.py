"""Weights and lengths against the description and the species: slips are asked about, what is far off is a consequence."""

from __future__ import annotations

import datetime as dt

import pytest
from support.care.watching import TANK, load, said

from scheduler.history import NO_HISTORY
from scheduler.workflow.record import readings
from scheduler.workflow.record.standing import RecordContext

NO_MASS = TANK.replace(', mass = "300 g"', "")

WHOLE = [
    # The description: a painted turtle of 12 cm and 300 g, of 20 October 2026.
    (
        ["2026-12-01 weight.wren 3000"],
        TANK,
        "act: Wren weighed 3000 g on 1 December 2026. The description has 300 g. That looks like a slip of the decimal point: weigh again today, and take the wrong "
        "reading back. If it is right, call a reptile vet today.",
    ),
    (
        ["2026-12-01 weight.wren 460"],
        TANK,
        "act: Wren weighed 460 g on 1 December 2026. The description has 300 g. Weigh again today, on the same scale; mend the description where it was wrong. If it "
        "is right, call a reptile vet today.",
    ),
    (
        # 0.10 to 0.20 g/cm3, half as much again either way: 115 to 518 g for 12 cm (house rule).
        ["2026-12-01 weight.wren 30"],
        NO_MASS,
        "act: Wren weighed 30 g on 1 December 2026. A carapace of 12 cm goes with 115 g to 518 g (house rule). That looks like a slip of the decimal point: weigh again "
        "today, and take the wrong reading back. If it is right, call a reptile vet today.",
    ),
    (
        ["2026-12-01 length.wren 120"],
        TANK,
        "look: Wren measured 120 cm on 1 December 2026. The longest adult Chrysemys picta of its sheet has 25 cm. Measure again today, in a straight line; mend the "
        "description where it was wrong.",
    ),
]


@pytest.mark.parametrize(("lines", "text", "words"), WHOLE)
def test_what_does_not_fit_is_told(lines, text, words):
    assert words in said(lines, text)


FITS = [
    # readings, description, how many lines (factors of 1.5, after half a year of 3: house values)
    (["2026-12-01 weight.wren 310"], TANK, 0),
    (["2026-12-01 weight.wren 450"], TANK, 0),
    (["2026-12-01 weight.wren 451"], TANK, 1),
    (["2026-12-01 weight.wren 115.2"], NO_MASS, 0),
    (["2026-12-01 weight.wren 115.1"], NO_MASS, 1),
    # Half a year on a young animal may have grown a lot.
    (["2027-06-01 weight.wren 600"], TANK, 0),
    (["2027-06-01 weight.wren 901"], TANK, 1),
    # It fits the length that was measured since.
    (["2026-12-01 weight.wren 500", "2026-12-01 length.wren 15"], TANK, 0),
    # Read again and near: no slip, and the keeper was asked once.
    (["2026-12-01 weight.wren 3000", "2026-12-02 weight.wren 310"], TANK, 0),
    (["2026-12-01 length.wren 17.9"], TANK, 0),
    (["2026-12-01 length.wren 18.1"], TANK, 1),
]


@pytest.mark.parametrize(("lines", "text", "many"), FITS)
def test_where_the_limits_are(lines, text, many):
    found = [w for w in said(lines, text, "2027-07-01") if "again today" in w]
    assert len(found) == many, found


ASKED = [
    # the first reading of an animal, what is asked before it is kept
    ("weight.wren", "3000 g", ["weight of Wren: 3000 g is far off; the description has 300 g"]),
    ("weight.wren", "310 g", []),
    ("length.wren", "1.2 cm", ["length of the carapace: 1.2 cm is unlikely; expected 2 cm to 60 cm"]),
    ("length.wren", "30 cm", ["length of the carapace of Wren: 30 cm is far off; the longest adult Chrysemys picta of its sheet has 25 cm"]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value", "words"), ASKED)
def test_the_first_reading_is_asked_about_too(name, value, words):
    site, today = load(TANK), dt.date(2026, 12, 1)
    entries, _ = readings.parsed_values(site, site.enclosures[0], [f"{name}={value}"], None)
    known = RecordContext(site, today, NO_HISTORY)
    assert readings.doubts_of(known, site.enclosures[0], entries, today) == words
