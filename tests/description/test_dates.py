"""Which dates a text means. Every date that strftime writes is read back, with the day or the month first."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.description.dates import dates_meant

DAYS = st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31))


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("2/3/2026", ["2026-03-02", "2026-02-03"]),
        ("3/3/2026", ["2026-03-03"]),
        ("31/3/2026", ["2026-03-31"]),
        ("3/31/2026", ["2026-03-31"]),
        ("2026/3/2", ["2026-03-02"]),
        ("2026-31-3", ["2026-03-31"]),
        ("02.03.26", ["2026-03-02", "2026-02-03"]),
        ("1st of March 2026", ["2026-03-01"]),
        ("Mar 1, 2026", ["2026-03-01"]),
        ("31 February 2026", []),
        ("31/31/2026", []),
        ("March 2026", []),
        ("2/3-2026", []),
        ("yesterday", []),
        ("", []),
        ("9" * 50, []),
    ],
)
def test_what_a_text_may_mean(text: str, days: list[str]) -> None:
    assert [day.isoformat() for day in dates_meant(text)] == days


@given(
    DAYS,
    st.sampled_from(["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%d-%m-%y", "%Y/%m/%d", "%d %B %Y", "%b %d, %Y"]),
)
def test_a_date_is_among_those_that_it_may_mean(day: dt.date, form: str) -> None:
    found = dates_meant(day.strftime(form))
    assert day in found
    assert len(found) == (
        2
        if form[1] in "dm"
        and "/" in form + "/"
        and day.day <= 12
        and day.day != day.month
        and "%B" not in form
        else 1
    )


@given(st.text(max_size=45))
def test_any_text_means_two_dates_at_most(text: str) -> None:
    assert len(dates_meant(text)) <= 2
