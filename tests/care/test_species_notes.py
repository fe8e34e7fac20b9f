"""What a species sheet notes reaches the keeper: the size to plan room for, the law, climbing aids, no cooling."""

import pytest
from support.recorded import load

from scheduler import care

NURSERY = """
[site]
name = "Marl Cottage"
time_zone = "Europe/Dublin"
latitude = 53.3
[[enclosure]]
name = "Trough"
set_up = 2026-10-03
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
lamp = [{kind = "compact", installed = 2026-10-03, hours_a_day = 12}]
"""


def kept(*residents):
    """Return the case of an enclosure with some residents, as inline tables."""
    (case,) = care.cases(load(f"{NURSERY}resident = [{', '.join(residents)}]\n"))
    return case


def animal(species, more="", name="Pip"):
    return f'{{name = "{name}", species = "{species}", arrived = 2026-10-20{", " if more else ""}{more}}}'


def notes(case, key):
    return next(j for j in care.jobs_of(case) if j.key == key).notes().text()


@pytest.mark.parametrize(
    ("species", "more", "cm", "source"),
    [
        ("common map turtle", 'sex = "female"', 22.65, "the middle of 18 and 27.3 cm"),
        ("common map turtle", 'sex = "male"', 12.45, "the middle of 9 and 15.9 cm"),
        ("common map turtle", "", 22.65, "the note: while the sex is unknown, a female"),
        ("common musk turtle", 'sex = "female"', 13.6, "the note: the longest carapace on record"),
        ("common musk turtle", "", 13.6, "the same"),
        ("Pelusios castaneus", "", 28.5, "no range by sex; the longest on record"),
        ("painted turtle", 'sex = "female"', 13.75, "the middle of 9.8 and 17.7 cm"),
        ("painted turtle", 'sex = "female", carapace = "17.7 cm"', 13.75, "still in the sample"),
        ("painted turtle", 'sex = "female", carapace = "17.8 cm"', 25.0, "the note: grown past the sample"),
        ("painted turtle", 'sex = "male", carapace = "14 cm"', 25.0, "the same"),
        ("western painted turtle", 'sex = "female"', 25.0, "the note: the largest form"),
        ("Chrysemys picta bellii", "", 25.0, "the same, by its scientific name"),
        ("Chrysemys picta bellii", 'sex = "male"', 11.4, "the note is on females"),
        ("Chrysemys picta marginata", 'sex = "female"', 13.75, "another form"),
    ],
)  # fmt: skip
def test_the_size_to_plan_room_for(species, more, cm, source):
    case = kept(animal(species, more))
    assert case.adult_cm(case.enclosure.resident[0]) == pytest.approx(cm), source


@pytest.mark.parametrize(
    ("species", "more", "said"),
    [
        ("common map turtle", "", "Pip: an adult Graptemys geographica reaches about 22.5 cm (its sex is not known: the larger one is taken)."),
        ("common map turtle", 'sex = "male"', "Pip: an adult Graptemys geographica reaches about 12.5 cm."),
        ("common musk turtle", "", "Pip: an adult Sternotherus odoratus reaches about 13.5 cm."),
    ],
)  # fmt: skip
def test_the_space_review_says_that_the_larger_sex_was_taken(species, more, said):
    assert said in notes(kept(animal(species, more)), "space-review")


def test_the_review_says_so_too():
    case = kept(animal("common map turtle", 'carapace = "6 cm", mass = "40 g"'), animal("common map turtle", 'carapace = "6 cm", mass = "40 g", sex = "male"', "Sib"))  # fmt: skip
    found = [f.text for f in care.review(case).findings if f.key == "outgrown_at"]
    assert any(
        "Pip is expected to reach about 22.5 cm (its sex is not known: the larger one is taken): plan the next size."
        in text
        for text in found
    ), found


@pytest.mark.parametrize(
    ("species", "key", "said"),
    [
        ("Pelusios castaneus", "cold-season-check", "do not cool it for winter"),
        ("painted turtle", "cold-season-check", "do not let an animal hang between 10 and 18 °C (50 and 64 °F)"),
        ("common musk turtle", "fit-out", "Give climbing aids, such as roots or a ramp"),
        ("common musk turtle", "fit-out", "Cover the enclosure and leave no gap"),
        ("common musk turtle", "pre-arrival-check", "Give climbing aids, such as roots or a ramp"),
        ("common musk turtle", "uvi-reading", "Give deep shade as well as the lamp"),
        ("common map turtle", "fit-out", "put the basking place where nobody walks past"),
        ("Emys orbicularis", "pre-arrival-check", "Protected in the European Union"),
        ("red-eared slider", "pre-arrival-check", "list of invasive alien species"),
        ("Pelusios castaneus", "space-review", "Plan for the larger"),
    ],
)  # fmt: skip
def test_a_note_stands_where_it_matters_and_in_the_review(species, key, said):
    case = kept(animal(species))
    made = notes(case, key)
    assert said in made
    (note,) = [note for _, note in case.species_notes() if said in note.words]
    assert note.source in made
    (finding,) = [f for f in care.review(case).findings if said in f.text]
    assert finding.verdict == "fine"
    assert finding.source == note.cited


def test_a_note_of_two_animals_of_one_species_is_said_once():
    case = kept(animal("Pelusios castaneus"), animal("Pelusios castaneus", name="Sib"))
    texts = [f.text for f in care.review(case).findings if f.text.startswith("Pelusios castaneus: ")]
    assert len(texts) == len(set(texts)) == 3


def test_another_species_has_no_such_note():
    assert "do not cool it" not in notes(kept(animal("painted turtle")), "cold-season-check")
    assert "climbing aids" not in notes(kept(animal("painted turtle")), "fit-out")
