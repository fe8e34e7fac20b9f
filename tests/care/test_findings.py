"""What the review says about an enclosure: verdicts, what is missing, what lies outside a formula, and which way it goes."""

import datetime as dt
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.care.weir_cottage import FULL
from support.depth import examples

from scheduler import care, workflow
from scheduler.description import load
from scheduler.sheets.review import review_lines
from scheduler.species import load_sheets

TODAY = dt.date(2026, 12, 1)

# The worked example: a tank that is sold as one of 40 US gallons.
FORTY_GALLONS = """
[site]
name = "Ferry Cottage"
time_zone = "Europe/Dublin"
room_low = "18 degC"
[site.tap_water]
nitrate = "5 mg/L"

[[enclosure]]
name = "Sluice"
length = "36 in"
width = "18 in"
height = "17 in"
water_depth = "36 cm"
covered = false
[enclosure.filter]
flow = "315 gal/h"
[[enclosure.heater]]
power = "200 W"
set_to = "25 degC"
"""


def changed(text, *pairs):
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def review(text, *pairs, today=TODAY):
    (found,) = workflow.review(load(changed(text, *pairs), load_sheets(), (care.check,)), today)
    return found


def figures(found):
    return {figure.key: figure.value for figure in found.figures}


def about(found, key):
    """Return verdict and text of the findings about a key, without those that say there is no figure."""
    return [(f.verdict, f.text) for f in found.findings if f.key == key]


def one(found, key):
    (only,) = about(found, key)
    return only


# --- The worked example ---------------------------------------------------------------------------------------------


def test_the_example_holds_forty_gallons():
    gallon_l = 231 * 2.54**3 / 1000  # NIST Handbook 44, appendix C
    assert figures(review(FORTY_GALLONS))["net_volume"] == pytest.approx(40 * gallon_l, rel=0.01)


def test_the_example_filter_is_inside_the_custom():
    found = review(FORTY_GALLONS)
    verdict, text = one(found, "filter_turnover")
    assert verdict == "fine"
    # 315 / 39.8 gallons.
    assert text.startswith(
        "The filter's rated flow turns the water over 7.9 times an hour; custom is 6 to 8 times. Inside it."
    )
    assert 6 <= figures(found)["filter_turnover"] <= 8


FLOWS = [
    # The custom of 6 to 8 times an hour has no published source; under once is less than fish tanks get.
    ("100 L/h", "act"),
    ("160 L/h", "look"),
    ("900 L/h", "look"),
    ("910 L/h", "fine"),
    ("1200 L/h", "fine"),
    ("1210 L/h", "look"),
]


@pytest.mark.parametrize(("flow", "verdict"), FLOWS)
def test_a_filter_is_held_against_the_custom(flow, verdict):
    assert one(review(FORTY_GALLONS, ('"315 gal/h"', f'"{flow}"')), "filter_turnover")[0] == verdict


HEATERS = [
    # room, power, cover, verdict, words. The open tank loses some 145 W at 18 degC and 190 W at 15 degC.
    ("18 degC", "200 W", "false", "fine", "Enough."),
    ("15 degC", "200 W", "false", "look", "Near its limit"),
    ("12 degC", "200 W", "false", "act", "Too little"),
    ("18 degC", "100 W", "false", "act", "Too little"),
    ("15 degC", "100 W", "false", "act", "Too little"),
    ("15 degC", "200 W", "true", "fine", "Enough."),
]


@pytest.mark.parametrize(
    ("pail", "verdict", "words"),
    # ISO 11228-1, one hand, 20 kg: 7.13 kg for one person, 12.13 kg for two; the pail itself weighs 1 kg.
    [("6 L", "fine", "index 0.9"), ("7 L", "look", "Two people carry it between them, or fill the pails to 6 L"), ("14 L", "act", "Two people may lift 12 kg together: fill the pails to 6 L")],
)  # fmt: skip
def test_a_pail_is_held_against_what_one_and_two_people_may_lift(pail, verdict, words):
    found = review(FORTY_GALLONS, ("[[enclosure]]", f'[site.house_values]\npail = "{pail}"\n[[enclosure]]'))
    said, text = one(found, "pail_mass")
    assert (said, words in text) == (verdict, True), text


@pytest.mark.parametrize(("room", "power", "cover", "verdict", "words"), HEATERS)
def test_heaters_are_held_against_the_loss_in_the_coldest_room(room, power, cover, verdict, words):
    found = review(
        FORTY_GALLONS, ("18 degC", room), ("200 W", power), ("covered = false", f"covered = {cover}")
    )
    said, text = one(found, "heater_power")
    assert (said, words in text) == (verdict, True), text
    has, loss, most = (figures(found)[key] for key in ("heater_power", "heat_loss", "heater_power_needed"))
    assert {"act": has < loss, "look": loss <= has < most, "fine": most <= has}[verdict]
    assert found.to_act_on == (verdict == "act")


# --- Verdicts -------------------------------------------------------------------------------------------------------

VERDICTS = [
    # what is written instead, about what, the verdict, the source of the bound
    (('"500 W"', '"100 W"'), "heater_power", "act", "heat balance"),
    (('set_to = "25 degC"', 'set_to = "31 degC"'), "heater-check", "act", "over 30 degC: house value"),
    (('set_to = "25 degC"', 'set_to = "29.5 degC"'), "heater-check", "look", "species sheet"),
    (("uvi = 2.8", "uvi = 0.9"), "uvi_at_basking", "act", "zone 3 from 1.0: Ferguson et al. 2010, restated"),
    (("uvi = 2.8", "uvi = 2.9"), "uvi_at_basking", "fine", "the same, maxima from 2.9"),
    (("uvi = 2.8", "uvi = 6.9"), "uvi_at_basking", "look", "the same"),
    (("uvi = 2.8", "uvi = 7.5"), "uvi_at_basking", "act", "ceiling of 7: house value"),
    (("ph = 7.6", "ph = 8.5"), "unionised_ammonia", "look", "Emerson et al. 1975; 0.02 mg/L: house value"),
    (("ph = 7.6", "ph = 9.5"), "unionised_ammonia", "act", "the same; 0.05 mg/L: house value"),
    (('alkalinity = "120 mg/L"', 'alkalinity = "60 mg/L"'), "alkalinity_used", "look", "50 mg/L: house value"),
    (('media_area = "3 m2"', 'media_area = "0.5 m2"'), "media_area", "act", "0.2 g a m2 and day, from memory"),
    (('width = "60 cm"', 'width = "35 cm"'), "least_water_area", "look", "Directive 2010/63/EU: 6000 cm2"),
    (('water_depth = "45 cm"', 'water_depth = "28 cm"'), "least_water_depth", "look", "the same: 30 cm"),
    (('water_depth = "45 cm"', 'water_depth = "20 cm"'), "least_water_depth", "act", "less than every code"),
    (("installed = 2026-09-12", "installed = 2025-11-12"), "uv_lamp_replace_on", "act", "12 months: custom"),
    (("installed = 2026-09-12", "installed = 2025-12-15"), "uv_lamp_replace_on", "look", "ordered 4 weeks ahead"),
    (("covered = false", "covered = true"), "daily-look", "fine", "common practice"),
    (("protein = 0.40", "protein = 0.20"), "feed", "look", "25 %: Avery et al. 1993, restated"),
    (('pack = "500 g"', 'pack = "60 g"'), "food_order_on", "look", "21 days less 14 after 1 November are over"),
    (("cycled = true", "cycled = false"), "cycle-test", "act", "two clean tests: house value"),
    (('species = "Trachemys scripta"\n', ""), "daily-look", "look", "the species is not known"),
    (('[enclosure.filter]\nflow = "2400 L/h"\nmedia_area = "3 m2"\n', ""), "ammonia_peak", "act", "0.9 of 0.05 mg/L un-ionised: house value"),
    (('kind = "sand"', 'kind = "river stones"\nsmallest_stone = "3 cm"'), "fit-out", "act", "head: house value"),
]  # fmt: skip


@pytest.mark.parametrize(("pair", "key", "verdict", "source"), VERDICTS, ids=[f"{r[0][1]}" for r in VERDICTS])
def test_a_rule_gives_its_verdict(pair, key, verdict, source):
    verdicts = {said for said, _ in about(review(FULL, pair), key)}
    assert verdict in verdicts, source
    assert "act" not in verdicts or verdict == "act"


def test_the_full_description_has_nothing_to_act_on():
    assert not review(FULL).to_act_on


# --- What is missing ------------------------------------------------------------------------------------------------

MISSING = [
    # the line that is taken out, the key that is asked for
    ('length = "150 cm"\n', "length"),
    ('width = "60 cm"\n', "width"),
    ('water_depth = "45 cm"\n', "water_depth"),
    ('\nheight = "60 cm"', "height"),
    ("covered = false\n", "covered"),
    ('depth = "3 cm"\n', "substrate.depth"),
    ('flow = "2400 L/h"\n', "filter.flow"),
    ('power = "500 W"\n', "heater.power"),
    ('set_to = "25 degC"\n', "heater.set_to"),
    ('room_low = "15 degC"\n', "site.room_low"),
    ('room_high = "26 degC"\n', "site.room_high"),
    ("latitude = 53.3\n", "site.latitude"),
    ('cold = "10 degC"\n', "site.tap_water.cold"),
    ('hot = "55 degC"\n', "site.tap_water.hot"),
    ("ph = 7.6\n", "site.tap_water.ph"),
    ("installed = 2026-09-12\n", "lamp.installed"),
    ("hours_a_day = 12\n", "lamp.hours_a_day"),
    ('basking_distance = "30 cm"\n', "lamp.basking_distance"),
    ('power = "75 W"\n', "lamp.power"),
    ('carapace = "16 cm"\n', "resident.carapace"),
    ("protein = 0.40\n", "feed.protein"),
    ("grams = 4\n", "feed.grams"),
]


@pytest.mark.parametrize(("line", "key"), MISSING, ids=[row[1] for row in MISSING])
def test_a_missing_value_is_asked_for_once_and_nothing_takes_its_place(line, key):
    whole, found = review(FULL), review(FULL, (line, ""))
    gone = [f for f in whole.figures if f.key not in figures(found)]
    assert gone, "some figure rests on it"
    for figure in gone:
        (asking,) = [f for f in found.findings if f.key == figure.key and f.needs]
        assert asking.needs == (key,)
        assert (
            asking.text
            == f"{figure.label} is not known: measure it, or look it up, and write {key} into the description."
        )
    # What stays is as it was, but for the rhythm that custom gives where it cannot be computed, and what follows from it.
    before = figures(whole)
    other = {name for name, value in figures(found).items() if value != before[name]}
    by_share = {
        "water_change_share", "water_change_volume", "line_after_change", "hot_water_volume", "pail_mass",
        "chlorine_to_neutralise", "unionised_ammonia",
    }  # fmt: skip
    assert other <= {"water_change_interval", "conditioner_order_on", *by_share}
    if other == {"conditioner_order_on"}:
        # Without what evaporates a bottle is reckoned by the changes alone, which is said.
        order = next(f for f in found.figures if f.key == "conditioner_order_on")
        assert order.how().endswith("less 14 days; what is topped up is not known and not counted")
    elif other:
        interval = next(f for f in found.figures if f.key == "water_change_interval")
        assert (interval.value, interval.source.status) == (14, "common practice")
        assert "cannot be computed yet" in interval.how()
    # The table puts together what asks for the same value.
    items = re.split(r"\n(?=  (?:act|look|fine)  )|\n\n", "\n".join(review_lines([found], 80)))
    asking = [
        " ".join(item.split())
        for item in items
        if "Measure it, or look it up, and write" in " ".join(item.split())
    ]
    assert [item for item in asking if f"write {key}." in item] == asking
    assert len(asking) == 1


def test_a_tap_over_every_limit_is_acted_on_and_told_in_plain_numbers():
    # A tenth under the act limit of 80 is the most that is planned for: house values.
    verdict, text = one(review(FULL, ('nitrate = "8 mg/L"', 'nitrate = "90 mg/L"')), "nitrate_peak")
    assert verdict == "act"
    assert "; the limit is 72. " in text and "The tap alone brings 90 mg/L: no change of water" in text
    assert "-" not in text.split("By the coefficient")[0]


def test_tap_water_without_nitrate_is_told():
    found = review(FULL, ('nitrate = "8 mg/L"\n', ""))
    assert "The tap is taken as free of nitrate: measure it." in one(found, "nitrate_peak")[1]


def test_tap_water_without_a_level_counts_at_the_legal_ceiling_and_says_so():
    found = review(FULL, ('disinfectant_level = "1.5 mg/L"\n', ""))
    (figure,) = [f for f in found.figures if f.key == "chlorine_to_neutralise"]
    # 40 CFR 141.65: 4.0 mg/L as Cl2.
    assert figure.value == pytest.approx(figures(found)["water_change_volume"] * 4.0)
    assert str(figure.source).startswith("assumed: chloramine at the legal ceiling of 4.0 mg/L")


# --- Outside a formula's range --------------------------------------------------------------------------------------

OUTSIDE = [
    # what is written, the figures that cannot be, the reason
    (("ph = 7.6", "ph = 3.5"), {"unionised_ammonia"}, "pH 4 to 11, not at pH 3.5"),
    (("ph = 7.6", "ph = 3.999"), {"unionised_ammonia"}, "pH 4 to 11"),
    (('set_to = "25 degC"', 'set_to = "40 degC"'), {"media_area"}, "15 to 28 °C, not at 40"),
    (('set_to = "25 degC"', 'set_to = "14 degC"'), {"media_area"}, "15 to 28 °C, not at 14"),
    (
        ('room_low = "15 degC"', 'room_low = "-20 degC"'),
        {"heat_loss", "heater_power_needed", "heat_up_time", "power_cut_time", "evaporation", "heater_energy"},
        "room from -10 to 40 °C, not at -20",
    ),
    (('room_high = "26 degC"', 'room_high = "45 degC"'), {"stuck_temperature"}, "40 °C"),
    (('power = "500 W"', 'power = "2 kW"'), {"stuck_temperature"}, "pass 40 °C"),
    (('basking_distance = "30 cm"', 'basking_distance = "61 cm"'), {"uvi_at_basking"}, "half and double"),
    (('basking_distance = "30 cm"', 'basking_distance = "14 cm"'), {"uvi_at_basking"}, "half and double"),
    (('set_to = "25 degC"', 'set_to = "9 degC"'), {"hot_water_volume"}, "cannot be mixed from them"),
    (('depth = "3 cm"', 'depth = "44 cm"'), set(), ""),
]  # fmt: skip


@pytest.mark.parametrize(("pair", "keys", "reason"), OUTSIDE, ids=[row[0][1] for row in OUTSIDE])
def test_outside_its_range_a_formula_gives_a_reason_and_no_number(pair, keys, reason):
    found = review(FULL, pair)
    assert not keys & set(figures(found))
    for key in keys:
        assert any(reason in text for _, text in about(found, key)), about(found, key)


@pytest.mark.parametrize(
    "pair",
    [('power = "500 W"', 'power = "2 kW"'), ('power = "500 W"', 'power = "9 kW"')],
)
def test_a_heater_that_would_cook_the_tank_is_not_called_fine(pair):
    # 600 W would end near 38 degC, which is looked at; far more cannot be better.
    assert one(review(FULL, ('power = "500 W"', 'power = "600 W"')), "stuck_temperature")[0] == "look"
    assert about(review(FULL, pair), "stuck_temperature")[0][0] != "fine", "worst first"


def test_a_criterion_is_not_named_where_it_was_not_made_for():
    # US EPA 2013: pH 6.5 to 9.
    (_, text) = one(review(FULL, ("ph = 7.6", "ph = 9.2")), "unionised_ammonia")
    assert "No ceiling is named: the ammonia criteria are defined here from pH 6.5 to 9" in text
    assert "chronic criterion" not in text


def test_heaters_that_disagree_give_no_temperature():
    found = review(
        FULL,
        (
            "[[enclosure.heater]]\n",
            '[[enclosure.heater]]\npower = "100 W"\nset_to = "28 degC"\n[[enclosure.heater]]\n',
        ),
    )
    assert not {"heat_loss", "heat_up_time", "hot_water_volume", "evaporation"} & set(figures(found))
    assert about(found, "heat_loss") == [
        ("look", "heat loss: no figure, since the heaters are set to different temperatures.")
    ]
    assert "heater.set_to" not in str([f.needs for f in found.findings])


def test_without_a_heater_nobody_asks_for_its_temperature():
    found = review(FULL, ('[[enclosure.heater]]\npower = "500 W"\nset_to = "25 degC"\n', ""))
    assert not any("heater.set_to" in f.needs for f in found.findings)
    assert "heater.set_to" not in "".join(f.text for f in found.findings)


@pytest.mark.parametrize("activity", [0.2, 2.0])
def test_the_middle_of_a_band_lies_in_it(activity):
    found = review(
        FULL,
        ("[site.tap_water]", f"[site.house_values]\nevaporation_activity = {activity}\n[site.tap_water]"),
    )
    (_, text) = one(found, "evaporation")
    middle, low, high = (float(n) for n in re.findall(r"(\d+(?:\.\d+)?) L", text)[:3])
    assert low <= middle <= high, text


def test_alkalinity_does_not_fall_below_nothing():
    (_, text) = one(review(FULL, ('alkalinity = "120 mg/L"', 'alkalinity = "10 mg/L"')), "alkalinity_used")
    assert not re.search(r"-\d", text), text


def test_water_that_a_warm_room_heats_loses_no_negative_watts():
    found = review(
        FULL, ('room_low = "15 degC"', 'room_low = "26 degC"'), ("covered = false", "covered = true")
    )
    (_, text) = one(found, "heater_power")
    assert not re.search(r"loses -\d|\(-\d", text), text


def test_eight_hours_have_no_more_than_480_minutes():
    # ICNIRP's dose is one of 8 hours: 20 / UVI minutes, from memory. UVI 0.01 leaves all of them.
    (_, text) = one(review(FULL, ("uvi = 2.8", "uvi = 0.01")), "people_minutes")
    assert max(int(n) for n in re.findall(r"(\d+) minutes", text)) <= 480, text


# --- Which way it goes ----------------------------------------------------------------------------------------------

short = settings(max_examples=examples(25))


@short
@given(st.floats(0.2, 50), st.floats(1.0, 3.0))
def test_more_food_never_makes_the_interval_longer(grams, more):
    def interval(g):
        found = figures(review(FULL, ("grams = 4", f"grams = {g:.4f}")))
        return found["water_change_interval"], found["nitrate_rise"]

    (less, slow), (often, fast) = interval(grams), interval(grams * more)
    assert often <= less and fast >= slow


def test_three_times_the_food_shortens_the_interval():
    found = [review(FULL, ("grams = 4", f"grams = {grams}")) for grams in (2, 6)]
    assert [figures(r)["water_change_interval"] for r in found] == [14, 7]
    assert figures(found[0])["nitrate_peak"] <= 40
    assert [one(r, "nitrate_peak")[0] for r in found] == ["fine", "look"]
    assert "On the food alone changes come no more often" in one(found[1], "nitrate_peak")[1]


@short
@given(st.floats(-10, 30), st.floats(0, 20), st.sampled_from(["true", "false"]))
def test_a_colder_room_never_loses_less(room, colder, cover):
    def loss(celsius):
        found = figures(
            review(
                FULL,
                ('room_low = "15 degC"', f'room_low = "{celsius:.3f} degC"'),
                ('room_high = "26 degC"\n', ""),
                ("covered = false", f"covered = {cover}"),
            )
        )
        return found["heat_loss"], found["evaporation"]

    cold = max(-10.0, room - colder)
    (lost, vapour), (less, dry) = loss(cold), loss(room)
    assert lost >= less - 1e-9 and vapour >= dry - 1e-9


@short
@given(st.floats(3, 40), st.floats(0, 10), st.integers(1, 8))
def test_a_larger_animal_never_needs_less_space(carapace, more, count):
    def least(cm):
        found = figures(
            review(
                FULL,
                ('carapace = "16 cm"', f'carapace = "{cm:.2f} cm"\ncount = {count}'),
                ('shell_width = "12.5 cm"\n', ""),
                ('mass = "620 g"\n', ""),
                ("born = 2022-06-01\n", ""),
            )
        )
        return found["least_water_area"], found["least_water_depth"]

    (area, depth), (larger, deeper) = least(carapace), least(carapace + more)
    assert larger >= area and deeper >= depth


@short
@given(st.floats(50, 2000), st.floats(0, 1000))
def test_a_stronger_heater_never_warms_more_slowly(watts, more):
    def hours(power):
        return figures(
            review(FULL, ('power = "500 W"', f'power = "{power:.2f} W"'), ('room_high = "26 degC"\n', ""))
        ).get("heat_up_time", float("inf"))

    assert hours(watts + more) <= hours(watts) * (1 + 1e-6)


@short
@given(st.floats(30, 200), st.floats(0, 200))
def test_more_water_never_shortens_the_interval(length, more):
    def interval(cm):
        return figures(review(FULL, ('length = "150 cm"', f'length = "{cm + 60:.2f} cm"')))[
            "water_change_interval"
        ]

    assert interval(length + more) >= interval(length)
