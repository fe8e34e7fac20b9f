"""Who lives together: what the review says about sizes, sexes, species and quarantine, each with its reason and source."""

from __future__ import annotations

import datetime as dt

import pytest
from support.recorded import load

from scheduler import care
from scheduler.care.findings import together

RULES = (together.sizes, together.sexes, together.species, together.quarantined)
TODAY = dt.date(2026, 12, 1)

TUB = """
[site]
name = "Withy Barn"
time_zone = "Europe/Dublin"
[[enclosure]]
name = "Trough"
kind = "tub"
set_up = 2025-03-01
room = "barn"
length = "200 cm"
width = "100 cm"
height = "60 cm"
water_depth = "40 cm"
covered = true
"""

SLIDER = '[[enclosure.resident]]\nname = "Sedge"\nspecies = "Trachemys scripta"\nsex = "female"\ncarapace = "25 cm"\n'
MUSK = '[[enclosure.resident]]\nname = "Bead"\nspecies = "musk turtle"\ncarapace = "3 cm"\n'


def animal(name, species, carapace, sex="unknown", more=""):
    return f'[[enclosure.resident]]\nname = "{name}"\nspecies = "{species}"\nsex = "{sex}"\ncarapace = "{carapace} cm"\n{more}'


def said(text, today=TODAY):
    """Return what the review says about who lives together: verdict, key, sentences, source."""
    (case,) = [c for c in care.cases(load(text), today) if c.enclosure.id == "trough"]
    found = [f for judge in RULES for f in judge(case)]
    assert set(found) <= set(care.review(case).findings)
    return [f"{f.verdict} {f.key}: {f.text} [{f.source}]" for f in found]


def test_a_slider_with_a_small_musk_turtle():
    assert said(TUB + SLIDER + MUSK) == [
        "act daily-look: Sedge (25 cm) is 8.3 times as long as Bead (3 cm); from 2 times on it is a danger: a bite that scratches the one costs "
        "the other a foot or its life, and the smaller gets neither food nor a place to bask. Part them today. [animals of one enclosure: the longest "
        "from 1.5 times as long as the shortest on look, from 2 times on act (house value)]",
        "look uvi-reading: Their needs of ultraviolet differ (Sternotherus odoratus: zone 2; Trachemys scripta: zone 3): light that suits one is too "
        "strong or too weak for the other. Keep them apart, or give a bright and a weak basking place and full shade, and measure at both. [zones "
        "of UV Index: Ferguson et al. 2010, Photochem. Photobiol. 86, read as restated by others (published)]",
        "look daily-look: Sternotherus odoratus and Trachemys scripta live together. No two turtles need each other's company. Each wants its own "
        "water, food and light, and what one carries may harm the other: common advice is one species to an enclosure. [one species to an enclosure "
        "(common practice)]",
    ]


SIZES = [
    # carapaces in cm, species, sexes, verdict (limits of 1.5 and 2: house values)
    ((20, 14), ("slider", "slider"), ("female", "female"), None),
    ((21, 14), ("slider", "slider"), ("female", "female"), "look"),
    ((27.9, 14), ("slider", "slider"), ("female", "female"), "look"),
    ((28, 14), ("slider", "slider"), ("female", "female"), "act"),
    # Grown map turtles: females 18-27.3, males 9-15.9 cm (Toronto Zoo).
    ((26, 11), ("northern map turtle",) * 2, ("female", "male"), "look"),
    # A male that is not grown is only small.
    ((26, 4), ("northern map turtle",) * 2, ("female", "male"), "act"),
    ((26, 11), ("northern map turtle",) * 2, ("female", "female"), "act"),
]  # fmt: skip


@pytest.mark.parametrize(("carapaces", "species", "sexes", "verdict"), SIZES)
def test_sizes_are_held_against_each_other(carapaces, species, sexes, verdict):
    text = TUB + "".join(map(animal, ("Reed", "Iris"), species, carapaces, sexes))
    found = [line.split()[0] for line in said(text) if "as long as" in line]
    assert found == ([verdict] if verdict else [])


def test_animals_of_no_known_length_bring_no_ratio():
    assert said(TUB + SLIDER + '[[enclosure.resident]]\nname = "Bead"\n') == []


def test_males_together_and_few_females():
    two = animal("Oak", "slider", 18, "male") + animal("Elm", "slider", 19, "male")
    assert said(TUB + two) == [
        "look daily-look: Trachemys scripta: 2 males live together (Elm and Oak). Males may fight at any time, also after years: see daily that each of "
        "them basks and eats; at the first bite wound part them. Keep an enclosure ready for that. [males of small, very aquatic species are aggressive: "
        "German federal expert report of 10 January 1997, legend, as restated; for other species common practice, no published source (published)]"
    ]
    one = animal("Oak", "slider", 18, "male") + animal("Ash", "slider", 22, "female")
    assert said(TUB + one) == [
        "look daily-look: Trachemys scripta: 1 female (Ash) to 1 male (Oak), fewer than 2 to one. Courting males give few females no rest, and bite: "
        "look at necks, feet and tails for bites, and part them where a female no longer eats, basks or leaves the land. A female that was with a male "
        "may lay eggs: ask the vet for what she needs. [at least 2 females to a male, where they live together: custom (house value)]"
    ]


SEXES = [
    # residents, how many lines (2 females to a male: house value, after custom of the trade)
    ((("male", 18, 1), ("female", 22, 2)), 0),
    ((("male", 18, 1), ("female", 22, 1)), 1),
    ((("male", 18, 2),), 1),
    ((("male", 18, 2), ("female", 22, 3)), 2),
    # Nobody fights over a mate before it is grown.
    ((("male", 6, 2),), 0),
    ((("unknown", 18, 4),), 0),
    ((("female", 22, 4),), 0),
]  # fmt: skip


@pytest.mark.parametrize(("residents", "lines"), SEXES)
def test_sexes_are_counted_once_they_are_grown(residents, lines):
    text = TUB + "".join(
        animal(f"Group {n}", "slider", cm, sex, f"count = {count}\n")
        for n, (sex, cm, count) in enumerate(residents)
    )
    assert len([line for line in said(text) if "male" in line]) == lines


def test_species_of_different_continents():
    text = TUB + animal("Oak", "slider", 18) + animal("Fen", "European pond turtle", 16)
    assert said(text) == [
        "act daily-look: Species of different continents live together (Emys orbicularis: Africa, Asia and Europe; Trachemys scripta: North America). "
        "What one carries without harm can kill the other, and the larger crowds the smaller out: keep them apart, and ask a reptile vet which tests both "
        "need now. [European pond turtles kept with sliders lost weight and many died: Cadi & Joly 2004, Biodiversity and Conservation 13:2511, abstract; "
        "that others of different continents are kept apart is common practice, no published source (published)]"
    ]


def test_a_continent_in_common_is_no_danger():
    # Emys orbicularis and Pelusios castaneus both live in Africa.
    text = TUB + animal("Oak", "Pelusios castaneus", 18) + animal("Fen", "European pond turtle", 16)
    assert [line.split(":")[0] for line in said(text)] == ["look daily-look"]


OLD = animal("Oak", "slider", 18, "female", "arrived = 2025-03-01\n")
NEW = animal("Ash", "slider", 20, "female", "arrived = 2026-11-20\nquarantine = true\n")
HALL = TUB.replace("Trough", "Basin").split("[[enclosure]]")[1]


def test_quarantine_beside_others():
    assert said(TUB + OLD + NEW) == [
        "act quarantine-watch: Ash is in quarantine and shares the water with Oak: that is no quarantine. Part them today; Oak met whatever there is, so write "
        "quarantine = true there too, and ask the vet. [all in, all out: AZA accreditation standards 2007, quarantine (published)]"
    ]
    assert said(TUB + NEW) == []
    # 90 days after the arrival it is over.
    assert said(TUB + OLD + NEW, dt.date(2027, 2, 19)) == []


def test_quarantine_in_one_room_with_others():
    assert said(f"{TUB}{NEW}[[enclosure]]{HALL}{OLD}") == [
        "look quarantine-watch: It is in quarantine in one room with Basin: a room of its own is asked for. Until there is one, keep as far apart as the "
        "room allows, out of splashing distance, and nothing goes from here to there. [separate room and tools, tended last: Tabaka 2003 (published)]"
    ]
    assert said(f"{TUB}{NEW}[[enclosure]]{HALL.replace('barn', 'hall')}{OLD}") == []


OPEN = [
    # carapace, rim over the water in cm, verdict (5 cm, or half the longest carapace: house value)
    (9, 4.9, "act"),
    (9, 5, "look"),
    (18, 8.9, "act"),
    (18, 9, "look"),
    (18, 0, "act"),
]


@pytest.mark.parametrize(("carapace", "rim", "verdict"), OPEN)
def test_an_open_enclosure_that_is_full_to_the_rim_is_acted_on(carapace, rim, verdict):
    text = TUB.replace("covered = true", "covered = false").replace('"40 cm"', f'"{60 - rim} cm"')
    (case,) = care.cases(load(text + animal("Oak", "slider", carapace)), TODAY)
    (found,) = [f for f in care.review(case).findings if f.text.startswith("It is open")]
    assert found.verdict == verdict, found.text
    assert "Cover every opening" in found.text


def test_a_keepers_own_rim_is_the_only_one():
    text = TUB.replace("covered = true", "covered = false").replace(
        "[[enclosure]]", '[site.house_values]\nfree_rim = "21 cm"\n[[enclosure]]'
    )
    (case,) = care.cases(load(text + animal("Oak", "slider", 18)), TODAY)
    (found,) = [f for f in care.review(case).findings if f.text.startswith("It is open")]
    assert (found.verdict, found.text.split(". ")[0]) == (
        "act",
        "It is open and as good as full: the rim stands 20 cm over the water, and a turtle climbs out of less than 21 cm",
    )
