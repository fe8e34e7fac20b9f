"""Notes, figures, findings and what readings mean under locales: the same sentences and amounts, with the locale's marks and dates."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from support import recorded
from support.care.watching import TANK
from support.care.weir_cottage import FULL
from support.recorded import load

from scheduler import care
from scheduler.history import NO_HISTORY, History

TODAY = dt.date(2027, 2, 1)
SAMPLES = {file.stem: file.read_text("utf-8") for file in sorted(Path("sample_configs").glob("*.toml"))}
RECORD = [
    "2026-12-03 weight.wren 295.5",
    "2027-01-05 weight.wren 291.5",
    "2027-01-28 nitrite 0.25",
    "2027-01-28 ammonia 0.55",
    "2027-01-28 ph 7.85",
    "2027-01-28 temperature 19.5",
    "2027-01-31 nitrite 0.25",
    "2027-01-31 temperature 18.5",
    "2027-01-31 weight.wren 262.5",
    "2027-01-31 uvi 1.45",
]
SITES = {**SAMPLES, "full": FULL, "tank": TANK, "measured": TANK}


GROUPS = re.compile(r"(?<=\b[0-9]{2})[.\u00a0](?=[0-9]{3}\b)")
"""The mark between thousands, which five digits have."""


def with_locale(text: str, tag: str | None) -> str:
    return text if tag is None else text.replace("[site]\n", f'[site]\nlocale = "{tag}"\n', 1)


def told(name: str, tag: str | None) -> Iterator[str]:
    """Yield all that the care rules say of a site to its keepers, but for the sources, which are quoted as they stand."""
    site = load(with_locale(SITES[name], tag))
    past: History = NO_HISTORY
    if name == "measured":
        past = care.with_implied(site, recorded.history("2026-10-20", RECORD, "quillet"))
    for case in care.cases(site, TODAY, past):
        for job in care.jobs_of(case):
            notes = job.notes()
            yield f"{job.title} {job.short} {job.key}/{job.variant}"
            yield from (*notes.steps, notes.reason, notes.order, notes.because, *notes.workings())
            yield notes.amount.value if notes.amount is not None else ""
            yield from (f"{one.text} {one.short}" for one in notes.cautions)
        yield from (finding.text for finding in care.review(case).findings)
        yield from (consequence.text for consequence in care.consequences(case))


def as_without(text: str, tag: str) -> str:
    """Return a text of a locale with the marks and dates that it has without one."""
    if tag == "en-US":
        text = re.sub(r"\b([A-Z][a-z]+) ([0-9]{1,2}), ([0-9]{4})\b", r"\2 \1 \3", text)
        text = re.sub(
            r"\b([0-9]{1,2}):([0-9]{2})\s([AP])M\b",
            lambda m: f"{int(m[1]) % 12 + 12 * (m[3] == 'P'):02}:{m[2]}",
            text,
        )
        # From five digits on numbers are in groups.
        return re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    return re.sub(r"(?<=\d),(?=\d)", ".", GROUPS.sub("", text))


@pytest.mark.parametrize("tag", ["de-DE", "fr-FR", "sv-SE", "en-US"])
@pytest.mark.parametrize("name", SITES)
def test_a_locale_changes_marks_and_dates_and_nothing_else(name: str, tag: str) -> None:
    plain, local = list(told(name, None)), list(told(name, tag))
    assert [as_without(text, tag) for text in local] == plain
    decimals = re.compile(r"(?<![\w.,])\d+\.\d+(?![\w.])")
    if tag == "en-US":
        assert not any(re.search(r"\b\d{1,2} [A-Z][a-z]+ 20\d\d", text) for text in local)
    else:
        assert [text for text in local if decimals.search(GROUPS.sub("", text))] == []
    # Something was there to be written otherwise.
    assert local != plain or not any(decimals.search(text) for text in plain)


def test_readings_and_their_limits_in_a_comma_country() -> None:
    said = list(told("measured", "de-AT"))
    assert any("Nitrite was 0,25 mg/L (as N) on 31 January 2027." in text for text in said)
    assert any("limit is 0,1." in text for text in said)
    assert any("18,5 °C" in text for text in said)


def test_what_a_keeper_wrote_is_never_changed() -> None:
    text = (
        TANK
        + '[[enclosure.extra_job]]\nkey = "pump"\ntitle = "pump 2.4"\nevery = "7 days"\nnote = "at 1.5 bar"\n'
    )
    site = load(with_locale(text, "de-DE"))
    (job,) = [job for job in care.jobs(site) if job.key == "pump"]
    assert (job.title, job.notes().steps) == ("pump 2.4", ("at 1.5 bar",))
