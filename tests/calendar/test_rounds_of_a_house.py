"""The calendars of a small house: the rounds of its rota as they are published, to the day to which they are."""

from __future__ import annotations

import datetime as dt
import re
import uuid
from pathlib import Path

import pytest
from icalendar import Calendar
from support import told
from support.alder import ALDER, alder, shown
from support.rounds import (
    DAY,
    HORIZON,
    MONDAY,
    RESCUE,
    blocks,
    command,
    day_of,
    export,
    jobs_of,
    parts,
    rounds,
)

from scheduler import workflow

__all__ = ["alder"]


def test_the_published_rota_is_what_the_calendars_show(alder: Path) -> None:
    feeds = export(alder, MONDAY)
    assert shown(feeds["alder-ben.rounds.ics"]) == [
        "2026-12-08 look and listen Noor",
        "2026-12-11 look and listen Noor",
        "2026-12-11 mend the net Reed",
        "2026-12-12 look and listen Noor",
        "2026-12-13 look and listen Noor",
        "2026-12-14 look and listen Noor",
        "2026-12-17 look and listen Noor",
        "2026-12-18 look and listen Noor",
        "2026-12-18 mend the net Reed",
    ]
    # They end with what is published: nothing that nobody agreed on stands in a calendar.
    assert max(day_of(b) for name in feeds if ".rounds" in name for b in blocks(feeds[name]).values()) == (
        MONDAY + 13 * DAY
    )


def test_morning_and_evening_of_a_round_are_two_entries_at_their_own_hours(alder: Path) -> None:
    """A round is named by keeper, day and part: the morning's is the same whether an evening comes or goes."""
    feed = export(alder, MONDAY)["alder-ben.rounds.ics"]
    found = {
        str(e["DTSTART"].dt)[:16]: (str(e["UID"]), str(e["DESCRIPTION"]))
        for e in Calendar.from_ical(feed).walk("VEVENT")
    }
    morning, evening = found["2026-12-11 07:30"], found["2026-12-11 18:30"]
    assert morning[1].splitlines()[1:3] == ["Noor", "[ ] Look and listen, 5 min"]
    assert evening[1].splitlines()[1:3] == ["Reed", "[ ] Mend the net, 15 min"]
    # Names of version 5 (RFC 9562, section 5.5).
    space = uuid.UUID("5f0c7a52-93d8-5f0e-8d5b-9c3c1f4a7e21")
    assert morning[0] == str(uuid.uuid5(space, "alder/rota/ben/2026-12-11/morning"))
    assert evening[0] == str(uuid.uuid5(space, "alder/rota/ben/2026-12-11/evening"))
    text = ALDER.replace(', part = "evening"', "")
    (alder / "enclosures.toml").write_text(text, "utf-8")
    after = blocks(export(alder, MONDAY)["alder-ben.rounds.ics"])
    assert evening[0] not in after and b"SUMMARY:look and listen Noor\\, 1 more" in after[morning[0]]


@pytest.mark.parametrize("later", [0, 3, 9])
def test_the_export_and_the_json_of_the_rota_agree(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, later: int
) -> None:
    """Published and days later too, with something done: rounds, keepers, days, hours, minutes, jobs and their order."""
    monkeypatch.delenv("PONDROUND_LOG", raising=False)
    (tmp_path / "enclosures.toml").write_bytes((RESCUE.parent / "household.toml").read_bytes())
    file = str(tmp_path / "enclosures.toml")
    if later:
        command("rota", file, "--publish", "--today", str(MONDAY), gaps=True)
        command("did", file, "basement", "daily-look", "--by", "ives", "--today", str(MONDAY))
    today = MONDAY + later * DAY
    site = workflow.read_site(Path(file))
    jobs, names = jobs_of(site), {k.id: k.name for k in site.keepers}
    feeds = export(tmp_path, today)
    seen = []
    for keeper, name in names.items():
        for e in Calendar.from_ical(feeds[f"{site.settings.id}-{keeper}.rounds.ics"]).walk("VEVENT"):
            if str(e["SUMMARY"]).startswith("Done: ") or e["SUMMARY"] == HORIZON:
                continue
            lines = [(w.enclosure, w.title) for w in told.works(e, site)]
            minutes = e["DURATION"].dt.total_seconds() / 60
            seen.append((e["DTSTART"].dt.replace(tzinfo=None), name, minutes, lines))
    expected = []
    for one in parts(jobs, rounds(tmp_path, today)):
        at = dt.datetime.combine(dt.date.fromisoformat(one["date"]), site.settings.time_of(one["part"]))
        own = [jobs[t["enclosure"], t["job"], t["variant"]] for t in (*one["jobs"], *one["helps"])]
        lines = [(j.enclosure.id, told.title_of(j)) for j in own]
        expected.append((at, one["keeper"], one["minutes"], lines))
    assert sorted(seen) == sorted(expected) and len(seen) > 40


def test_before_a_rota_is_published_the_calendars_show_four_weeks(tmp_path: Path) -> None:
    (tmp_path / "enclosures.toml").write_text(ALDER, "utf-8")
    feeds = export(tmp_path, MONDAY)
    days = {day_of(b) for name in feeds if ".rounds" in name for b in blocks(feeds[name]).values()}
    assert days == {MONDAY + n * DAY for n in range(28)}


def test_an_enclosure_that_is_called_like_a_keeper_has_a_file_of_its_own(alder: Path) -> None:
    """The house has an enclosure Noor and a keeper Noor."""
    feeds = export(alder, MONDAY)
    assert sorted(feeds) == [
        "alder-ben.rounds.ics", "alder-noor.ics", "alder-noor.rounds.ics", "alder-reed.ics", "alder-sedge.ics", "alder.ics",
    ]  # fmt: skip
    assert {line[11:] for line in shown(feeds["alder-noor.ics"])} == {
        "Noor: look and listen Noor",
        "Ben: look and listen Noor",
    }
    assert {line[11:] for line in shown(feeds["alder-noor.rounds.ics"])} == {
        "look and listen Noor",
        "look and listen Noor, 1 more",
    }


def test_without_the_rota_there_are_no_rounds(alder: Path) -> None:
    feeds = export(alder, MONDAY, "--no-rota")
    assert sorted(feeds) == ["alder-noor.ics", "alder-reed.ics", "alder-sedge.ics", "alder.ics"]
    assert {line[11:] for line in shown(feeds["alder.ics"], until="2027-01-31")} == {
        "look and listen: Noor",
        "brush the pane: Sedge",
        "mend the net: Reed",
    }


def test_without_keepers_there_are_no_rounds(tmp_path: Path) -> None:
    text = re.sub(r"\[\[keeper\]\]\nname = .*\n", "", ALDER)
    (tmp_path / "enclosures.toml").write_text(text, "utf-8")
    assert sorted(export(tmp_path, MONDAY)) == [
        "alder-noor.ics",
        "alder-reed.ics",
        "alder-sedge.ics",
        "alder.ics",
    ]
