"""Which jobs an enclosure has, and what they say. The words of the job table are the project's design."""

from __future__ import annotations

import datetime as dt
import math
import re

import ephem
import pytest
from support.care.reed_house import ALL_KEYS, FULL, job, jobs, without

from scheduler import care
from scheduler.care import ByRule, Every, On


def test_a_fully_equipped_enclosure_has_every_job_of_the_table() -> None:
    keys = {j.key for j in jobs(FULL)}
    # Its filter works, so that nothing is dosed; while it starts, no media are rinsed.
    starting = {j.key for j in jobs(FULL.replace("cycled = 2026-12-20", "cycled = false"))}
    assert keys == {*ALL_KEYS} - {"ammonia-dose"} and starting == {*ALL_KEYS} - {"media-rinse", "water-test"}
    assert sorted(ALL_KEYS) == sorted(care.KEYS)


@pytest.mark.parametrize(
    ("gone", "keys"),
    [
        (('[enclosure.filter]\nkind = "canister"\nmedia_trays = 4\n',), {"filter-check", "media-rinse"}),
        (('[[enclosure.heater]]\nset_to = "25 degC"\n',), {"heater-check"}),
        (
            ('[[enclosure.lamp]]\nkind = "mercury vapour"\ninstalled = 2026-11-20\nhours_a_day = 12\n',),
            {"lamp-clean", "uvi-reading", "uv-lamp-order", "uv-lamp-replace", "burn-in-baseline", "lamp-timer"},
        ),
        (("quarantine = true\n",), {"quarantine-watch", "quarantine-weigh", "faecal-test", "quarantine-release"}),
        (("set_up = 2026-11-20\ncycled = 2026-12-20\n",), {"treat-driftwood", "fit-out", "cycle-test"}),
        (("installed = 2026-11-20\n",), {"uv-lamp-order", "uv-lamp-replace", "burn-in-baseline"}),
        (("arrived = 2026-11-28\nquarantine = true\n",), {
            "pre-arrival-check", "basking-watch", "basking-review",
            "quarantine-watch", "quarantine-weigh", "faecal-test", "quarantine-release",
        }),
    ],
)  # fmt: skip
def test_a_job_appears_only_where_it_applies(gone: tuple[str, ...], keys: set[str]) -> None:
    assert set(ALL_KEYS) - {j.key for j in jobs(without(*gone))} == keys | {"ammonia-dose"}


def test_no_equipment_no_electrics() -> None:
    bare = '[site]\nname = "S"\n[[enclosure]]\nname = "Tub"\nkind = "tub"\n'
    assert [j.key for j in jobs(bare)] == [
        "daily-look", "water-test", "water-change", "top-up", "wipe-down", "cold-season-check", "cold-season-check",
        "supplies",
    ]  # fmt: skip


def test_while_the_biofilter_is_starting_the_daily_test_replaces_the_weekly_one() -> None:
    starting = FULL.replace("cycled = 2026-12-20", "cycled = false")
    keys = {j.key for j in jobs(starting)}
    assert "cycle-test" in keys and "water-test" not in keys
    # No date of success is promised: the tests go on until the keeper writes one.
    cadence = job(starting, "cycle-test").cadence
    assert isinstance(cadence, ByRule) and cadence.until is None


CADENCES = [
    # key, days, source
    ("water-change", 14, "about 50 % every two weeks: common practice, no published source"),
    ("filter-check", 28, "filter checked every month: common practice, no published source"),
    ("media-rinse", 56, "1 to 3 months, half at a time: house value"),
    ("rcd-test", 28, "monthly: UL 943, from memory"),
    ("water-test", 7, "weekly: house value on 'regularly' (New South Wales Department of Education)"),
    ("vet-check", 364, "yearly: practice, from memory"),
]


@pytest.mark.parametrize(("key", "days", "source"), CADENCES)
def test_cadences(key: str, days: int, source: str) -> None:
    cadence = job(FULL, key).cadence
    assert isinstance(cadence, Every) and cadence.span.days == days, source


def test_a_new_animal_is_watched_for_fourteen_days() -> None:
    # Basking seen by day 14 after arrival: common practice, no published source.
    watch, review = job(FULL, "basking-watch").cadence, job(FULL, "basking-review").cadence
    assert isinstance(watch, ByRule)
    assert (watch.start, watch.until) == (dt.date(2026, 11, 29), dt.date(2026, 12, 12))
    assert review == On(days=(dt.date(2026, 12, 12),))


def test_quarantine_restarts_when_another_animal_joins() -> None:
    # AZA accreditation standards 2007, quarantine: at least 30 days, and the clock restarts for the whole group when
    # an animal joins. An arrival on day 20 of 30 is free on day 50.
    joined = FULL.replace(
        "[enclosure.feed]",
        '[[enclosure.resident]]\nname = "Sedum"\narrived = 2026-12-18\n[enclosure.job.quarantine-release]\nevery = "30 days"\n[enclosure.feed]',
    )
    assert job(joined, "quarantine-release").cadence == On(
        days=(dt.date(2026, 11, 28) + dt.timedelta(days=50),)
    )


def test_quarantine_is_ninety_days_with_three_faecal_tests_unless_said_otherwise() -> None:
    arrival = dt.date(2026, 11, 28)
    assert job(FULL, "quarantine-release").cadence == On(days=(arrival + dt.timedelta(days=90),))
    tests = job(FULL, "faecal-test").cadence
    assert tests == On(days=tuple(arrival + dt.timedelta(days=d) for d in (14, 42, 70)))


def test_burn_in_is_a_hundred_hours() -> None:
    # 100 h at 12 h a day end on day 9: IES test practice, from memory.
    assert job(FULL, "burn-in-baseline").cadence == On(days=(dt.date(2026, 11, 29),))


def test_feeding_follows_the_life_stage_on_its_date() -> None:
    # The sheet: juvenile until 5 years; 14 of 24 cm of adult carapace is a juvenile by size as well.
    feeds = [j for j in jobs(FULL) if j.key == "feed"]
    assert [(j.variant, j.cadence.rule.byday, j.cadence.start, j.cadence.until) for j in feeds] == [  # type: ignore[union-attr]
        ("juvenile", ("MO", "TU", "TH", "FR", "SU"), dt.date(2026, 11, 30), dt.date(2028, 6, 14)),
        ("adult", ("MO", "WE", "FR"), dt.date(2028, 6, 15), None),
    ]


def test_an_animal_small_for_its_age_stays_in_the_stage_of_its_size() -> None:
    small = FULL.replace("born = 2023-06-15", "born = 2012-06-15")
    assert [j.variant for j in jobs(small) if j.key == "feed"] == ["juvenile"]


def test_the_water_change_reckons_with_this_enclosure() -> None:
    notes = job(FULL, "water-change").notes().brief()
    water = (
        150 * 60 * 52 / 1000 - 150 * 60 * 4 * 0.6 / 1000
    )  # stones: porosity 0.40, Freeze & Cherry 1979 (memory)
    change = water / 2
    assert f"Drain {change:.0f} L (50 %)" in notes
    # The line falls by the volume over the floor area, all of it above the stones.
    assert f"stands {round((52 - change * 1000 / (150 * 60)) * 2) / 2:g} cm over the floor" in notes
    # (25 - 10) / (55 - 10) of hot water: heat balance.
    assert f"{change * 2 / 3:.0f} L cold (10 °C) and {change / 3:.0f} L hot (55 °C)" in notes
    # 1.5 mg/L of chloramine as Cl2, to two figures and rounded up; 14.007/70.906 of it is freed as nitrogen.
    assert f"neutralise {math.ceil(change * 0.15) * 10} mg of chloramine" in notes
    assert (
        f"frees {1.5 * 14.007 / 70.906:.1g} mg/L" in notes
        or f"frees {1.5 * 14.007 / 70.906:.2g} mg/L" in notes
    )
    # Pails of at most 6 L, which with the pail stay within 7.1 kg (ISO 11228-1, one hand, 20 kg).
    count, litres, kilograms = re.search(r"(\d+) pails of ([\d.]+) L \(about ([\d.]+) kg", notes).groups()  # type: ignore[union-attr]
    assert int(count) == -(-change // 6) and float(litres) <= 6 and float(kilograms) <= 7.1


FED = FULL.replace("grams = 6\n", "grams = 5\nprotein = 0.40\n")


def test_the_water_change_says_how_its_amounts_came_about() -> None:
    # 5 meals a week of 5 g, 40 % protein, 16 % of that nitrogen, 62.004/14.007 of that nitrate, in 446.4 L; 40 mg/L is the
    # house limit, and half the water is changed.
    litres = 150 * 60 * 52 / 1000 - 150 * 60 * 4 * 0.6 / 1000
    rise = 5 * 5 / 7 * 0.4 * 0.16 * 62.004 / 14.007 * 1000 / litres
    longest = 40 * 0.5 / rise
    assert 8 < longest < 14
    found = job(FED, "water-change")
    assert isinstance(found.cadence, Every) and found.cadence.span.days == math.floor(longest) == 8
    # The smallest share that keeps the limit at those days, up to the next percent.
    share = math.ceil(rise * 8 / 40 * 100) / 100
    worked = {figure.key: figure.how() for figure in found.notes().worked}
    assert worked["nitrate_rise"].endswith(f"= {rise:.2f} mg/L a day")
    assert worked["water_change_interval"] == (
        f"(40 - 0) mg/L x 0.5 / {rise:.2f} mg/L a day = {longest:.1f} days, planned: every 8 days"
    )
    assert worked["nitrate_peak"].startswith(
        f"tap 0 + {rise:.2f} mg/L a day x 8 days / {share} = {rise * 8 / share:.0f} mg/L"
    )
    why = f"At this rhythm nitrate stands at about {rise * 8 / share:.0f} mg/L before a change, if all nitrogen of the food ends in the water."
    assert why in found.notes().text()
    # Only who asks sees the sums.
    assert "How it came about:" not in found.notes().text()
    explained = found.notes().text(explain=True)
    assert [line[2:] for line in explained.splitlines() if line.startswith("- ")] == found.notes().workings()


def test_a_keeper_who_reckons_as_for_fish_is_not_told_of_all_nitrogen() -> None:
    fish = FED.replace("[site.tap_water]", '[site.house_values]\nnitrogen = "fish"\n[site.tap_water]')
    text = job(fish, "water-change").notes().text()
    assert "nitrate stands at about" in text and "all nitrogen of the food" not in text


def hours_of_the_months(latitude: float) -> list[float]:
    """Return the hours that the timer note lists, and see that it names the twelve months in order."""
    text = FULL.replace("hours_a_day = 12", 'hours_a_day = "daylight"').replace("53.3", str(latitude))
    found = job(text, "lamp-timer")
    assert isinstance(found.cadence, Every) and found.cadence.span.days == 28
    table = re.findall(r"(\w+) (\d+):(00|15|30|45)[,.]", found.notes().brief())
    assert [month for month, _, _ in table] == [f"{dt.date(2027, n, 1):%B}" for n in range(1, 13)]
    return [int(hours) + int(minutes) / 60 for _, hours, minutes in table]


@pytest.mark.parametrize("latitude", [-33.0, 0.0, 30.0])
def test_the_lamp_timer_lists_the_length_of_the_days(latitude: float) -> None:
    # Against an ephemeris: from the upper limb's rising to its setting, refracted by 34', as almanacs have it.
    place = ephem.Observer()
    place.lat, place.horizon, place.pressure = str(latitude), "-0:34", 0
    for month, hours in enumerate(hours_of_the_months(latitude), start=1):
        place.date = f"2027/{month}/1 12:00"
        day = (place.next_setting(ephem.Sun()) - place.previous_rising(ephem.Sun())) * 24
        assert hours == pytest.approx(day, abs=0.125 + 0.1), month


def test_far_from_the_equator_the_timer_moves_by_no_more_than_a_quarter_of_an_hour_a_week() -> None:
    hours = hours_of_the_months(53.3)
    assert (hours[5], hours[6]) == (max(hours[:6]), max(hours[6:])) and hours[0] < hours[1] < hours[
        2
    ] < hours[3]
    for n in range(12):
        weeks = (dt.date(2027 + (n == 11), (n + 1) % 12 + 1, 1) - dt.date(2027, n + 1, 1)).days / 7
        # Both ends are rounded to a quarter.
        assert abs(hours[(n + 1) % 12] - hours[n]) <= 0.25 * weeks + 0.25
    assert 8 <= min(hours) < max(hours) <= 16


def test_packs_in_use_bring_their_own_order_days() -> None:
    packs = FED.replace("protein = 0.40\n", 'protein = 0.40\npack = "300 g"\nopened = 2026-12-01\n')
    packs += '[enclosure.job.water-change]\nevery = "7 days"\nshare = 0.5\n[enclosure.conditioner]\ntreats = "4464 L"\nopened = 2026-12-01\n'
    found = {j.variant: j for j in jobs(packs) if j.key == "supplies"}
    assert set(found) == {"", "food", "conditioner"}
    # 300 g / (25 g a week) = 84 days; 4464 L / 446.4 L a week (by hose, so the whole tank) = 70 days; both less two weeks (house value).
    opened = dt.date(2026, 12, 1)
    assert found["food"].cadence == On(days=(opened + dt.timedelta(days=84 - 14),))
    assert found["conditioner"].cadence == On(days=(opened + dt.timedelta(days=70 - 14),))
    assert "Order the food: the pack in use ends in about 14 days." in found["food"].notes().brief()
    assert [j.variant for j in jobs(FED) if j.key == "supplies"] == [""]


def test_the_space_review_names_the_size_that_outgrows_it_and_its_day() -> None:
    # J. Herpetol. 53:297: female map turtles grow 0.130 x (25.9 - carapace) cm a year.
    grows = FULL.replace("Trachemys scripta", "Graptemys geographica")
    found = {j.variant: j for j in jobs(grows) if j.key == "space-review"}
    assert set(found) == {"", "outgrown"}
    limit = float(re.search(r"up to a carapace of ([\d.]+) cm", found[""].notes().brief())[1])  # type: ignore[index]
    assert 14 < limit < 25.9
    wild = math.log((25.928 - 14) / (25.928 - limit)) / 0.130
    cadence = found["outgrown"].cadence
    assert isinstance(cadence, On)
    years = (cadence.days[0] - dt.date(2026, 11, 28)).days / 365.25
    # Three times as fast in captivity (house value), from the day of arrival.
    assert years == pytest.approx(wild / 3, abs=0.05)
    assert [j.variant for j in jobs(FULL) if j.key == "space-review"] == [""], (
        "no curve of the carapace is published"
    )


def test_the_top_up_says_what_evaporates() -> None:
    warm = FULL.replace("latitude = 53.3", 'latitude = 53.3\nroom_low = "10 degC"')
    closed, opened = (
        job(warm.replace("set_up = 2026", f"covered = {covered}\nset_up = 2026"), "top-up")
        for covered in ("true", "false")
    )
    assert isinstance(closed.cadence, Every) and closed.cadence.span.days == 7
    litres, days = re.search(r"About ([\d.]+) L will have gone in (\d) day", opened.notes().brief()).groups()  # type: ignore[union-attr]
    assert isinstance(opened.cadence, Every) and opened.cadence.span.days == int(days) < 7
    # 9 L are a centimetre of 150 cm x 60 cm: the line falls by no more than 2 cm (house value).
    assert 0.5 * 18 < float(litres) <= 18 + 0.25
    assert "will have gone" not in job(FULL, "top-up").notes().brief()


def test_what_is_unknown_is_asked_for_and_not_guessed() -> None:
    unknown = '[site]\nname = "S"\n[[enclosure]]\nname = "Tub"\n[[enclosure.resident]]\nname = "Clover"\n'
    notes = {j.key: j.notes().text() for j in jobs(unknown)}
    assert "once length, width and water depth are measured" in notes["water-change"]
    assert "Measure the tank's water" in notes["water-change"]
    assert "Measure the carapace of Clover" in notes["feed"]
    for text in notes.values():
        assert not re.search(r"\b(None|nan|inf)\b", text)


def test_tap_water_without_disinfectant_needs_no_conditioner() -> None:
    clean = FULL.replace(
        'disinfectant = "chloramine"\ndisinfectant_level = "1.5 mg/L"', 'disinfectant = "none"'
    )
    assert "conditioner" not in job(clean, "water-change").notes().text()


def test_a_pond_has_no_panes_and_no_customary_share() -> None:
    pond = '[site]\nname = "S"\n[[enclosure]]\nname = "Pool"\nkind = "pond"\noutdoors = true\nlength = "4 m"\nwidth = "3 m"\nwater_depth = "60 cm"\n'
    assert "wipe-down" not in {j.key for j in jobs(pond)}
    asked = "let your water tests say how much"
    assert asked in job(pond, "water-change").notes().brief()
    told = pond + "[enclosure.job.water-change]\nshare = 0.1\n"
    assert asked not in job(told, "water-change").notes().brief()


@pytest.mark.parametrize(
    ("species", "source"),
    [
        ('species = "Trachemys scripta"\n', "house value between the daily feeding of hatchlings"),
        ("", "5 days a week, between hatchling and adult (house value)"),
    ],
)
def test_the_meals_name_the_source_of_their_stage(species: str, source: str) -> None:
    text = (
        '[site]\nname = "S"\n[[enclosure]]\nname = "Tub"\n[[enclosure.resident]]\nname = "Clover"\n' + species
    )
    notes = job(text, "feed").notes().text()
    assert source in notes and notes.count("SPCA") >= 1


def changed(*lines: str) -> str:
    return FULL.replace("[enclosure.feed]", "\n".join(lines) + "\n[enclosure.feed]")


def test_overrides_change_one_thing_each() -> None:
    text = changed(
        "[enclosure.job.water-change]", 'every = "7 days"', "share = 0.25", "minutes = 25",
        "[enclosure.job.top-up]", "off = true",
        "[enclosure.job.wipe-down]", 'part = "evening"', 'note = "Mind the ledge."', 'window = "1 day"',
        "[enclosure.job.vet-check]", "on = [2027-03-01]",
        "[enclosure.job.supplies]", 'rule = "FREQ=MONTHLY;BYDAY=1SA"',
        "[enclosure.job.rcd-test]", 'every = "14 days"', 'weekdays = ["Saturday"]',
    )  # fmt: skip
    found = {j.key: j for j in jobs(text) if not j.fixed}
    change = found["water-change"]
    assert isinstance(change.cadence, Every) and change.cadence.span.days == 7 and change.minutes == 25
    assert "(25 %)" in change.notes().brief()
    assert not change.heavy, "a change of a quarter of the water is not a large one"
    assert "top-up" not in found
    wipe = found["wipe-down"]
    assert (wipe.part, wipe.window, wipe.notes().steps[-1]) == ("evening", 1, "Mind the ledge.")
    assert found["vet-check"].cadence == On(days=(dt.date(2027, 3, 1),))
    supplies = found["supplies"].cadence
    assert isinstance(supplies, ByRule) and supplies.rule.text() == "FREQ=MONTHLY;BYDAY=1SA"
    assert found["rcd-test"].weekdays == (5,)


def test_an_extra_job_is_the_keepers_own() -> None:
    text = changed(
        "[[enclosure.extra_job]]", 'key = "rain-barrel"', 'title = "Rinse the rain barrel"', 'every = "6 weeks"',
        "minutes = 15", 'note = "Use the long brush."',
    )  # fmt: skip
    own = job(text.replace("quarantine = true\n", ""), "rain-barrel")
    assert (own.title, own.minutes) == ("Rinse the rain barrel", 15)
    assert (
        own.notes().text()
        == "Use the long brush.\n\nFrom: your own entry in the description (keeper's value)."
    )
