"""Small valid descriptions for the properties of the plan, and the plan as plain values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Any

import tomli_w
from hypothesis import strategies as st

import scheduler
from scheduler.description import Site

Planned = tuple[dt.date, dt.time | None, str, str, str]
"""An occurrence as (day, time, enclosure, key, variant)."""

Table = dict[str, Any]
"""A table of a description, as TOML has it."""

WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
NAMES = ["Sedge", "Reed", "Old pond", "Mallow"]
TODAY = dt.date(2028, 2, 20)
"""A leap year, a few days before the 29th."""


def load(text: str) -> Site:
    return scheduler.loads(text)


def plan(site: Site, first: dt.date, horizon: dt.date) -> list[Planned]:
    """Return the occurrences from `first` to `horizon` as (day, time, enclosure, key, variant)."""
    series = list(scheduler.schedule(site, list(scheduler.jobs(site)), first, horizon))
    found = scheduler.occurrences(site, series, first, horizon)
    return [(o.day, o.time, o.job.enclosure.id, o.job.key, o.job.variant) for o in found]


def days(found: Iterable[Planned], enclosure: str, key: str) -> list[dt.date]:
    return [day for day, _, where, what, _ in found if (where, what) == (enclosure, key)]


weekdays = st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=6, unique=True)
set_up_days = st.dates(dt.date(2026, 1, 1), dt.date(2028, 3, 10))


def _longest_wait(named: Iterable[str]) -> int:
    at = sorted(WEEKDAYS.index(day) for day in named)
    return max(b - a for a, b in zip(at, [*at[1:], at[0] + 7], strict=True))


@st.composite
def intervals(draw: st.DrawFn, least: int = 1) -> Table:
    """An interval in days with its window, and sometimes weekdays on which it can be kept."""
    every = draw(st.one_of(st.integers(least, 45), st.sampled_from([7, 14, 21, 28, 56])))
    window = draw(st.integers(0, min(7, every - 1)))
    table: Table = {"every": f"{every} days", "window": f"{window} days"}
    named = draw(st.none() | weekdays)
    if named and (every % 7 == 0 or every + window >= _longest_wait(named)):
        table["weekdays"] = named
    return table


@st.composite
def residents(draw: st.DrawFn, name: str, set_up: dt.date | None) -> Table:
    """An animal, of which size and birthday may be known."""
    table: Table = {"name": name}
    if draw(st.booleans()):
        table["species"] = draw(st.sampled_from(["Trachemys scripta", "Chrysemys picta"]))
    if draw(st.booleans()):
        table["carapace"] = f"{draw(st.integers(3, 20))} cm"
    if draw(st.booleans()):
        table["born"] = draw(st.dates(dt.date(2020, 1, 1), dt.date(2025, 12, 31)))
    if draw(st.booleans()):
        table["arrived"] = (set_up or dt.date(2027, 6, 1)) + dt.timedelta(draw(st.integers(0, 60)))
        table["quarantine"] = draw(st.booleans())
    return table


lamps = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["T5 HO tube", "compact", "mercury vapour"]),
        "installed": st.dates(dt.date(2027, 9, 1), dt.date(2028, 3, 1)),
        "hours_a_day": st.integers(6, 16) | st.just("daylight"),
    }
)
food = st.fixed_dictionaries(
    {"grams": st.integers(1, 6), "protein": st.sampled_from([0.3, 0.42])},
    optional={"pack": st.just("250 g"), "opened": st.dates(dt.date(2027, 12, 1), dt.date(2028, 2, 1))},
).filter(lambda table: "pack" in table or "opened" not in table)
"""From little to far too much for what the tanks hold: water is changed every second week to daily."""


@st.composite
def enclosures(draw: st.DrawFn, name: str) -> Table:
    table: Table = {"name": name}
    set_up = draw(st.none() | set_up_days)
    if set_up:
        table["set_up"] = set_up
        table["cycled"] = draw(st.booleans())
    if draw(st.booleans()):
        table |= {"length": "100 cm", "width": "50 cm", "height": "50 cm", "covered": draw(st.booleans())}
        table["water_depth"] = f"{draw(st.integers(15, 45))} cm"
    if draw(st.booleans()):
        table["filter"] = {"kind": "canister"}
    if draw(st.booleans()):
        table["heater"] = [{"power": "200 W", "set_to": f"{draw(st.integers(22, 28))} degC"}]
    if draw(st.booleans()):
        table["lamp"] = [draw(lamps)]
    table["resident"] = [draw(residents(f"{name} {i}", set_up)) for i in range(draw(st.integers(0, 2)))]
    if table["resident"] and draw(st.booleans()):
        table["feed"] = draw(food)
    table["job"] = {
        key: draw(intervals(least=5))
        for key in ("water-change", "filter-check", "media-rinse", "water-test")
        if draw(st.booleans())
    }
    table["extra_job"] = [
        {"key": f"duty-{i}", "title": f"Duty {i}", **draw(intervals())}
        for i in range(draw(st.integers(0, 2)))
    ]
    return table


@st.composite
def keepers(draw: st.DrawFn, name: str) -> Table:
    table: Table = {"name": name}
    if draw(st.booleans()):
        table["weekdays"] = draw(weekdays)
    if draw(st.booleans()):
        table["minutes"] = draw(st.integers(10, 240))
    return table


@st.composite
def descriptions(draw: st.DrawFn, most: int = 4) -> Table:
    site: Table = {"name": "Fen Lane", "time_zone": "Europe/Dublin"}
    if draw(st.booleans()):
        site |= {"room_low": "15 degC", "latitude": 53.3, "tap_water": {"nitrate": "10 mg/L"}}
    if draw(st.booleans()):
        site["start"] = draw(st.dates(dt.date(2027, 1, 1), dt.date(2028, 4, 1)))
    return {
        "site": site,
        "keeper": [draw(keepers(name)) for name in ["Noor", "Ivo"][: draw(st.integers(0, 2))]],
        "enclosure": [draw(enclosures(name)) for name in NAMES[: draw(st.integers(1, most))]],
    }


def text_of(description: Table) -> str:
    return tomli_w.dumps(description)
