"""What is bought in the outlook's span: quantities, packs and prices, worked by hand."""

import datetime as dt
from decimal import Decimal

import pytest
from support.care.looked_ahead import LAMP, SITE, TODAY, bought, lines, look, tank
from support.recorded import load

import scheduler
from scheduler import workflow

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
