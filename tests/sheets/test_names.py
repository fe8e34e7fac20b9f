"""Names of many enclosures in one line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.sheets.names import every_name, few_names, lines_with_names, told_names
from scheduler.sheets.terminal import cells

TEN = ["Alder", "Birch", "Caddis", "Dock", "Elder", "Fern", "Gorse", "Hazel", "Iris", "Juncus"]


@pytest.mark.parametrize(
    ("names", "everyone", "told"),
    [
        (TEN, TEN, "all 10"),
        (TEN[1:], TEN, "all but Alder"),
        (TEN[:8], TEN, "all but Iris and Juncus"),
        (TEN[:2], TEN, "Alder and Birch"),
        (TEN[:3], TEN, "Alder, Birch and Caddis"),
        (TEN[:1], TEN, "Alder"),
        (TEN[:3], TEN[:3], "all 3"),
        # Of two, both are named; of four nobody counts who is missing.
        (TEN[:2], TEN[:2], "Alder and Birch"),
        (TEN[:3], TEN[:4], "Alder, Birch and Caddis"),
    ],
)
def test_names_are_told(names: list[str], everyone: list[str], told: str) -> None:
    assert told_names(names, everyone) == told


@pytest.mark.parametrize(
    ("width", "told"),
    [
        (80, ["look  wipe: Alder, Birch, Caddis, Dock, Elder and Fern"]),
        (40, ["look  wipe: Alder, Birch and 4 more"]),
        (20, ["look  wipe: Alder", "      and 5 more"]),
    ],
)
def test_what_does_not_fit_is_counted(width: int, told: list[str]) -> None:
    assert lines_with_names("wipe", TEN[:6], TEN, width, indent=6, first="look") == told


@given(
    st.lists(st.text("ab 水🐢", min_size=1, max_size=30), min_size=1, max_size=40, unique=True),
    st.integers(24, 100),
)
def test_no_line_is_wider_than_asked(names: list[str], width: int) -> None:
    lines = lines_with_names("wipe down", names, [*names, "x", "y", "z"], width, indent=8, first="  look")
    assert max(map(cells, lines)) <= width


def test_of_many_names_a_few_are_told_and_nobody_is_lost() -> None:
    everyone = [f"tank {n}" for n in range(1, 31)]
    assert few_names(everyone[:5], everyone) == "tank 1, tank 2, tank 3, tank 4 and tank 5"
    assert few_names(everyone[:6], everyone) == "tank 1, tank 2, tank 3, tank 4 and 2 more"
    assert few_names(everyone[1:], everyone) == "all but tank 1"
    assert few_names(everyone, everyone) == "all 30"
    assert every_name(everyone[:3], everyone[:3]) == "tank 1, tank 2 and tank 3"
