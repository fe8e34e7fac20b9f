"""The figures of the review: which there are, in which units, and that they are right by sums done elsewhere."""

import datetime as dt
import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq
from support.care.weir_cottage import FULL as TANK
from support.samples import EVERY_FILE

from scheduler import care, workflow
from scheduler.description import load
from scheduler.handbook import heat
from scheduler.sheets.records import check_object
from scheduler.sources import Status
from scheduler.species import load_sheets

SAMPLES = sorted((Path(__file__).parents[2] / "sample_configs").glob("*.toml"))
TODAY = dt.date(2026, 12, 1)

BARE = '[site]\nname = "Ford"\n[[enclosure]]\nname = "Chub"\n'

# The lamp was read at 30 cm: here it has to be carried to the basking place.
FULL = TANK.replace('basking_distance = "30 cm"', 'basking_distance = "40 cm"')


def record(text, today=TODAY, enclosure=0):
    """Return the documented object of one enclosure, read back from its JSON."""
    return records(load(text, load_sheets(), (care.check,)), today)[enclosure]


def records(site, today=TODAY):
    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    text = check_object((), workflow.review(site, today))
    return json.loads(text, parse_constant=refuse)["enclosures"]


def changed(*pairs, text=FULL):
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


# --- Which there are ------------------------------------------------------------------------------------------------

# The keys and units that the JSON of `check` is documented with; others may stand beside them.
DOCUMENTED = {
    "gross_volume": "L",
    "net_volume": "L",
    "filled_mass": "kg",
    "floor_load": "kPa",
    "filter_turnover": "1/h",
    "heat_loss": "W",
    "heater_power": "W",
    "heat_up_time": "h",
    "evaporation": "L/d",
    "feed_nitrogen": "g/d",
    "nitrate_rise": "mg/L/d",
    "nitrate_peak": "mg/L",
    "water_change_volume": "L",
    "water_change_interval": "d",
    "chlorine_to_neutralise": "mg",
    "freed_ammonia": "mg/L",
    "hot_water_volume": "L",
    "uvi_at_basking": "1",
    "uv_lamp_hours": "h",
    "uv_lamp_replace_on": "date",
    "water_area": "cm2",
    "least_water_area": "cm2",
    "least_water_depth": "cm",
    "ration": "g/d",
}


def check_record(found):
    statuses = set(Status.__args__)
    for figure in found["figures"].values():
        assert list(figure) == ["value", "unit", "source", "status"]
        assert figure["source"]
        assert figure["status"] in statuses
        if figure["unit"] == "date":
            assert dt.date.fromisoformat(figure["value"]).isoformat() == figure["value"]
        else:
            assert isinstance(figure["value"], int | float) and not isinstance(figure["value"], bool)
            assert math.isfinite(figure["value"])
    for finding in found["findings"]:
        assert list(finding) == ["key", "verdict", "text", "source", "status"]
        assert finding["verdict"] in {"act", "look", "fine"}
        assert finding["text"] and finding["source"] and finding["status"] in statuses
    named = {finding["key"] for finding in found["findings"]}
    for key, unit in DOCUMENTED.items():
        if key in found["figures"]:
            assert found["figures"][key]["unit"] == unit
        else:
            assert key in named, f"{key} is neither a figure nor named by a finding"
    verdicts = [finding["verdict"] for finding in found["findings"]]
    assert verdicts == sorted(verdicts, key=["act", "look", "fine"].index), "worst first"


@pytest.mark.parametrize("path", EVERY_FILE)
def test_every_documented_key_of_the_samples_is_a_figure_or_named_by_a_finding(path):
    site = workflow.read_site(path)
    found = records(site)
    assert len(found) == len(site.enclosures) > 0
    for one in found:
        check_record(one)


def test_the_samples_show_every_documented_figure():
    found = [one for path in SAMPLES for one in records(workflow.read_site(path))]
    assert set(DOCUMENTED) <= {key for one in found for key in one["figures"]}


def test_a_bare_description_has_no_number_that_rests_on_a_measure():
    found = record(BARE)
    check_record(found)
    # What custom, law and chemistry say whatever the enclosure is like. The tap counts as chloramine at its ceiling.
    assert {key: figure["value"] for key, figure in found["figures"].items()} == {
        "water_change_interval": 14,
        "water_change_share": 0.5,
        "freed_ammonia": pytest.approx(0.7902, abs=1e-4),
        "lifting_limit": pytest.approx(7.13, abs=0.01),
    }
    (area,) = [f for f in found["findings"] if f["key"] == "water_area"]
    assert area["verdict"] == "look"
    assert "write length and width into the description" in area["text"]


def test_a_full_description_has_all_documented_figures():
    found = record(FULL)
    check_record(found)
    assert set(DOCUMENTED) <= set(found["figures"])


# --- That they are right --------------------------------------------------------------------------------------------

NET_L = 150 * 60 * 45 / 1000 - 150 * 60 * 3 * 0.6 / 1000 - 0.62
RATION = 4 * 5 / 7
RISE = RATION * 0.40 * 0.16 * 62.004 / 14.007 * 1000 / NET_L
GLASS_KG = (152 * 62 * 61 - 150 * 60 * 60) / 1000 * 2.5
MASS_KG = NET_L * 0.99705 + 16.2 * 2.65 + 0.62 + GLASS_KG
BESIDE_TUBE = (
    quad(lambda x: 40**2 / (x * x + 40**2) ** 2, 0, 114.9 / 2)[0]
    / quad(lambda x: 30**2 / (x * x + 30**2) ** 2, 0, 114.9 / 2)[0]
)

VALUES = [
    ("gross_volume", 405.0, "box of 150 x 60 x 45 cm"),
    ("net_volume", NET_L, "3 cm of sand, 60 % of it grains; 1 kg of animal a litre"),
    ("filled_mass", MASS_KG, "water 0.99705 kg/L at 25 degC (CRC Handbook), quartz 2.65, glass 2.5; panes of 10 mm"),
    ("floor_load", MASS_KG * 9.80665 / 0.9 / 1000, "standard gravity, CGPM 1901"),
    ("filter_turnover", 2400 / NET_L, "rated flow over volume"),
    ("ration", RATION, "grams x meals / 7"),
    ("feed_nitrogen", RATION * 0.40 * 0.16, "protein is 16 % nitrogen: the labels' convention"),
    ("nitrate_rise", RISE, "molar masses 62.004 and 14.007 g/mol (IUPAC)"),
    ("water_change_interval", 7, "(40 - 8) / 2 / 2.09 = 7.7 days, to the day"),
    ("water_change_share", 0.46, "2.09 x 7 / (40 - 8) = 45.6 %, up to the next percent"),
    ("nitrate_peak", 8 + RISE * 7 / 0.46, "geometric series of the remainders"),
    ("water_change_volume", NET_L * 0.46, "the share of the water"),
    ("hot_water_volume", NET_L * 0.46 * (25 - 10) / (55 - 10), "heat balance of two waters"),
    ("chlorine_to_neutralise", NET_L * 0.46 * 1.5, "volume x level"),
    ("freed_ammonia", 1.5 * 14.007 / 70.906, "one N for each Cl2 (IUPAC molar masses)"),
    ("uvi_at_basking", 2.8 * BESIDE_TUBE, "a line of light of 114.9 cm (54 W, IEC 60081, from memory): numeric integral of the cosine law"),
    ("uv_lamp_hours", 12 * 80, "80 days from 12 September to 1 December"),
    ("water_area", 9000, "150 x 60 cm"),
    ("least_water_area", 6000, "Directive 2010/63/EU, annex III, table 10.1, over 15 to 20 cm"),
    ("least_water_depth", 30, "the same row; 1.5 x 16 and 2 x 12.5 cm are less"),
    ("heater_power", 500, "as written"),
    ("lamp_energy", (54 * 12 + 75 * 10) * 365.25 / 12 / 1000, "power x hours x days of a month"),
    ("alkalinity_used", RATION * 0.064 * 7.14 * 1000 / NET_L, "two equivalents of CaCO3 for each N"),
    ("unionised_ammonia", 1.5 * 14.007 / 70.906 * 0.46 * 0.0221, "2.21 % at pH 7.6, 25 degC: Emerson et al. 1975, table"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "value", "source"), VALUES, ids=[row[0] for row in VALUES])
def test_a_figure_is_what_a_sum_done_by_hand_says(key, value, source):
    figure = record(FULL)["figures"][key]
    # The JSON carries four decimals.
    assert figure["value"] == pytest.approx(value, rel=2e-3, abs=5e-5), source


DATES = [
    ("uv_lamp_replace_on", "2027-09-11", "12 months by custom, in whole weeks: 364 days from 12 September 2026"),
    ("food_order_on", "2027-04-11", "500 g / 2.857 g a day = 175 days from 1 November, less 14"),
    ("conditioner_order_on", "2026-11-19", "2000 L / (388.18 L, the whole tank by hose, every 7 days and 5.374 L a day that evaporate) = 32 days from 1 November, less 14"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "day", "source"), DATES, ids=[row[0] for row in DATES])
def test_a_date_is_what_a_sum_done_by_hand_says(key, day, source):
    assert record(FULL)["figures"][key]["value"] == day, source


ROOMS = [
    # room, set to, power, covered
    ("15 degC", "25 degC", "500 W", "false"),
    ("15 degC", "25 degC", "390 W", "false"),  # hardly more than it loses
    ("20 degC", "26 degC", "300 W", "true"),
    ("5 degC", "24 degC", "2 kW", "true"),
    ("24.5 degC", "25 degC", "500 W", "false"),
]


def loss_of(room_c, covered):
    def loss(celsius):
        return heat.losses(150, 60, 45, celsius, room_c, covered=covered).total

    return loss


def at(room, set_to, power, covered):
    text = changed(
        ('room_low = "15 degC"', f'room_low = "{room}"'),
        ('set_to = "25 degC"', f'set_to = "{set_to}"'),
        ('power = "500 W"', f'power = "{power}"'),
        ("covered = false", f"covered = {covered}"),
    )
    return record(text), float(room.split()[0]), float(set_to.split()[0]), covered == "true"


def hours_by_scipy(start, end, watts, loss):
    """Integrate dT/dt = (P - loss) / (m c) until the end is passed. 4.18 kJ/kgK and 0.997 kg/L: water at 25 degC."""
    capacity = NET_L * 0.997 * 4180

    def passed(_, y):
        return y[0] - end

    passed.terminal = True
    found = solve_ivp(
        lambda _, y: [(watts - loss(y[0])) / capacity], (0, 3e7), [start], events=passed, rtol=1e-9, atol=1e-9
    )
    assert found.status == 1, "it gets there"
    return found.t_events[0][0] / 3600


@pytest.mark.parametrize(("room", "set_to", "power", "covered"), ROOMS)
def test_heat_up_time_is_what_a_solver_of_differential_equations_finds(room, set_to, power, covered):
    found, room_c, set_c, lid = at(room, set_to, power, covered)
    watts = found["figures"]["heater_power"]["value"]
    hours = hours_by_scipy(room_c, set_c, watts, loss_of(room_c, lid))
    assert found["figures"]["heat_up_time"]["value"] == pytest.approx(hours, rel=0.01)


@pytest.mark.parametrize(("room", "set_to", "power", "covered"), [ROOMS[0], ROOMS[3]])
def test_the_time_without_power_is_what_a_solver_finds(room, set_to, power, covered):
    found, room_c, set_c, lid = at(room, set_to, power, covered)
    hours = hours_by_scipy(set_c, 18.0, 0.0, loss_of(room_c, lid))
    assert found["figures"]["power_cut_time"]["value"] == pytest.approx(hours, rel=0.01)


def test_a_stuck_thermostat_ends_where_the_loss_equals_the_power():
    hottest = brentq(
        lambda c: heat.losses(150, 60, 45, c, 26, covered=False, activity=0.5).total - 500, 26, 40
    )
    assert record(FULL)["figures"]["stuck_temperature"]["value"] == pytest.approx(hottest, abs=0.01)


def test_a_heater_that_never_gets_there_has_no_time():
    found, *_ = at("5 degC", "25 degC", "100 W", "false")
    assert "heat_up_time" not in found["figures"]
    (text,) = [f["text"] for f in found["findings"] if f["key"] == "heat_up_time"]
    assert (
        text == "heat up time: no figure, since 100 W never bring the water from 5 °C to 25 °C in that room."
    )


@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
@pytest.mark.parametrize("grams", [1, 4, 12])
def test_the_printed_nitrate_peak_is_where_a_simulation_ends(grams, share):
    """A continuous rise and instantaneous changes, by scipy, of the interval that the review plans."""
    found = record(
        changed(
            ("grams = 4", f"grams = {grams}"),
            ("[enclosure.feed]", f"[enclosure.job.water-change]\nshare = {share}\n[enclosure.feed]"),
        )
    )["figures"]
    rise_a_day = grams * 5 / 7 * 0.40 * 0.16 * 62.004 / 14.007 * 1000 / NET_L
    days = found["water_change_interval"]["value"]
    level = tap = 8.0
    for _ in range(60):
        run = solve_ivp(lambda _, y: [rise_a_day], (0, days), [level], rtol=1e-8)
        peak = run.y[0][-1]
        level = peak * (1 - share) + tap * share
    assert found["nitrate_peak"]["value"] == pytest.approx(peak, rel=0.01)
    assert found["nitrate_trough"]["value"] == pytest.approx(level, rel=0.01)


# --- Whatever is written --------------------------------------------------------------------------------------------


def degrees(low, high):
    return st.floats(low, high).map(lambda c: f"{c:.2f} degC")


@given(
    length=st.floats(60, 9999),
    depth=st.floats(0.1, 9999),
    flow=st.floats(1, 1e6),
    power=st.floats(0.5, 9999),
    set_to=degrees(5, 40),
    room=degrees(-30, 40),
    ph=st.floats(3, 11),
    alkalinity=st.floats(0, 9999),
    protein=st.floats(1e-9, 0.999),
    share=st.floats(0.001, 1),
    # What is under the believable has its own test below.
    uvi=st.floats(0.001, 30),
    hours=st.floats(0.1, 24),
    nitrate=st.floats(0, 9999),
    pack=st.floats(100, 1e6),
)
def test_whatever_is_written_the_json_is_well_formed(
    length, depth, flow, power, set_to, room, ph, alkalinity, protein, share, uvi, hours, nitrate, pack
):
    check_record(
        record(
            changed(
                ('length = "150 cm"', f'length = "{length:.2f} cm"'),
                ('height = "60 cm"', ""),
                ('water_depth = "45 cm"', f'water_depth = "{depth:.2f} cm"'),
                ('[enclosure.substrate]\nkind = "sand"\ndepth = "3 cm"\n', ""),
                ('mass = "620 g"', ""),
                ("shell_width", "# shell_width"),
                ('carapace = "16 cm"', ""),
                ('flow = "2400 L/h"', f'flow = "{flow:.2f} L/h"'),
                ('power = "500 W"', f'power = "{power:.2f} W"'),
                ('set_to = "25 degC"', f'set_to = "{set_to}"'),
                ('room_low = "15 degC"', f'room_low = "{room}"'),
                ('room_high = "26 degC"', ""),
                ("ph = 7.6", f"ph = {ph!r}"),
                ('alkalinity = "120 mg/L"', f'alkalinity = "{alkalinity:.3f} mg/L"'),
                ("protein = 0.40", f"protein = {protein:.12f}"),
                ('nitrate = "8 mg/L"', f'nitrate = "{nitrate:.3f} mg/L"'),
                ("uvi = 2.8", f"uvi = {uvi!r}"),
                ("hours_a_day = 12", f"hours_a_day = {hours!r}"),
                ('pack = "500 g"', f'pack = "{pack:.2f} g"'),
                ("[enclosure.feed]", f"[enclosure.job.water-change]\nshare = {share!r}\n[enclosure.feed]"),
            )
        )
    )


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("uvi = 2.8", "uvi = 0.0"),
        ("uvi = 2.8", "uvi = 1e-310"),
        ("hours_a_day = 12", "hours_a_day = 0.1"),
        ("protein = 0.40", "protein = 5e-324"),
        ("grams = 4\n", "grams = 5e-324\n"),
        ("installed = 2026-09-12", "installed = 1950-01-01"),
        ("installed = 2026-09-12", "installed = 2199-12-31"),
        ("latitude = 53.3", "latitude = 90"),
        ("hours_a_day = 12", 'hours_a_day = "daylight"'),
    ],
)
def test_values_at_the_edge_of_what_is_read_give_a_review(old, new):
    check_record(record(changed((old, new))))
