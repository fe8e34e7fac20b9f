"""The shipped sheets against what their sources print, and the lookups a keeper makes."""

import math
from collections.abc import Iterator
from importlib import resources

import pytest
from pydantic import BaseModel, ValidationError

from scheduler.quantities import Span
from scheduler.species import Sheet, load_sheets, read_sheet

PICTA, GRAPTEMYS, MUSK, SIDE_NECK, EMYS, SLIDER = SPECIES = (
    "Chrysemys picta",
    "Graptemys geographica",
    "Sternotherus odoratus",
    "Pelusios castaneus",
    "Emys orbicularis",
    "Trachemys scripta",
)
FRAZER = "Frazer, Gibbons & Greene 1991"
MAP_TURTLES = "J. Herpetol. 53:297"
JOLICOEUR = "Jolicoeur & Mosimann 1960"
TORONTO = "Toronto Zoo"
NAJBAR = "Najbar & Szuszkiewicz 2006"


def curve(species: str, sex: str):
    (found,) = (c for c in load_sheets()[species].growth if c.sex == sex)
    return found


def sourced(part: BaseModel, path: str) -> Iterator[tuple[str, BaseModel]]:
    """Yield every value of a sheet that carries a source, with its path."""
    if "source" in type(part).model_fields:
        yield path, part
    for name in type(part).model_fields:
        value = getattr(part, name)
        for index, child in enumerate(value if isinstance(value, tuple) else (value,)):
            if isinstance(child, BaseModel):
                yield from sourced(child, f"{path}.{name}[{index}]")


VALUES = [(path, value) for s in SPECIES for path, value in sourced(load_sheets()[s], s)]
GAPS = [(path, value) for path, value in VALUES if value.status == "not found"]


def test_the_six_species_are_shipped_under_names_of_their_own():
    sheets = load_sheets()
    assert set(sheets) == set(SPECIES)
    names = [name for sheet in sheets.values() for name in (sheet.species.lower(), *sheet.names)]
    assert len(names) == len(set(names))
    assert all(name == name.lower() for sheet in sheets.values() for name in sheet.names)


def test_files_are_named_after_their_species_and_plain_ascii():
    folder = resources.files("scheduler.species") / "sheets"
    for entry in folder.iterdir():
        text = entry.read_text("utf-8")
        assert text.isascii()
        assert read_sheet(text).species.lower().replace(" ", "-") + ".toml" == entry.name


@pytest.mark.parametrize(("path", "value"), VALUES, ids=[path for path, _ in VALUES])
def test_every_value_says_where_it_comes_from(path, value):
    assert len(value.source.strip()) >= 10, path
    assert value.status in {"published", "from memory", "house value", "common practice", "not found"}
    assert value.source in str(value.cited)


# --- Values that are published, as the source prints them -------------------------------------------------

PUBLISHED = [
    # species, part, field, value, source
    (PICTA, "growth male", "asymptote", 11.18, FRAZER),
    (PICTA, "growth male", "k", 0.184, FRAZER),
    (PICTA, "growth female", "asymptote", 15.22, FRAZER),
    (PICTA, "growth female", "k", 0.128, FRAZER),
    (PICTA, "adult_female", "low", 9.8, JOLICOEUR),
    (PICTA, "adult_female", "high", 17.7, JOLICOEUR),
    (PICTA, "uv", "zone", 3, "Ferguson et al. 2010"),
    (GRAPTEMYS, "growth male", "asymptote", 10.753, MAP_TURTLES),
    (GRAPTEMYS, "growth male", "k", 0.447, MAP_TURTLES),
    (GRAPTEMYS, "growth female", "asymptote", 25.928, MAP_TURTLES),
    (GRAPTEMYS, "growth female", "k", 0.130, MAP_TURTLES),
    (GRAPTEMYS, "adult_female", "low", 18.0, TORONTO),
    (GRAPTEMYS, "adult_female", "high", 27.3, TORONTO),
    (GRAPTEMYS, "adult_male", "low", 9.0, TORONTO),
    (GRAPTEMYS, "adult_male", "high", 15.9, TORONTO),
    (MUSK, "adult_female", "low", 5.1, TORONTO),
    (MUSK, "adult_female", "high", 13.6, "Naturalis"),
    (EMYS, "adult_female", "typical_cm", 17.10, NAJBAR),
    (EMYS, "adult_female", "high", 17.10 + 1.7, NAJBAR),
    (EMYS, "adult_male", "typical_cm", 15.44, NAJBAR),
    (EMYS, "adult_male", "low", 15.44 - 1.5, NAJBAR),
]


@pytest.mark.parametrize(("species", "part", "field", "value", "source"), PUBLISHED)
def test_a_published_value_is_what_its_source_prints(species, part, field, value, source):
    kind, _, sex = part.partition(" ")
    found = curve(species, sex) if kind == "growth" else getattr(load_sheets()[species], part)
    assert getattr(found, field) == pytest.approx(value, abs=1e-9)
    assert found.status == "published"
    assert source in found.source


# J. Herpetol. 53:297 prints growth rates: 48.065 - 0.447 CL and 33.707 - 0.130 CL, in mm a year.
@pytest.mark.parametrize(("sex", "carapace", "rate"), [("male", 6.0, 21.245), ("female", 10.0, 20.707)])
def test_map_turtle_curves_give_the_growth_rates_of_the_study(sex, carapace, rate):
    c = curve(GRAPTEMYS, sex)
    assert c.measure == "carapace"
    assert 10 * c.k * (c.asymptote - carapace) == pytest.approx(rate, abs=0.002)


# Frazer et al. 1991 print L(t) = A (1 - b e^-kt), with b 0.792 (males) and 0.852 (females); plastron in mm.
@pytest.mark.parametrize(
    ("sex", "b", "years", "plastron"),
    [
        ("male", 0.792, 1, 38.14),
        ("male", 0.792, 10, 97.74),
        ("female", 0.852, 5, 83.82),
        ("female", 0.852, 20, 142.18),
    ],
)
def test_painted_turtle_curves_give_the_lengths_of_the_study(sex, b, years, plastron):
    c = curve(PICTA, sex)
    assert c.measure == "plastron"
    assert 10 * c.asymptote * (1 - b * math.exp(-c.k * years)) == pytest.approx(plastron, abs=0.02)


def test_only_species_with_published_numbers_have_curves():
    assert {s for s, sheet in load_sheets().items() if sheet.growth} == {PICTA, GRAPTEMYS}
    assert all(c.status == "published" for sheet in load_sheets().values() for c in sheet.growth)


def test_zones_other_than_the_painted_turtles_do_not_claim_to_be_published():
    zones = {s: (sheet.uv.zone, sheet.uv.status) for s, sheet in load_sheets().items()}
    assert zones == {
        PICTA: (3, "published"),
        GRAPTEMYS: (3, "from memory"),
        SLIDER: (3, "from memory"),
        EMYS: (3, "from memory"),
        MUSK: (2, "from memory"),
        SIDE_NECK: (None, "not found"),
    }
    assert "low confidence" in load_sheets()[MUSK].uv.source


# --- Gaps -------------------------------------------------------------------------------------------------


def test_the_gaps_are_the_side_necks():
    assert {path for path, _ in GAPS} == {
        f"{SIDE_NECK}.{part}[0]" for part in ("uv", "adult_female", "adult_male")
    }


@pytest.mark.parametrize(("path", "value"), GAPS, ids=[path for path, _ in GAPS])
def test_where_nothing_was_found_there_is_a_question_and_no_number(path, value):
    assert len(value.ask) > 20, path
    numbers = {"zone", "low", "high", "asymptote", "k"} & set(type(value).model_fields)
    assert numbers
    assert all(getattr(value, name) is None for name in numbers)


@pytest.mark.parametrize("species", SPECIES)
def test_a_missing_number_is_never_silent(species):
    sheet = load_sheets()[species]
    for part, empty in (
        (sheet.uv, sheet.uv.zone is None),
        (sheet.adult_female, sheet.adult_female.typical_cm is None),
        (sheet.adult_male, sheet.adult_male.typical_cm is None),
    ):
        assert (part.status == "not found") == empty == bool(part.ask)


def test_without_a_published_adult_size_none_is_guessed():
    sheet = load_sheets()[SIDE_NECK]
    assert sheet.adult_cm("female") is None
    assert sheet.adult_cm("unknown") is None


# --- Sense ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("species", SPECIES)
def test_bands_and_sizes_run_from_low_to_high(species):
    sheet = load_sheets()[species]
    for part in (sheet.water, sheet.water_young, sheet.basking, sheet.adult_female, sheet.adult_male):
        assert part.low is None or part.low < part.high
    assert sheet.water.low >= 18  # house alarm limits of the handbook: water 18 to 30, basking 38 degC
    assert sheet.water_young.high <= 30
    assert sheet.water.high < sheet.basking.low
    assert sheet.basking.high < 38
    assert sheet.water_young.low >= sheet.water.low


@pytest.mark.parametrize("species", SPECIES)
def test_stages_follow_the_house_rule(species):
    hatchling, juvenile, adult = load_sheets()[species].stage
    assert (hatchling.name, juvenile.name, adult.name) == ("hatchling", "juvenile", "adult")
    assert (hatchling.until_share, juvenile.until_share, adult.until_share) == (0.4, 0.8, None)
    assert (hatchling.meals_a_week, juvenile.meals_a_week, adult.meals_a_week) == (7, 5, 3)
    assert hatchling.until_age == Span(months=12)
    assert juvenile.until_age.months % 12 == 0
    assert juvenile.until_age.months > 12
    assert adult.until_age is None
    # SPCA New Zealand gives days, not meals a week; the limits of the stages are this project's.
    assert {stage.status for stage in (hatchling, juvenile, adult)} == {"house value"}
    assert all(stage.diet.endswith(".") for stage in (hatchling, juvenile, adult))


def test_map_turtle_of_unknown_sex_is_planned_as_a_female():
    sheet = load_sheets()[GRAPTEMYS]
    assert sheet.adult_cm("male") == pytest.approx(12.45)
    assert sheet.adult_cm("unknown") == sheet.adult_cm("female") == pytest.approx(22.65)
    ratio = curve(GRAPTEMYS, "female").asymptote / curve(GRAPTEMYS, "male").asymptote
    assert ratio == pytest.approx(2.4, abs=0.02)
    assert any("2.4 times" in note.text for note in sheet.note)


@pytest.mark.parametrize(
    ("species", "words", "status"),
    [
        (PICTA, "gradient", "published"),
        (SLIDER, "invasive alien species", "published"),
        (GRAPTEMYS, "CITES Appendix III", "published"),
        (MUSK, "climbing aids", "house value"),
        (EMYS, "annexes II and IV", "from memory"),
        (SIDE_NECK, "do not cool it for winter", "house value"),
        *((species, "under 4 in (10.16 cm)", "published") for species in SPECIES),
    ],
)
def test_what_a_keeper_should_know_is_noted(species, words, status):
    (note,) = (note for note in load_sheets()[species].note if words in note.text)
    assert note.status == status


# --- Lookups ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "species"),
    [
        ("Chrysemys picta", PICTA),
        ("chrysemys PICTA", PICTA),
        ("Chrysemys picta bellii", PICTA),
        ("Painted Turtle", PICTA),
        ("Graptemys  geographica", GRAPTEMYS),
        ("northern map turtle", GRAPTEMYS),
        ("Stinkpot", MUSK),
        (" musk turtle ", MUSK),
        ("West African mud turtle", SIDE_NECK),
        ("Emys orbicularis hellenica", EMYS),
        ("European pond turtle", EMYS),
        ("Trachemys scripta elegans", SLIDER),
        ("Red-eared slider", SLIDER),
    ],
)
def test_a_species_is_found_as_a_keeper_writes_it(written, species):
    assert load_sheets()[written].species == species


@pytest.mark.parametrize(
    "written", ["Cuora amboinensis", "Pelusios subniger", "Graptemys", "map turtle", "mud turtle", ""]
)
def test_an_unknown_or_unclear_name_is_refused(written):
    with pytest.raises(KeyError):
        load_sheets()[written]


def test_a_keepers_own_sheet_wins_and_leaves_the_others():
    sheets = load_sheets()
    own: Sheet = sheets[PICTA].model_copy(update={"names": ("pond painter",)})
    more = sheets.adding({PICTA: own})
    assert more["pond painter"] is more["Chrysemys picta"] is own
    assert more[EMYS] is sheets[EMYS]
    assert sheets[PICTA] is not own


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("zone = 3", "zone = 5", ("uv", "zone")),
        ("zone = 3", "zones = 3", ("uv", "zones")),
        ('low = "22 degC"', 'low = "22 cm"', ("water", "low")),
        ('low = "22 degC"', "low = 22", ("water", "low")),
        ("until_share = 0.4", "until_share = 0.9", ("stage",)),
        ('name = "juvenile"', 'name = "hatchling"', ("stage",)),
        ('status = "house value"', 'status = "certain"', ("water", "status")),
    ],
)
def test_a_sheet_with_a_mistake_is_refused_at_its_place(old, new, where):
    text = (resources.files("scheduler.species") / "sheets" / "chrysemys-picta.toml").read_text("utf-8")
    assert old in text
    with pytest.raises(ValidationError) as caught:
        read_sheet(text.replace(old, new, 1))
    assert where in {error["loc"] for error in caught.value.errors()}


@pytest.mark.parametrize(
    ("written", "species"),
    [
        ("red-eared slider", "Trachemys scripta"),
        ("Red Eared  Slider", "Trachemys scripta"),
        ("west-african side necked turtle", "Pelusios castaneus"),
        ("trachemys-scripta", "Trachemys scripta"),
        ("Trachemys scripta elegans", "Trachemys scripta"),
    ],
)
def test_a_hyphen_makes_no_other_species(written, species):
    assert load_sheets()[written].species == species
