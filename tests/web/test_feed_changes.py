"""Feeds over HTTP when something changes: it is in the next fetch, and what did not change stays as it was."""

from __future__ import annotations

import datetime as dt
import json
from email.utils import parsedate_to_datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from support.web.fed import House, fresh, is_continued, links
from support.web.http_client import (
    FEN,
    RUSH,
    SEDGE,
    TODAY,
    Answer,
    ask,
    entries,
    feed_path,
    link,
    until,
    write,
)
from support.web.serving import pondround, serving

from scheduler.workflow.live import sites as all_sites
from scheduler.workflow.live.sites import Sites

__all__ = ["fresh"]


def is_later(before: Answer, after: Answer) -> bool:
    """See that a change shows in the tag, and that the date does not go back."""
    assert after["ETag"] != before["ETag"]
    dates = [parsedate_to_datetime(a["Last-Modified"]) for a in (before, after)]
    return dates[0] <= dates[1]


def test_a_tick_on_the_page_is_in_the_next_fetch(fresh: House) -> None:
    before = fresh.get("sedge")
    fresh.tick("pane")
    after = fresh.get("sedge")
    assert is_later(before, after)
    changed = is_continued(before.body, after.body)
    # What is done stays in the round of whoever did it, under what is left of it.
    (uid,) = changed
    was, now = entries(before.body)[uid], entries(after.body)[uid]
    assert (was["DTSTART"], was["SUMMARY"]) == ("20261214", "Sam: brush the pane Sedge\\, 1 more")
    assert (now["DTSTART"], now["SUMMARY"]) == ("20261214", "Sam: Look in Sedge")
    done = r"\n\nDone 14 December 2026: brush the pane Sedge"
    assert done in now["DESCRIPTION"] and done not in was["DESCRIPTION"]
    assert entries(before.body).keys() == entries(after.body).keys()
    # With the old tag it is sent; with the new one it is not.
    assert fresh.get("sedge", if_none_match=before["ETag"]).status == 200
    assert fresh.get("sedge", if_none_match=after["ETag"]).status == 304
    assert fresh.get("sedge", if_modified_since=before["Last-Modified"]).status == 200


def test_did_in_another_process_is_in_the_next_fetch(fresh: House) -> None:
    before, others = fresh.get("sedge"), fresh.get("rounds")
    pondround(fresh.file.parent, "did", fresh.file.name, "sedge", "pane", "--by", "Noor", "--today", TODAY)
    after = fresh.get("sedge")
    assert is_later(before, after)
    assert is_continued(before.body, after.body)
    is_continued(others.body, fresh.get("rounds").body)


def test_a_link_that_was_just_made_opens(fresh: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever makes one in a terminal clicks at it at once, also where somebody has asked for nothing just before."""
    for number in range(3):
        assert ask(fresh.served.url, f"/feeds/{'A' * 27}.ics").status == 404
        new = link(fresh.file, "enclosure", "Sedge", name=f"new {number}")
        until(lambda made=new: ask(fresh.served.url, feed_path(made)).status == 200)  # type: ignore[misc]
    # By a clock of the test's own: a quarter of a second after somebody asked for nothing.
    now = [0.0]
    monkeypatch.setattr(all_sites, "time", SimpleNamespace(monotonic=lambda: now[0]))
    sites = Sites([fresh.file], lambda said: None, dt.date.fromisoformat(TODAY))
    assert sites.find("A" * 27) is None
    new = link(fresh.file, "site", name="clicked")
    now[0] = 0.25
    assert sites.find(new.secret) is not None


def test_an_edited_description(fresh: House) -> None:
    """A job more; then a mistake, which is told once while the plan goes on; then a mended one."""
    before = fresh.get("sedge")
    extra = '[[enclosure.extra_job]]\nkey = "pump"\ntitle = "rinse the pump"\nrule = "FREQ=WEEKLY;BYDAY=TH"\n'
    write(fresh.file, SEDGE + extra + RUSH_PART)
    more = fresh.until("sedge", lambda a: "rinse the pump" in a.text)
    assert is_later(before, more)
    changed = is_continued(before.body, more.body)
    # It stands in the rounds that it makes longer, or in one of its own, and in the plan from the day after them.
    told = {entries(more.body)[uid]["SUMMARY"] for uid in changed}
    assert "rinse the pump: Sedge" in told and len(told) > 1
    assert all("rinse the pump" in entries(more.body)[uid]["whole"] for uid in changed)

    write(fresh.file, (SEDGE + extra + RUSH_PART).replace('kind = "tub"', 'kind = "tubb"'))
    fresh.until("sedge", lambda a: any("tubb" in line for line in fresh.served.log_lines))
    for _ in range(3):
        kept = fresh.get("sedge", if_none_match=more["ETag"])
        assert kept.status == 304
    said = [line for line in fresh.served.log_lines if "tubb" in line]
    assert len(said) == 1, fresh.served.log_lines
    assert said[0].startswith("fen-lane.toml: enclosure[1].kind: ")
    assert said[0].endswith("what was read before goes on")
    assert "has a mistake" in fresh.page()
    health = ask(fresh.served.url, "/healthz")
    assert json.loads(health.body) == {"status": "ok", "descriptions_with_mistakes": 1}

    write(fresh.file, SEDGE + extra.replace("rinse the pump", "clean the pump") + RUSH_PART)
    mended = fresh.until("sedge", lambda a: "clean the pump" in a.text)
    assert is_later(more, mended)
    is_continued(more.body, mended.body)
    assert fresh.served.log_lines[-1] == "fen-lane.toml: read again, all is well"
    assert "has a mistake" not in fresh.page()


RUSH_PART = '\n[[enclosure]]\nname = "Rush"' + RUSH


def test_a_description_that_is_gone_for_a_while(fresh: House) -> None:
    """Some programs write a new file in the place of the old one: for a moment there is none."""
    before = fresh.get("site")
    fresh.file.rename(fresh.file.with_suffix(".aside"))
    fresh.until("site", lambda a: len(fresh.served.log_lines) > 1)
    assert fresh.get("site", if_none_match=before["ETag"]).status == 304
    fresh.file.with_suffix(".aside").rename(fresh.file)
    fresh.until("site", lambda a: "read again" in fresh.served.log_lines[-1])
    assert fresh.get("site", if_none_match=before["ETag"]).status == 304
    assert len(fresh.served.log_lines) == 3, fresh.served.log_lines


def test_an_enclosure_that_left_the_description(fresh: House) -> None:
    assert fresh.get("sedge").status == 200
    write(fresh.file, SEDGE.split("[[enclosure]]")[0] + RUSH_PART)
    fresh.until("sedge", lambda a: a.status == 404)
    assert fresh.get("sedge").text == ask(fresh.served.url, f"/feeds/{'A' * 27}.ics").text
    write(fresh.file, FEN)
    fresh.until("sedge", lambda a: a.status == 200)


def test_a_new_day(tmp_path: Path) -> None:
    file = write(tmp_path / "fen-lane.toml")
    opened = links(file)
    with serving(tmp_path, file.name, today=TODAY) as served:
        house = House(file, served, opened)
        house.tick("pane")
        before = {name: house.get(name) for name in ("site", "sedge", "rounds")}
    with serving(tmp_path, file.name, today="2026-12-15") as served:
        house, changed = House(file, served, opened), {}
        for name, was in before.items():
            after = house.get(name)
            changed[name] = is_continued(was.body, after.body)
            dates = [parsedate_to_datetime(one["Last-Modified"]) for one in (was, after)]
            assert dates == sorted(dates)
            assert (after["ETag"] == was["ETag"]) is (after.body == was.body)
        # What was due yesterday is open today; of yesterday's round what was done is left. All else stays, though the view
        # begins a day later: rounds of the days to come, and the rules behind them.
        told = sorted(entries(house.get("sedge").body)[uid]["SUMMARY"] for uid in changed["sedge"])
        assert told == ["Sam: Done: brush the pane Sedge", "Sam: Late: look in Sedge\\, 2 more"]
        assert house.get("rounds", if_none_match=before["rounds"]["ETag"]).status == 304


def test_the_date_of_change_only_grows(fresh: House) -> None:
    """Ten changes as fast as they can be made, so that several fall into one second."""
    dates, tags = [], []
    for number in range(10):
        write(fresh.file, FEN.replace("brush the pane", f"brush the pane {number} times"))
        answer = fresh.until("sedge", lambda a, n=number: f"the pane {n} times" in a.text)  # type: ignore[misc]
        dates.append(parsedate_to_datetime(answer["Last-Modified"]))
        tags.append(answer["ETag"])
        assert dates[-1] <= parsedate_to_datetime(answer["Date"])
        if number:
            # Whoever has the one before is sent this one, also where both are of one second.
            kept = dates[-2].strftime("%a, %d %b %Y %H:%M:%S GMT")
            assert fresh.get("sedge", if_modified_since=kept).status == 200
    assert dates == sorted(dates)
    assert len(set(tags)) == len(tags)
