"""The outlook's quantities, days and costs, worked by hand; and what holds for every site."""

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest
import tomli_w
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.depth import examples

import scheduler
from scheduler import workflow
from scheduler.care import Case
from scheduler.care.outlook import outlook
from scheduler.care.outlook.coming import line_of
from scheduler.care.outlook.orders import orders
from scheduler.history import History

TODAY = dt.date(2026, 12, 1)


def load(text):
    return scheduler.loads(text)


def look(text, months=12, today=TODAY, enclosure=None):
    return workflow.outlook(load(text), today, months, enclosure=enclosure)


def lines(found, job):
    return [(line.day, line.text, line.cost) for line in found.lines if line.job == job]


def bought(found, start):
    (one,) = [p for p in found.purchases if p.what.startswith(start)]
    return one


SITE = """
[site]
name = "Weir Cottage"
time_zone = "Europe/Dublin"
latitude = 53.3
[site.tap_water]
disinfectant = "chlorine"
[site.house_values]
hose_from = "150 L"
"""

# 100 x 50 cm, filled to 40 cm: 200 L, of which half is changed.
REED = """
[[enclosure]]
name = "Reed"
length = "100 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-06-01
cycled = true
[enclosure.filter]
kind = "internal"
[[enclosure.resident]]
name = "Moss"
species = "Sternotherus odoratus"
sex = "male"
carapace = "9 cm"
[enclosure.feed]
grams = 3
meals_a_week = 3
{feed}
[enclosure.conditioner]
{conditioner}
"""

# A second one that eats 1 g every day.
SEDGE = (
    REED.replace('"Reed"', '"Sedge"')
    .replace('"Moss"', '"Fern"')
    .replace("grams = 3\nmeals_a_week = 3", "grams = 1\nmeals_a_week = 7")
)


def tank(feed="", conditioner="", text=REED):
    return text.replace("{feed}", feed).replace("{conditioner}", conditioner)


# --- Quantities -------------------------------------------------------------------------------------------------

FED = [
    # months, feed, g needed, packs, days of orders, source
    # 3 g x 3 meals / 7 days x 365 days = 469.3 g; / 250 g = 1.88 packs
    (12, 'pack = "250 g"', 469.2857, 2, None, "hand"),
    (12, "", 469.2857, None, None, "hand"),
    # 3 x 3 / 7 x 31 days of December
    (1, 'pack = "250 g"', 39.8571, 1, None, "hand"),
    # 250 / (9/7) = 194.4 days: 28 November + 194 = 10 June, less 14; the next ends 388 days after, on 21 December 2027
    (12, 'pack = "250 g"\nopened = 2026-11-28', 469.2857, 1, ["2027-05-27"], "hand"),
    # 13 months reach 31 December 2027, and 21 December less 14 days: 396 days of food
    (13, 'pack = "250 g"\nopened = 2026-11-28', 509.1429, 2, ["2027-05-27", "2027-12-07"], "hand"),
    # 90 / (9/7) = 70 days: 21 November + 70 = 30 January, 10 April, 19 June, 28 August, 6 November, 15 January; less 14
    (
        12, 'pack = "90 g"\nopened = 2026-11-21', 469.2857, 5,
        ["2027-01-16", "2027-03-27", "2027-06-05", "2027-08-14", "2027-10-23"], "hand",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("months", "feed", "grams", "packs", "days", "source"), FED)
def test_food_follows_from_the_ration(months, feed, grams, packs, days, source):
    found = look(SITE + tank(feed=feed), months)
    food = bought(found, "food")
    assert food.quantity == pytest.approx(grams, abs=1e-3), source
    assert (food.packs, food.unit) == (packs, "g"), source
    assert [day.isoformat() for day, _, _ in lines(found, "supplies")] == (days or [])


def test_a_need_of_whole_packs_is_not_rounded_up_to_one_more():
    # 0.9 g x 7 / 7 x 31 days = 27.9 g; over a pack of 27.9 g floats make it 1.0000000000000002.
    text = tank(feed='pack = "27.9 g"').replace(
        "grams = 3\nmeals_a_week = 3", "grams = 0.9\nmeals_a_week = 7"
    )
    assert 0.9 * 7 / 7 * 31 / 27.9 > 1
    assert bought(look(SITE + text, 1), "food").packs == 1


def test_the_first_order_is_the_day_of_the_calendar():
    site = load(SITE + tank(feed='pack = "250 g"\nopened = 2026-11-28'))
    (order,) = (job for job in scheduler.jobs(site) if (job.key, job.variant) == ("supplies", "food"))
    assert list(order.cadence.days) == [dt.date(2027, 5, 27)]


def test_food_counts_from_the_day_on_which_the_animals_are_there():
    text = tank().replace('carapace = "9 cm"', 'carapace = "9 cm"\narrived = 2027-11-01')
    # 3 x 3 / 7 x 30 days of November
    assert bought(look(SITE + text), "food").quantity == pytest.approx(270 / 7)
    text = text.replace("2027-11-01", "2027-12-01")
    assert not [p for p in look(SITE + text).purchases if p.what == "food"]


TREATED = [
    # conditioner, changes planned, L, bottles, days of orders, source
    # 200 L x 0.5 every 14 days: 26 in 365 days; 2600 / 1000 = 2.6
    ('treats = "1000 L"', 26, 2600, 3, None, "hand"),
    # 1000 / (100 / 14) = 140 days: 1 November + 140 = 21 March, 8 August, 26 December; less 14
    ('treats = "1000 L"\nopened = 2026-11-01', 26, 2600, 2, ["2027-03-07", "2027-07-25"], "hand"),
    ("", 26, 2600, None, None, "hand"),
]


@pytest.mark.parametrize(("conditioner", "changes", "litres", "bottles", "days", "source"), TREATED)
def test_conditioner_follows_from_the_planned_changes(conditioner, changes, litres, bottles, days, source):
    text = SITE + tank(conditioner=conditioner)
    site = load(text)
    planned = workflow.make_plan(site, TODAY, TODAY, 365)
    assert sum(o.job.key == "water-change" for o in workflow.days_of(planned)) == changes
    found = look(text)
    bottle = bought(found, "water conditioner")
    assert (bottle.quantity, bottle.unit, bottle.packs) == (pytest.approx(litres), "L", bottles), source
    assert [day.isoformat() for day, _, _ in lines(found, "supplies")] == (days or [])


def test_by_hose_conditioner_is_for_the_whole_tank():
    # As its note says: 26 changes of 100 L, each with the dose of 200 L.
    text = SITE.replace("150 L", "40 L") + tank(conditioner='treats = "1000 L"')
    assert bought(look(text), "water conditioner").quantity == pytest.approx(5200)


def test_conditioner_of_changes_that_are_more_or_none():
    text = SITE + tank(conditioner='treats = "1000 L"')
    # Every 7 days: 52 of 100 L.
    weekly = text + '[enclosure.job.water-change]\nevery = "7 days"\n'
    assert bought(look(weekly), "water conditioner").quantity == pytest.approx(5200)
    off = text + "[enclosure.job.water-change]\noff = true\n"
    clean = text.replace('"chlorine"', '"none"')
    for other in (off, clean):
        found = look(other)
        assert not [p for p in found.purchases if "conditioner" in p.what]
        assert not [u for u in found.unknown if "conditioner" in u.text]


def test_what_each_planned_job_uses_one_of_is_counted():
    found = look(SITE + tank())
    site = load(SITE + tank())
    keys = [o.job.key for o in workflow.days_of(workflow.make_plan(site, TODAY, TODAY, 365))]
    assert bought(found, "tests of ammonia").quantity == keys.count("water-test") == 52
    assert bought(found, "cuttlebone").quantity == keys.count("cuttlebone") == 13
    text = (SITE + tank()).replace("cycled = true", "cycled = false")
    assert bought(look(text), "tests of the same").quantity == 365


# --- Several enclosures, one product ----------------------------------------------------------------------------

STICKS = 'name = "Pond sticks"'
ONE_PACK = STICKS + '\npack = "250 g"\nopened = 2026-11-28\nprice = "8.75 EUR"'


def test_a_product_of_two_enclosures_is_added_up():
    found = look(SITE + tank(feed=ONE_PACK) + tank(feed='name = "pond  sticks"', text=SEDGE))
    food = bought(found, "food")
    # 9/7 + 1 = 16/7 g a day: x 365 = 834.3 g. 250 / (16/7) = 109.375 days, from 28 November: 17 March, 4 July,
    # 21 October, 8 February (109, 218, 328, 437 whole days); less 14.
    assert food.quantity == pytest.approx(834.2857, abs=1e-3)
    assert [e.name for e in food.enclosures] == ["Reed", "Sedge"]
    assert [(day.isoformat(), str(cost)) for day, _, cost in lines(found, "supplies")] == [
        ("2027-03-03", "8.75 EUR"),
        ("2027-06-20", "8.75 EUR"),
        ("2027-10-08", "8.75 EUR"),
    ]
    assert (food.packs, str(food.cost)) == (3, "26.25 EUR")
    assert {line.enclosure for line in found.lines if line.job == "supplies"} == {None}
    assert lines(found, "supplies")[0][1] == 'order food "Pond sticks": what is there ends on 17 March 2027'


def test_who_does_not_eat_in_the_span_is_not_named():
    later = tank(feed=STICKS, text=SEDGE).replace('"9 cm"', '"9 cm"\narrived = 2027-01-09')
    text = SITE + tank(feed=STICKS) + later
    assert [e.name for e in bought(look(text, 1), "food").enclosures] == ["Reed"]
    assert [e.name for e in bought(look(text, 2), "food").enclosures] == ["Reed", "Sedge"]


def test_packs_are_rounded_up_once_for_the_site():
    apart = look(SITE + tank(feed='pack = "500 g"') + tank(feed='pack = "500 g"', text=SEDGE))
    # 469.3 / 500 and 365 / 500: one each; together 834.3 / 500 = 1.67.
    assert [p.packs for p in apart.purchases if p.what == "food"] == [1, 1]
    named = STICKS + '\npack = "500 g"'
    shared = look(SITE + tank(feed=named) + tank(feed=named, text=SEDGE))
    assert bought(shared, "food").packs == 2
    named = STICKS + '\npack = "900 g"'
    assert bought(look(SITE + tank(feed=named) + tank(feed=named, text=SEDGE)), "food").packs == 1


def test_the_calendar_and_the_figures_reckon_with_all_who_share():
    bottle = 'name = "Blue"\ntreats = "1000 L"\nopened = 2026-11-01'
    text = SITE + tank(feed=ONE_PACK, conditioner=bottle)
    text += tank(feed='name = "pond  sticks"', conditioner='name = "blue"', text=SEDGE)
    site = load(text)
    planned = {j.variant: j.cadence.days for j in scheduler.jobs(site) if j.key == "supplies" and j.variant}
    # 250 / (16/7) = 109 days from 28 November; 1000 / (200 / 14) = 70 days from 1 November; less 14.
    assert planned == {"food": (dt.date(2027, 3, 3),), "conditioner": (dt.date(2026, 12, 27),)}
    firsts = [next(line.day for line in look(text).lines if line.unit == unit) for unit in ("pack", "bottle")]
    assert firsts == [planned["food"][0], planned["conditioner"][0]]
    case = Case(site, site.enclosures[0], TODAY)
    assert case.figure("food_order_on").how() == (
        "250 g / 2.29 g a day with Sedge = 109 days from 28 November 2026, less 14 days"
    )
    hungry = load(text.replace("grams = 1\n", ""))
    assert not Case(hungry, hungry.enclosures[0], TODAY).known("food_order_on")


def test_an_enclosure_alone_still_shows_the_whole_of_what_it_shares():
    text = SITE + tank(feed=ONE_PACK) + tank(feed=STICKS, text=SEDGE)
    whole, sedge = look(text), look(text, enclosure="Sedge")
    assert {str(line) for line in sedge.lines} < {str(line) for line in whole.lines}
    assert lines(sedge, "supplies") == lines(whole, "supplies")
    assert bought(sedge, "food") == bought(whole, "food")
    assert {line.enclosure.name for line in sedge.lines if line.enclosure} == {"Sedge"}


def test_without_the_food_of_one_the_days_of_a_shared_pack_are_not_told():
    hungry = tank(feed=STICKS, text=SEDGE).replace("grams = 1\n", "")
    found = look(SITE + tank(feed=ONE_PACK) + hungry)
    assert lines(found, "supplies") == []
    assert [(u.enclosure.name, u.text) for u in found.unknown if "Pond" in u.text] == [
        ("Sedge", 'food "Pond sticks": feed.grams is not in the description'),
        ("Reed", 'food "Pond sticks": the days to order: what all its users take is not known'),
    ]
    assert bought(found, "food").quantity == pytest.approx(469.2857, abs=1e-3)


# --- Packs that are behind the reckoning ------------------------------------------------------------------------


def test_a_late_order_comes_today():
    # 194 days from 28 May: 8 December; the order was due on 24 November.
    found = look(SITE + tank(feed='pack = "250 g"\nopened = 2026-05-28'))
    assert [(day.isoformat(), text) for day, text, _ in lines(found, "supplies")] == [
        ("2026-12-01", "order food, unless it is on its way: what is there ends on 8 December 2026"),
        ("2027-06-06", "order food: what is there ends on 20 June 2027"),
    ]


def test_a_pack_that_should_be_empty_is_ordered_today_and_the_next_counts_from_there():
    # 194 days from 1 March: 11 September. 1 December + 194 = 13 June, less 14.
    found = look(SITE + tank(feed='pack = "250 g"\nopened = 2026-03-01'))
    assert [(day.isoformat(), text) for day, text, _ in lines(found, "supplies")] == [
        (
            "2026-12-01",
            "order food, and write the day on which it was opened: by the reckoning the pack in use ended on "
            "11 September 2026",
        ),
        ("2027-05-30", "order food: what is there ends on 13 June 2027"),
    ]


def test_what_the_log_says_was_ordered_is_not_ordered_again():
    site = load(SITE + tank(feed='pack = "250 g"\nopened = 2026-05-28\nprice = "8.75 EUR"'))
    last = TODAY + dt.timedelta(days=364)

    def days(day):
        history = History(begun=TODAY, last={("reed", "supplies", "food"): day})
        found = outlook([Case(site, e, TODAY, history) for e in site.enclosures], [], TODAY, last)
        return [line.day.isoformat() for line in found.lines if line.job == "supplies"]

    assert days(dt.date(2026, 11, 25)) == ["2027-06-06"]
    # An order from before the pack in use was opened brought that pack.
    assert days(dt.date(2026, 5, 20)) == ["2026-12-01", "2027-06-06"]


def test_small_packs_are_ordered_several_at_once():
    # 3 days a pack, 14 days ahead: on the first day what ends by 15 December is too little.
    found = list(orders(TODAY, 3.0, 14, TODAY, TODAY + dt.timedelta(days=6)))
    assert [(o.day.isoformat(), o.count, o.state) for o in found] == [
        ("2026-12-01", 4, "late"),
        ("2026-12-02", 1, "due"),
        ("2026-12-05", 1, "due"),
    ]


@pytest.mark.parametrize(
    ("opened", "days", "told"),
    [
        # What ends on the first day is still there; what ended the day before is not.
        ("2026-11-21", 10.0, ("2026-12-01", 2, "2026-12-01", "late")),
        ("2026-11-20", 10.0, ("2026-12-01", 2, "2026-11-30", "ended")),
        # Nothing is ordered before the pack is opened that is yet to be opened.
        ("2026-12-20", 10.0, ("2026-12-20", 1, "2026-12-30", "due")),
    ],
)
def test_the_edges_of_a_pack(opened, days, told):
    found = next(orders(dt.date.fromisoformat(opened), days, 14, TODAY, TODAY + dt.timedelta(days=90)))
    assert (found.day.isoformat(), found.count, found.end.isoformat(), found.state) == told


# --- Prices -----------------------------------------------------------------------------------------------------

LAMP = """
[[enclosure.lamp]]
kind = "T5 HO tube"
power = "24 W"
installed = 2026-01-17
hours_a_day = 12
price = "31.90 EUR"
"""


def test_costs_are_exact_and_kept_apart_by_currency():
    text = SITE + tank(feed='pack = "90 g"\nopened = 2026-11-21\nprice = "0.10 USD"') + LAMP
    text += '[enclosure.job.vet-check]\nprice = "60 EUR"\n'
    found = look(text)
    # Five packs at 0.10, one lamp, one visit; in floats five times 0.1 would not be told from 0.5.
    assert found.costs == {"EUR": Decimal("91.90"), "USD": Decimal("0.50")}
    assert bought(found, "T5 HO tube lamp of 24 W").cost == (
        next(line.cost for line in found.lines if line.job == "uv-lamp-order")
    )
    assert found.unpriced == 0
    assert look(text.replace('price = "60 EUR"', "")).unpriced == 1


def test_lamps_alike_of_two_prices_are_bought_apart():
    text = SITE + tank() + LAMP + LAMP.replace("31.90", "29.90") + LAMP
    rows = [(p.what, p.quantity, str(p.cost)) for p in look(text).purchases if p.unit == "lamp"]
    name = "T5 HO tube lamp of 24 W"
    assert rows == [(name, 1, "29.90 EUR"), (name, 2, "63.80 EUR")]


def test_a_job_with_a_price_has_lines_however_often_it_comes():
    text = SITE + tank()
    assert lines(look(text), "uvi-reading") == lines(look(text), "weigh-measure") == []
    priced = look(text + '[enclosure.job.weigh-measure]\nprice = "2.50 EUR"\n')
    assert len(lines(priced, "weigh-measure")) == 13
    assert priced.costs == {"EUR": Decimal("32.50")}
    assert look(text + '[enclosure.job.weigh-measure]\nprice = "2.50 EUR"\noff = true\n').costs == {}


# --- Days -------------------------------------------------------------------------------------------------------


def test_a_lamp_is_ordered_and_replaced_with_the_reason():
    found = look(SITE + tank() + LAMP)
    why = "the customary 1 year for its kind"
    (order,), (replaced,) = lines(found, "uv-lamp-order"), lines(found, "uv-lamp-replace")
    assert order[1] == f"order a T5 HO tube lamp of 24 W: the one in use is replaced in about 4 weeks ({why})"
    assert replaced[1] == f"replace the T5 HO tube lamp of 24 W ({why})"
    assert replaced[2] is None
    # A year from 17 January 2026, at most two weeks early; ordered four weeks before, give or take as much.
    assert dt.date(2027, 1, 2) <= replaced[0] <= dt.date(2027, 1, 17)
    assert 14 <= (replaced[0] - order[0]).days <= 42


MAP_TURTLE = """
[[enclosure]]
name = "Stickleback"
length = "80 cm"
width = "40 cm"
height = "40 cm"
water_depth = "20 cm"
set_up = 2026-01-17
cycled = true
[[enclosure.resident]]
name = "Lighthouse"
species = "Graptemys geographica"
sex = "female"
carapace = "8.8 cm"
measured = 2026-11-21
"""


def test_an_animal_that_grows_out_of_its_enclosure_is_told_by_code():
    # 80 x 40 = 3200 cm2: EU 2010/63 asks for 1600 cm2 up to 10 cm of carapace, and for 3500 from there on.
    found = look(SITE + MAP_TURTLE)
    (line,) = [line for line in found.lines if line.kind == "space"]
    assert (line.day.isoformat(), line.job) == ("2027-01-28", "space-review")
    assert line.text == (
        "Lighthouse may outgrow it: beyond 10 cm of carapace EU 2010/63 asks for more area. "
        "By the curve of wild animals: on 13 June 2027"
    )
    later = look(SITE + MAP_TURTLE, today=dt.date(2027, 3, 1))
    (line,) = [line for line in later.lines if line.kind == "space"]
    assert (line.day.isoformat(), line.job) == ("2027-03-01", None)
    assert line.text.startswith(
        "measure now, Lighthouse may have outgrown it since 28 January 2027: beyond 10 cm"
    )
    # On the day itself it has one line, that of the plan.
    (line,) = [
        line for line in look(SITE + MAP_TURTLE, today=dt.date(2027, 1, 28)).lines if line.kind == "space"
    ]
    assert (line.day.isoformat(), line.job) == ("2027-01-28", "space-review")
    (line,) = [
        line for line in look(SITE + MAP_TURTLE.replace("8.8 cm", "10.2 cm")).lines if line.kind == "space"
    ]
    assert line.text == "Lighthouse has outgrown it: beyond 10 cm of carapace EU 2010/63 asks for more area"


def test_arrivals_and_the_end_of_quarantine():
    text = tank().replace('carapace = "9 cm"', 'carapace = "9 cm"\narrived = 2027-02-06\nquarantine = true')
    found = look(SITE + text)
    told = [(line.day.isoformat(), line.kind, line.job) for line in found.lines]
    # 90 days of quarantine; faecal tests on days 14, 42 and 70.
    for line in (
        ("2027-02-05", "arrival", "pre-arrival-check"),
        ("2027-02-06", "arrival", None),
        ("2027-02-20", "vet", "faecal-test"),
        ("2027-03-20", "vet", "faecal-test"),
        ("2027-04-17", "vet", "faecal-test"),
        ("2027-05-07", "arrival", "quarantine-release"),
    ):
        assert told.count(line) == 1, line


def test_the_cold_season_and_the_seldom_services_are_there_and_the_routine_is_not():
    found = look(SITE + tank())
    keys = [line.job for line in found.lines]
    assert [line.day.isoformat() for line in found.lines if line.kind == "season"] == ["2027-10-01"]
    assert {"media-rinse", "cord-check", "space-review", "vet-check"} <= set(keys)
    routine = {
        "daily-look",
        "feed",
        "water-change",
        "water-test",
        "top-up",
        "wipe-down",
        "filter-check",
        "supplies",
    }
    assert not routine & set(keys)
    site = load(SITE + tank())
    planned = list(workflow.days_of(workflow.make_plan(site, TODAY, TODAY, 365)))
    assert keys.count("media-rinse") == sum(o.job.key == "media-rinse" for o in planned) in (6, 7)
    # The hours of care count everything.
    assert sum(found.minutes.values()) == sum(o.job.minutes for o in planned)
    assert list(found.minutes) == [f"2026-{12:02}", *(f"2027-{month:02}" for month in range(1, 12))]


def test_the_cadence_of_the_keeper_is_the_source():
    text = SITE + tank() + "[enclosure.job.vet-check]\non = [2027-04-12]\n"
    (line,) = [line for line in look(text).lines if line.job == "vet-check"]
    assert (line.day.isoformat(), line.source.status) == ("2027-04-12", "keeper's value")
    (line,) = [line for line in look(SITE + tank()).lines if line.job == "vet-check"]
    assert line.source.status == "from memory"


OWN = [
    # the cadence of a duty of the keeper's own, how many lines it has in a year
    ('rule = "FREQ=YEARLY;BYMONTH=5;BYMONTHDAY=1"', 1),
    ('rule = "FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=1"', 4),
    ('rule = "FREQ=MONTHLY;BYMONTHDAY=1"', 0),
    ('every = "8 weeks"', 6),
    ('every = "55 days"', 0),
    ("on = [2026-12-24, 2027-04-01]", 2),
]


@pytest.mark.parametrize(("cadence", "count"), OWN)
def test_a_duty_of_the_keepers_own_has_lines_where_it_is_seldom(cadence, count):
    duty = f'[[enclosure.extra_job]]\nkey = "hose"\ntitle = "Hang up the hose"\n{cadence}\n'
    found = [line for line in look(SITE + tank() + duty).lines if line.job == "hose"]
    assert count <= len(found) <= count + (count == 6)
    assert {(line.kind, line.text, line.source.status) for line in found} <= {
        ("service", "Hang up the hose", "keeper's value")
    }


def test_a_job_whose_days_follow_from_what_happened_is_not_the_keepers():
    site = load(SITE + tank() + '[enclosure.job.vet-check]\nevery = "6 months"\n')
    case = Case(site, site.enclosures[0], TODAY)
    (job,) = (job for job in scheduler.jobs(site) if job.key == "vet-check")
    assert line_of(case, TODAY, job).source.status == "keeper's value"
    assert line_of(case, TODAY, replace(job, fixed=True)).source.status == "from memory"


# --- What is not known ------------------------------------------------------------------------------------------

UNKNOWN = [
    # what is taken away, what is put there, what is said
    ("grams = 3\n", "", "food: feed.grams is not in the description"),
    ("water_depth = \"40 cm\"\n", "", "water conditioner: water_depth is not in the description"),
    ("water_depth = \"40 cm\"\n", "", "when it gets too small: water_depth is not in the description"),
    ("{feed}", 'pack = "250 g"', "food: the days to order: feed.opened is not in the description"),
    ("{feed}", "", "food: the days to order: feed.pack and feed.opened are not in the description"),
    ("{feed}", 'pack = "1 g"\nopened = 2026-11-30', "food: the days to order: a pack would not last a day"),
    ('species = "Sternotherus odoratus"\n', "", "whether it gets too small for Moss: resident.species is not in the description"),
]  # fmt: skip


@pytest.mark.parametrize(("taken", "put", "said"), UNKNOWN, ids=[said for *_, said in UNKNOWN])
def test_what_is_not_known_is_named_and_not_guessed(taken, put, said):
    text = REED.replace(taken, put, 1)
    assert text != REED
    found = look(SITE + text.replace("{feed}", "").replace("{conditioner}", ""))
    assert said in [u.text for u in found.unknown]
    assert not [line for line in found.lines if line.kind == "supply"]


def test_a_lamp_without_a_day_is_named():
    text = SITE + tank() + LAMP.replace("installed = 2026-01-17\n", "")
    found = look(text)
    assert (
        "T5 HO tube lamp of 24 W: the days to order and replace it; lamp.installed is not in the description"
        in [u.text for u in found.unknown]
    )
    assert not [line for line in found.lines if line.kind == "lamp" and "order" in line.text]


# --- What holds for every site ----------------------------------------------------------------------------------

prices = st.builds(
    lambda cents, code: f"{cents // 100}.{cents % 100:02} {code}",
    st.integers(0, 999_999),
    st.sampled_from(["EUR", "USD"]),
)


@st.composite
def enclosures(draw, name, shared):
    table = {
        "name": name,
        "length": "100 cm",
        "width": "50 cm",
        "set_up": draw(st.dates(dt.date(2026, 1, 1), TODAY)),
    }
    table["water_depth"] = f"{draw(st.integers(15, 45))} cm"
    animal = {
        "name": f"Fern of {name}",
        "species": "Graptemys geographica",
        "carapace": f"{draw(st.integers(4, 20))} cm",
    }
    if draw(st.booleans()):
        animal["arrived"] = table["set_up"] + dt.timedelta(draw(st.integers(0, 400)))
        animal["quarantine"] = draw(st.booleans())
    table["resident"] = [animal]
    table["feed"] = {"grams": draw(st.integers(1, 8)), "protein": 0.4}
    for kind, own in shared.items():
        if draw(st.booleans()):
            table[kind] = {**table.get(kind, {}), **own}
    if draw(st.booleans()):
        table["lamp"] = [
            {
                "kind": draw(st.sampled_from(["T5 HO tube", "compact"])),
                "installed": draw(st.dates(dt.date(2025, 12, 1), TODAY)),
                "hours_a_day": 12,
                "price": draw(prices),
            }
        ]
    table["job"] = {"vet-check": {"price": draw(prices)}} if draw(st.booleans()) else {}
    return table


@st.composite
def sites(draw):
    shared = {}
    for kind, full, sizes in (
        ("feed", "pack", ["20 g", "300 g", "5 kg"]),
        ("conditioner", "treats", ["300 L", "9000 L"]),
    ):
        shared[kind] = {"name": "The same", full: draw(st.sampled_from(sizes)), "price": draw(prices)}
        if draw(st.booleans()):
            shared[kind]["opened"] = draw(st.dates(dt.date(2026, 1, 1), dt.date(2027, 1, 1)))
    names = ["Sedge", "Reed", "Mallow"][: draw(st.integers(1, 3))]
    return tomli_w.dumps(
        {
            "site": {"name": "Fen Lane", "latitude": 53.3},
            "enclosure": [draw(enclosures(n, shared)) for n in names],
        }
    )


@given(sites(), st.integers(1, 18), st.integers(1, 18))
@settings(max_examples=examples(60))
def test_lines_are_in_order_within_the_span_and_a_longer_one_only_adds(text, months, more):
    short, long = look(text, months), look(text, months + more)
    for found in (short, long):
        days = [line.day for line in found.lines]
        assert days == sorted(days)
        assert all(found.first <= day <= found.last for day in days)
        assert set(found.minutes) <= {f"{d.year}-{d.month:02}" for d in (found.first + dt.timedelta(n) for n in range(1200)) if d <= found.last}  # fmt: skip
        summed = {}
        for line in found.lines:
            if line.cost is not None:
                summed[line.cost.currency] = summed.get(line.cost.currency, 0) + line.cost.amount
        assert found.costs == summed
    assert [line for line in long.lines if line.day <= short.last] == list(short.lines)
    for code, amount in short.costs.items():
        assert long.costs[code] >= amount


@given(sites(), st.integers(1, 24))
@settings(max_examples=examples(60))
def test_the_packs_that_are_bought_are_those_of_the_lines(text, months):
    found = look(text, months)
    for unit, container in (("g", "pack"), ("L", "bottle")):
        dated = [p for p in found.purchases if p.unit == unit and p.cost is not None]
        ordered = [line for line in found.lines if line.unit == container]
        assert sum(p.packs for p in dated) == sum(line.quantity for line in ordered)
        assert sum(p.cost.amount for p in dated) == sum(line.cost.amount for line in ordered)


@given(sites())
@settings(max_examples=examples(30))
def test_the_enclosures_one_by_one_have_all_lines_between_them(text):
    whole = look(text)
    apart = [look(text, enclosure=e.id) for e in whole.enclosures]
    assert {str(line) for line in whole.lines} == {str(line) for one in apart for line in one.lines}
    own = [line for one in apart for line in one.lines if line.enclosure is not None]
    assert sorted(map(str, own)) == sorted(str(line) for line in whole.lines if line.enclosure is not None)
    assert sum(whole.minutes.values()) == sum(sum(one.minutes.values()) for one in apart)


@given(
    st.dates(dt.date(2020, 1, 1), dt.date(2027, 6, 1)),
    st.floats(1.0, 400.0),
    st.integers(0, 60),
    st.integers(1, 2),
    st.integers(1, 1100),
)
# Opened after the span, and to be ordered within it if it were open by then.
@example(dt.date(2027, 5, 1), 1.0, 60, 1, 120)
def test_nobody_runs_out_who_orders_on_the_days(opened, days, ahead, have, span):
    first, last = dt.date(2026, 12, 1), dt.date(2026, 12, 1) + dt.timedelta(days=span)
    found = list(orders(opened, days, ahead, first, last, have=have))
    assert [o.day for o in found] == sorted({o.day for o in found})
    start, held = opened, have
    if found and found[0].state == "ended":
        start, held = first, 0
    elif opened + dt.timedelta(days=int(have * days)) < first:
        pytest.fail("what ended before the span was not ordered")
    for order in found:
        # Each order comes before what is there has ended, and not a pack too early.
        held += order.count
        covered = start + dt.timedelta(days=int(held * days))
        before = start + dt.timedelta(days=int((held - 1) * days))
        assert covered - dt.timedelta(days=ahead) > order.day or order.day < start
        assert before - dt.timedelta(days=ahead) <= order.day or held == 1
    # What is opened after the span is not ordered in it, however soon it will have ended.
    assert max(start, start + dt.timedelta(days=int(held * days)) - dt.timedelta(days=ahead)) > last
