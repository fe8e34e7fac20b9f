"""Feeds under locales: other words, the same entries; and one of a sample, whole, as people in Germany read it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from icalendar import Calendar
from support.feeds import export

SAMPLE = Path("sample_configs/one-tank.toml").read_text("utf-8")
FIRST = dt.date(2026, 12, 1)
WORDS = {"SUMMARY", "DESCRIPTION"}


def feed(folder: Path, tag: str = "") -> bytes:
    folder.mkdir(parents=True, exist_ok=True)
    text = SAMPLE.replace("[site]\n", f'[site]\nlocale = "{tag}"\n', 1) if tag else SAMPLE
    made = export(folder, text, FIRST, 28)
    return made[min(made, key=len)]


def test_a_feed_of_a_sample_in_germany(golden: Callable[[str, str], None], tmp_path: Path) -> None:
    golden("one-tank.de-DE.ics", feed(tmp_path, "de-DE").decode())


def test_entries_are_the_same_under_every_locale(tmp_path: Path) -> None:
    """All but what is read by people is the same to the letter: UID, SEQUENCE, times, rules."""
    told = {}
    for tag in ("", "de-DE", "en-US", "fi-FI"):
        whole = Calendar.from_ical(feed(tmp_path / (tag or "none"), tag))
        told[tag] = [
            [(name, value) for name, value in part.property_items() if name not in WORDS]
            for part in whole.walk()
        ]
    assert told["de-DE"] == told["en-US"] == told["fi-FI"] == told[""]


def test_a_locale_that_is_set_later_changes_entries_once_and_adds_none(tmp_path: Path) -> None:
    before = Calendar.from_ical(feed(tmp_path)).walk("VEVENT")
    once, again = (Calendar.from_ical(feed(tmp_path, "de-DE")).walk("VEVENT") for _ in range(2))
    assert [e["UID"] for e in once] == [e["UID"] for e in before] == [e["UID"] for e in again]
    assert [e["SEQUENCE"] for e in once] == [e["SEQUENCE"] for e in again]
    grown = [int(new["SEQUENCE"]) - int(old["SEQUENCE"]) for new, old in zip(once, before, strict=True)]
    assert set(grown) == {0, 1}
    said = [str(new["DESCRIPTION"]) == str(old["DESCRIPTION"]) for new, old in zip(once, before, strict=True)]
    assert [number == 0 for number in grown] == said
