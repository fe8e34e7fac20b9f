"""On which days packs are ordered: of a product that several share, and of packs that are behind the reckoning."""

import datetime as dt

import pytest
from support.care.looked_ahead import SEDGE, SITE, TODAY, bought, lines, look, tank
from support.recorded import load

import scheduler
from scheduler.care import Case
from scheduler.care.outlook import outlook
from scheduler.care.outlook.orders import orders
from scheduler.history import History

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
