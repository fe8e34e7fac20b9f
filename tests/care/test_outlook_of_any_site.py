"""What holds for the outlook of every site: lines in order, packs and costs that add up, nobody who runs out."""

import datetime as dt

import pytest
import tomli_w
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.care.looked_ahead import TODAY, look
from support.depth import examples

from scheduler.care.outlook.orders import orders

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
