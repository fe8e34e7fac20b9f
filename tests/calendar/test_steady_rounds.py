"""Rounds that move, are handed over, done or gone: what it touches has a new revision, and nothing else."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from icalendar import Calendar
from support.alder import FORTNIGHT, alder, publish, shown
from support.rounds import DAY, HORIZON, MONDAY, blocks, command, day_of, export, sequence

__all__ = ["alder"]


def test_exported_twice_it_is_the_same_to_the_byte(alder: Path) -> None:
    for options in ([], ["--each-job"], ["--all-day", "--alarms"]):
        assert export(alder, MONDAY, *options) == export(alder, MONDAY, *options)


def test_a_round_that_moves_changes_what_it_touches_alone(alder: Path) -> None:
    """RFC 5546, section 2.1.4: the higher sequence number is the newer revision; what has not changed has no new one."""
    before = export(alder, MONDAY)
    moved = FORTNIGHT.replace(
        "2026-12-16 noor noor/look sedge/brush", "2026-12-16 ben  noor/look\n2026-12-17 noor sedge/brush"
    )
    publish(alder, moved)
    after = export(alder, MONDAY)

    def news(name: str) -> dict[str, list[str]]:
        old, new = blocks(before[name]), blocks(after[name])
        return {
            "gone": [str(day_of(old[uid])) for uid in old if uid not in new],
            "new": [str(day_of(new[uid])) for uid in new if uid not in old],
            "changed": [f"{day_of(new[u])} {sequence(new[u])}" for u in new if u in old and new[u] != old[u]],
        }

    assert news("alder-noor.rounds.ics") == {"gone": ["2026-12-16"], "new": ["2026-12-17"], "changed": []}
    assert news("alder-ben.rounds.ics") == {"gone": [], "new": ["2026-12-16"], "changed": []}
    # In the site's and in the enclosures' calendars it is the same: an entry is a keeper's and a day's.
    assert news("alder.ics") == {
        "gone": ["2026-12-16"],
        "new": ["2026-12-16", "2026-12-17"],
        "changed": [],
    }
    assert news("alder-sedge.ics") == {"gone": ["2026-12-16"], "new": ["2026-12-17"], "changed": []}
    assert before["alder-reed.ics"] == after["alder-reed.ics"]


def test_what_changes_hands_changes_two_rounds(alder: Path) -> None:
    before = export(alder, MONDAY)
    folder = ["swap", str(alder / "enclosures.toml")]
    command(*folder, "2026-12-09", "noor", "ben", "brush", "--today", str(MONDAY))
    after = export(alder, MONDAY)
    old, new = blocks(before["alder-noor.rounds.ics"]), blocks(after["alder-noor.rounds.ics"])
    # Beyond what is published the shares are made up for.
    changed = [str(day_of(new[uid])) for uid in new if new[uid] != old.get(uid)]
    assert [day for day in changed if day <= "2026-12-20"] == ["2026-12-09"]
    near = [{uid for uid, b in some.items() if day_of(b) <= dt.date(2026, 12, 20)} for some in (old, new)]
    assert near[0] == near[1]
    assert "2026-12-09 brush the pane Sedge" in shown(after["alder-ben.rounds.ics"])
    assert {line for line in shown(after["alder.ics"]) if line[:10] == "2026-12-09"} >= {
        "2026-12-09 Ben: brush the pane Sedge",
        "2026-12-09 Noor: look and listen Noor",
    }


def test_the_next_days_leave_what_is_to_come_as_it_is(alder: Path) -> None:
    """Nothing is recorded: what was published for the days before counts as done, and the others keep name and bytes."""
    feeds = export(alder, MONDAY)

    def published(feed: bytes) -> dict[str, bytes]:
        near = {u: b for u, b in blocks(feed).items() if day_of(b) <= dt.date(2026, 12, 20)}
        # To where rounds are planned moves when more are made.
        return {u: b for u, b in near.items() if HORIZON.encode() not in b}

    for today in (MONDAY + n * DAY for n in range(1, 9)):
        later = export(alder, today)
        for name in ("alder-noor.rounds.ics", "alder-ben.rounds.ics"):
            old, new = published(feeds[name]), published(later[name])
            assert new == {uid: block for uid, block in old.items() if day_of(block) >= today}


def test_what_was_moved_to_a_later_day_is_still_there_on_it(alder: Path) -> None:
    """It fell due on Wednesday and was published for Thursday: on Thursday morning it stands there, whether a record is kept or not."""
    text = FORTNIGHT.replace("noor/look sedge/brush", "noor/look", 1).replace(
        "2026-12-10 noor noor/look", "2026-12-10 noor noor/look sedge/brush"
    )
    publish(alder, text)
    before = export(alder, MONDAY)["alder-noor.rounds.ics"]
    after = export(alder, dt.date(2026, 12, 10))["alder-noor.rounds.ics"]
    assert "2026-12-10 look and listen Noor, 1 more" in shown(before)
    assert "2026-12-10 look and listen Noor, 1 more" in shown(after)


def test_what_a_keeper_did_stays_for_60_days(alder: Path) -> None:
    """One entry a day, with what was noted; what others did is not in it."""
    file = str(alder / "enclosures.toml")
    did = ["did", file, "--on", "2026-12-09", "--today", "2026-12-09"]
    command(*did, "--by", "noor", "sedge", "brush", "--note", "new sponge")
    command(*did, "--by", "noor", "noor", "look")
    command(*did, "--by", "ben", "reed", "net")
    noor = export(alder, dt.date(2026, 12, 9))["alder-noor.rounds.ics"]
    assert [line for line in shown(noor) if line.startswith("2026-12-09")] == [
        "2026-12-09 Done: look and listen Noor, 1 more"
    ]
    (event,) = [e for e in Calendar.from_ical(noor).walk("VEVENT") if "Done" in e["SUMMARY"]]
    assert str(event["DESCRIPTION"]).splitlines() == [
        "Done 9 December 2026: look and listen Noor; brush the pane Sedge",
        "- brush the pane Sedge: new sponge",
    ]
    assert event["DURATION"].dt == dt.timedelta(minutes=25)
    last, gone = dt.date(2026, 12, 9) + 60 * DAY, dt.date(2026, 12, 9) + 61 * DAY
    assert "2026-12-09 Done: look and listen Noor, 1 more" in shown(
        export(alder, last)["alder-noor.rounds.ics"]
    )
    assert "2026-12-09 Done: look and listen Noor, 1 more" not in shown(
        export(alder, gone)["alder-noor.rounds.ics"]
    )


def test_a_done_round_of_to_dos_is_completed(alder: Path) -> None:
    """RFC 5545, section 3.8.1.11."""
    file = str(alder / "enclosures.toml")
    command("did", file, "sedge", "brush", "--by", "noor", "--today", "2026-12-09")
    feed = export(alder, dt.date(2026, 12, 9), "--as", "to-dos", "--alarms")["alder-noor.rounds-to-dos.ics"]
    done = [t for t in Calendar.from_ical(feed).walk("VTODO") if t["STATUS"] == "COMPLETED"]
    assert [str(t["SUMMARY"]) for t in done] == ["Done: brush the pane Sedge"]
    assert not done[0].walk("VALARM")


def test_a_round_that_is_gone_is_cancelled_where_that_is_asked_for(alder: Path) -> None:
    """RFC 5545, section 3.8.1.11 (STATUS:CANCELLED) and RFC 5546, section 3.2.5."""
    before = blocks(export(alder, MONDAY, "--cancel")["alder-noor.rounds.ics"])
    publish(alder, FORTNIGHT.replace("2026-12-07 noor", "2026-12-07 ben "))
    after = blocks(export(alder, MONDAY, "--cancel")["alder-noor.rounds.ics"])
    (gone,) = [uid for uid, block in after.items() if b"STATUS:CANCELLED" in block]
    assert day_of(before[gone]) == MONDAY
    assert sequence(after[gone]) == sequence(before[gone]) + 1
    assert {u: b for u, b in after.items() if u != gone} == {u: b for u, b in before.items() if u != gone}
