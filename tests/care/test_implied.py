"""Jobs that are done by writing down what they measure: which values make which job, and for whom."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.care.watching import BEGUN, NEW, TANK, case_of, history
from support.recorded import listed, load, planned

from scheduler import care
from scheduler.history import History

TEAL = '{name = "Teal", species = "painted turtle", arrived = 2026-12-15}'
TWO = TANK.replace("arrived = 2026-10-20}]", f"arrived = 2026-10-20}}, {TEAL}]")
GUEST = TANK.replace("arrived = 2026-10-20}", "arrived = 2026-10-20, quarantine = true}")
DARK = "\n".join(line for line in TANK.splitlines() if not line.startswith("lamp"))


@pytest.mark.parametrize(
    ("lines", "text", "done"),
    [
        (["2026-12-01 nitrite 0"], TANK, []),
        (["2026-12-01 ammonia 0", "2026-12-02 nitrite 0"], TANK, []),
        (["2026-12-01 08:00 ammonia 0", "2026-12-01 20:00 nitrite 0"], TANK, ["water-test 2026-12-01"]),
        (["2026-12-01 nitrate 10"], NEW, []),
        (["2026-12-01 ammonia 0", "2026-12-01 nitrite 0"], NEW, ["cycle-test 2026-12-01"]),
        (["2026-12-01 uvi 2.9"], DARK, []),
        (["2026-12-01 weight.wren 300"], GUEST, ["weigh-measure 2026-12-01", "quarantine-weigh 2026-12-01"]),
        # Teal comes on 15 December: until then Wren alone is all who live there.
        (["2026-12-01 weight.wren 300"], TWO, ["weigh-measure 2026-12-01"]),
        (["2026-12-20 weight.wren 300"], TWO, []),
        (["2026-12-20 weight.wren 300", "2026-12-20 weight.teal 80"], TWO, ["weigh-measure 2026-12-20"]),
        (["2026-12-20 weight.wren 300", "2026-12-21 weight.teal 80"], TWO, []),
        # Said twice is done once.
        (["2026-12-01 weight.wren 300", "2026-12-01 did weigh-measure"], TANK, ["weigh-measure 2026-12-01"]),
    ],
)  # fmt: skip
def test_values_are_the_job(lines, text, done):
    found = case_of(lines, text).history.done("quillet")
    assert [f"{e.name} {e.day}" for e in found if e.day.month == 12] == done
    # Without the values nothing was done.
    left = [line for line in lines[:-1] if "did" in line]
    assert not left or list(case_of(left, text).history.done("quillet"))
    assert list(case_of(left, text).history.done("quillet")) == [e for e in found if not e.note]


def test_a_weighing_by_its_weights_moves_the_next_one():
    lines = ["2026-12-01 weight.wren 300"]
    site = load(TANK)
    before = planned(TANK, "2026-12-01", history(BEGUN, []))
    assert "overdue" in listed(before, "weigh-measure")[0]
    after = planned(TANK, "2026-12-01", care.with_implied(site, history(BEGUN, lines)))
    assert listed(after, "weigh-measure")[0] == "2026-12-01 done"
    assert "2026-12-29" in listed(after, "weigh-measure")


def test_without_a_record_nothing_is_implied():
    assert not list(care.with_implied(load(TANK), History()).done("quillet"))


@given(
    st.lists(
        st.tuples(
            st.integers(1, 28), st.sampled_from(["ammonia", "nitrite", "nitrate", "uvi", "weight.wren"])
        )
    )
)
def test_implied_twice_is_implied_once(readings):
    site = load(TANK)
    found = history(BEGUN, [f"2026-12-{day:02} {name} 1" for day, name in readings])
    once = care.with_implied(site, found)
    twice = care.with_implied(site, once)
    assert list(once.done("quillet")) == list(twice.done("quillet"))
    assert len({(e.name, e.day) for e in once.done("quillet")}) == len(list(once.done("quillet")))
