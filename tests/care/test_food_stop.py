"""No food while the water is poisonous: for how long, whom it is told, and what comes after."""

from __future__ import annotations

import pytest
from support.care.watching import TANK, follows, history, in_order, meaning, notes
from support.recorded import listed, planned

# 4 cm are under 0.4 of a painted turtle's 13.6 cm (the middle of its range): a hatchling.
HATCHLING = TANK.replace('carapace = "12 cm", mass = "300 g"', 'carapace = "4 cm", mass = "12 g"')
LINES = ["2026-12-01 nitrite 1"]


def said(lines, today, text=TANK):
    return [in_order(c) for c in meaning(lines, text, today) if c.key == "feed"]


@pytest.mark.parametrize(
    ("text", "last", "again", "limit"),
    [
        (TANK, "2026-12-05", "2026-12-06", "The house limit without food is 5 days."),
        (
            HATCHLING,
            "2026-12-02",
            "2026-12-03",
            "The house limit without food is 2 days for Wren, still a hatchling.",
        ),
        (
            TANK.replace("[[enclosure]]", '[site.house_values]\nno_food = "3 days"\n[[enclosure]]', 1),
            "2026-12-03",
            "2026-12-04",
            "Your limit without food is 3 days.",
        ),
        (
            HATCHLING.replace(
                "[[enclosure]]", '[site.house_values]\nno_food_young = "1 day"\n[[enclosure]]', 1
            ),
            "2026-12-01",
            "2026-12-02",
            "Your limit without food is 1 day for Wren, still a hatchling.",
        ),
    ],
)
def test_feed_nothing_ends_and_then_the_vet_is_called(text, last, again, limit):
    def day(iso):
        return f"{int(iso[8:])} December 2026"

    since = "Since 1 December 2026 there is too much nitrite in the water. "
    assert said(LINES, last, text) == [
        f"look: {since}{limit} Feed nothing until a test is clean, and not longer than to {day(last)}. From {day(again)} on call a "
        "vet who knows reptiles, and feed a third of the usual amount, taken out after 5 minutes."
    ]
    assert said(LINES, again, text) == [
        f"act: {since}{limit} Call a vet who knows reptiles today, and feed a third of the usual amount, taken out after 5 minutes, "
        "until a test is clean."
    ]


def test_the_feeding_jobs_say_so():
    text = notes(LINES, "feed/adult")
    assert text.split("\n")[:4] == [
        "1. Since 1 December 2026 there is too much nitrite in the water: feed nothing until a test is clean, and not longer than to "
        "5 December 2026.",
        "2. No clean test by then: from 6 December 2026 on call a vet who knows reptiles, and feed a third of the usual amount, taken "
        "out after 5 minutes.",
        "3. Read the water temperature: under 15 °C (59 °F) do not feed, find out why it is cold.",
        "4. Once a test is clean: give 3 g of pellets for Wren.",
    ]
    plain = notes([], "feed/adult")
    assert "feed nothing" not in plain
    assert "\n2. Give 3 g of pellets for Wren." in plain


@pytest.mark.parametrize(("lines", "title"), [(LINES, "feed (read the note first)"), ([], "feed")])
def test_the_title_sends_to_the_note(lines, title):
    plan = planned(TANK, "2026-12-01", history("2026-11-20", lines))
    assert {s.job.title for s in plan.series if s.job.key == "feed"} == {title}


def test_the_extra_change_says_it_too():
    assert (
        "Since 1 December 2026 there is too much nitrite in the water: feed nothing until a test is clean"
        in notes(LINES, "water-change/alarm-2026-12-01")
    )


def test_feeding_keeps_its_days():
    def days(lines):
        return listed(planned(TANK, "2026-12-02", history("2026-11-20", lines)), "feed", 7)

    assert days([]) == days(LINES)


@pytest.mark.parametrize(
    ("more", "since"),
    [
        ([], "1 December"),
        # A high test does not begin it anew, or it would never end.
        (["2026-12-03 nitrite 1"], "1 December"),
        # A clean test ends it, although the alarm takes two; one of the same day is none.
        (["2026-12-03 nitrite 0"], None),
        (["2026-12-01 20:00 nitrite 0"], "1 December"),
        (["2026-12-03 nitrite 0", "2026-12-04 nitrite 1"], "4 December"),
        # One substance takes over from the other.
        (["2026-12-02 ammonia 3", "2026-12-03 nitrite 0"], "1 December"),
        (["2026-12-03 nitrite 0", "2026-12-03 ammonia 3"], "1 December"),
        (["2026-12-03 nitrite 0", "2026-12-04 ammonia 3"], "4 December"),
        (["2026-12-02 ammonia 3", "2026-12-03 nitrite 0", "2026-12-03 ammonia 0"], None),
    ],
)
def test_it_counts_from_the_first_day_without_food(more, since):
    found = said([*LINES, *more], "2026-12-04")
    assert [words.split(" 2026")[0] for words in found] == ([f"look: Since {since}"] if since else [])


def test_two_substances_are_named_together():
    (words,) = said(["2026-12-01 nitrite 1", "2026-12-01 ammonia 3"], "2026-12-01")
    assert words.startswith(
        "look: Since 1 December 2026 there is too much ammonia and nitrite in the water. "
    )


def test_a_hatchling_that_comes_later_does_not_count():
    two = TANK.replace(
        "arrived = 2026-10-20}",
        'arrived = 2026-10-20}, {name = "Teal", species = "painted turtle", carapace = "4 cm", arrived = 2026-12-02}',
    )
    (before,) = said(["2026-12-01 nitrite 1"], "2026-12-01", two)
    (after,) = said(["2026-12-02 nitrite 1"], "2026-12-02", two)
    assert "The house limit without food is 5 days. " in before
    assert "The house limit without food is 2 days for Teal, still a hatchling. " in after
    assert follows(["2026-12-01 nitrite 1"], two)
