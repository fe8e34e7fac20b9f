"""What was published is remembered: no entry comes back as an older revision, and rules end before they go.

RFC 5546, section 2.1.4: of two revisions of one UID the one with the higher SEQUENCE is the newer, then that with the later
DTSTAMP. RFC 5545, section 3.8.7.4: SEQUENCE grows by a change. A reader that has seen 3 takes no 2.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from recurring_ical_events import of
from support.depth import examples
from support.recorded import history, load

from scheduler import workflow
from scheduler.calendar import Options
from scheduler.calendar.endings import ENDED_DAYS

MONDAY = dt.date(2026, 12, 7)
DAY = dt.timedelta(days=1)
ASIDE = ".pondround-published"

SITE = """
[site]
name = "Fen Lane"
time_zone = "Europe/Dublin"
not_logged = ["daily-look"]
"""
SEDGE = """
[[enclosure]]
name = "Sedge"
set_up = 2026-10-03
cycled = true
resident = [{name = "Fern", species = "painted turtle", carapace = "12 cm"}]
[[enclosure.extra_job]]
key = "net"
title = "mend the net"
on = [2026-12-11, 2027-01-15]
"""
REED = """
[[enclosure]]
name = "Reed"
set_up = 2026-11-02
cycled = true
"""


@dataclass(frozen=True)
class Entry:
    """A revision of an entry as a reader sees it."""

    sequence: int
    stamp: str
    body: str

    @property
    def is_ended(self) -> bool:
        return ";UNTIL=" in self.body

    def line(self, name: str) -> str:
        found = re.search(rf"^{name}[^\r\n]*", self.body, re.M)
        return found[0] if found else ""


def read(feed: bytes) -> dict[str, Entry]:
    """Return the entries of a feed by UID."""
    text = feed.replace(b"\r\n ", b"").decode()
    lead = r"BEGIN:(VEVENT|VTODO)\r\nUID:(\S+)\r\nDTSTAMP:(\S+)\r\nLAST-MODIFIED:\3\r\nSEQUENCE:(\d+)\r\n(.*?)END:\1\r\n"
    found = {m[2]: Entry(int(m[4]), m[3], m[5]) for m in re.finditer(lead, text, re.S)}
    assert len(found) == len(re.findall(r"^BEGIN:(?:VEVENT|VTODO)\r$", text, re.M))
    return found


def publish(
    folder: Path,
    today: dt.date,
    lines: Sequence[str] = (),
    text: str = SITE + SEDGE,
    options: Options = Options(each_job=True),  # noqa: B008
    *,
    cancel: bool = False,
) -> dict[str, Entry]:
    """Export the site as of a day with what was recorded by then, over what is there; return its feed's entries."""
    found = history("2026-12-01", ["2026-12-01 did daily-look", *lines])
    planned = workflow.make_plan(load(text), today, today, 120, found)
    done = workflow.export(planned, folder, options, keep_starts=True, cancel=cancel)
    (path,) = (path for path, _, _ in done.files if path.name in ("fen-lane.ics", "fen-lane.to-dos.ics"))
    return read(path.read_bytes())


def titled(feed: dict[str, Entry], title: str) -> list[str]:
    return [uid for uid, one in feed.items() if one.line("SUMMARY") == f"SUMMARY:{title}"]


def off(*keys: str) -> str:
    return "".join(f"[enclosure.job.{key}]\noff = true\n" for key in keys)


# --- UIDs that come back ---


def test_what_was_done_taken_back_and_done_again_goes_on_with_its_numbers(tmp_path):
    """The entry of what was done is another revision each time: the reader has seen the first."""
    story = []
    for lines in ([], ["2026-12-07 did water-change"], [], ["2026-12-07 did water-change"], []):
        feed = publish(tmp_path, MONDAY, lines)
        story += [(feed[uid].sequence, feed[uid].stamp) for uid in titled(feed, "Done: water change")]
    # The content is that of before, and so is the revision.
    assert story == [(0, "20261207T000000Z")] * 2
    uid = titled(publish(tmp_path, MONDAY, ["2026-12-07 did water-change"]), "Done: water change")
    publish(tmp_path, MONDAY)
    longer = SEDGE.replace('"Sedge"', '"Sedge Row"\nid = "sedge"')
    after = publish(tmp_path, MONDAY, ["2026-12-07 did water-change"], SITE + longer)[uid[0]]
    assert (after.sequence, after.stamp) == (1, "20261207T000001Z")


def test_what_is_open_comes_back_with_a_higher_number(tmp_path):
    """Overdue for days, done, taken back: the same name, and a number that no reader has seen."""
    first = publish(tmp_path, dt.date(2026, 12, 12))
    (uid,) = [uid for uid in first if first[uid].line("SUMMARY") == "SUMMARY:Late: mend the net"]
    second = publish(tmp_path, dt.date(2026, 12, 13))
    assert second[uid].sequence == first[uid].sequence + 1
    assert uid not in publish(tmp_path, dt.date(2026, 12, 13), ["2026-12-13 did net"])
    assert (tmp_path / ASIDE).read_bytes().count(uid.encode()) == 2  # of the site and of the enclosure
    back = publish(tmp_path, dt.date(2026, 12, 14))
    assert back[uid].sequence == second[uid].sequence + 1 and back[uid].stamp > second[uid].stamp


def test_a_done_entry_keeps_its_uid_when_its_series_ends(tmp_path):
    """Of a single day, of an interval, and of a job that comes by a rule; turned off, or its enclosure's job gone."""
    lines = ["2026-12-11 did net", "2026-12-08 did water-change", "2026-12-09 did wipe-down"]
    before = publish(tmp_path, dt.date(2026, 12, 12), lines)
    done = {uid for uid in before if before[uid].line("SUMMARY").startswith("SUMMARY:Done: ")}
    assert len(done) == 4
    without = re.sub(r"\[\[enclosure.extra_job\]\].*", "", SEDGE, flags=re.S)
    after = publish(tmp_path, dt.date(2026, 12, 13), lines, SITE + without + off("water-change", "wipe-down"))
    assert done <= after.keys()
    assert all(after[uid].line("DTSTART") == before[uid].line("DTSTART") for uid in done)


@pytest.mark.parametrize("lost", [False, True], ids=["beside the feed", "the feed is lost"])
def test_the_hidden_file_tells_what_is_in_the_feed_no_more(tmp_path, lost):
    """Nothing is hidden while nothing has left; a damaged one is as none."""
    publish(tmp_path, MONDAY)
    assert not (tmp_path / ASIDE).exists()
    publish(tmp_path, MONDAY, ["2026-12-07 did water-change"])
    publish(tmp_path, MONDAY)
    kept = (tmp_path / ASIDE).read_text()
    assert re.fullmatch(
        r"(feed fen-lane[a-z-]*\.ics\n([0-9a-f-]{36} \d+ \d{8}T\d{6}Z [0-9a-f]{24} \d{8}\n)+)+", kept
    )
    if lost:
        (tmp_path / "fen-lane.ics").unlink()
    (tmp_path / ASIDE).write_bytes(b"feed fen-lane.ics\n\xff\xfe" + kept.encode()[:50])
    assert publish(tmp_path, MONDAY, ["2026-12-07 did water-change"])


# --- rules ---


FORMS = [Options(each_job=True), Options(each_job=True, all_day=True), Options(to_dos=True, alarms=True)]


def days(feed: bytes, uid: str) -> list[dt.date]:
    """Return the days of an entry as recurring-ical-events sees them."""
    seen = of(Calendar.from_ical(feed), components=["VEVENT", "VTODO"]).between(
        dt.date(2026, 10, 1), dt.date(2027, 12, 31)
    )
    starts = [e["DTSTART"].dt for e in seen if e["UID"] == uid]
    return sorted(s.date() if isinstance(s, dt.datetime) else s for s in starts)


@pytest.mark.parametrize("options", FORMS, ids=["events", "all-day", "to-dos"])
def test_a_rule_that_leaves_ends_and_stays_for_90_days(tmp_path, options):
    """One widespread reader shows a recurring entry that is gone from a feed until it is restarted; it heeds UNTIL."""
    name = "fen-lane.to-dos.ics" if options.to_dos else "fen-lane.ics"
    before = publish(tmp_path, MONDAY, options=options)
    (uid,) = titled(before, "Look in")
    without = SITE + SEDGE + off("daily-look")
    ended = publish(tmp_path, MONDAY + 5 * DAY, (), without, options)
    assert ended[uid].sequence == before[uid].sequence + 1 and ended[uid].is_ended
    assert ended[uid].line("DTSTART") == before[uid].line("DTSTART")
    # What lies behind stays, and today it is over.
    assert days((tmp_path / name).read_bytes(), uid) == [MONDAY + n * DAY for n in range(5)]
    last = publish(tmp_path, MONDAY + (5 + ENDED_DAYS) * DAY, (), without, options)
    assert last[uid] == ended[uid]
    assert uid not in publish(tmp_path, MONDAY + (6 + ENDED_DAYS) * DAY, (), without, options)
    # Back in the plan it begins anew, and its number goes on.
    today = MONDAY + (7 + ENDED_DAYS) * DAY
    back = publish(tmp_path, today, options=options)
    assert back[uid].sequence == ended[uid].sequence + 1 and not back[uid].is_ended
    assert days((tmp_path / name).read_bytes(), uid)[0] == today


def test_a_job_that_is_turned_off_and_on_again_does_not_claim_the_days_between(tmp_path):
    (uid,) = titled(publish(tmp_path, MONDAY), "Look in")
    publish(tmp_path, MONDAY + 2 * DAY, (), SITE + SEDGE + off("daily-look"))
    back = publish(tmp_path, MONDAY + 5 * DAY)
    assert back[uid].sequence == 2
    assert days((tmp_path / "fen-lane.ics").read_bytes(), uid)[0] == MONDAY + 5 * DAY


@pytest.mark.parametrize("options", FORMS, ids=["events", "all-day", "to-dos"])
def test_a_rule_of_which_nothing_lies_behind_ends_without_a_day(tmp_path, options):
    """RFC 5545, section 3.8.5.1: EXDATE may take DTSTART out. Nothing that never was comes into the past."""
    name = "fen-lane.to-dos.ics" if options.to_dos else "fen-lane.ics"
    lines = ["2026-12-07 did water-change"]
    before = publish(tmp_path, MONDAY, lines, options=options)
    (uid,) = titled(before, "Water change")
    assert days((tmp_path / name).read_bytes(), uid)[0] > MONDAY
    after = publish(tmp_path, MONDAY + DAY, lines, SITE + SEDGE + off("water-change"), options)
    assert after[uid].is_ended and after[uid].sequence == before[uid].sequence + 1
    assert days((tmp_path / name).read_bytes(), uid) == []


@pytest.mark.reader
def test_other_readers_see_nothing_of_a_rule_that_ended(readers, tmp_path):
    lines = ["2026-12-07 did water-change"]
    publish(tmp_path, MONDAY, lines)
    publish(tmp_path, MONDAY + DAY, lines, SITE + SEDGE + off("water-change", "daily-look"))
    for reader in (readers.recurring_ical_events, readers.ical_js):
        seen = reader([tmp_path / "fen-lane.ics"], "2026-12-01T00:00:00Z", "2027-12-01T00:00:00Z")
        found = [(e["utc"][:10], e["summary"]) for e in seen]
        assert [day for day, title in found if title == "Look in"] == ["2026-12-07"]
        assert [day for day, title in found if title == "Water change"] == []


def test_an_enclosure_that_is_gone_ends_its_rules_in_the_sites_feed_and_comes_back(tmp_path):
    before = publish(tmp_path, MONDAY, (), SITE + SEDGE + REED)
    reeds = {
        uid
        for uid in before
        if before[uid].line("SUMMARY").endswith(": Reed") and "RRULE" in before[uid].body
    }
    assert len(reeds) > 5
    gone = publish(tmp_path, MONDAY + DAY)
    assert all(gone[uid].is_ended for uid in reeds)
    back = publish(tmp_path, MONDAY + 2 * DAY, (), SITE + SEDGE + REED)
    assert all(back[uid].sequence == 2 and not back[uid].is_ended for uid in reeds)


# --- what is cancelled ---


def test_cancelling_strikes_no_past(tmp_path):
    """A rule that has days behind it is ended, not struck out; one that was over long since stays as it was."""
    brief = SEDGE + (
        '[[enclosure.extra_job]]\nkey = "dose"\ntitle = "dose"\nrule = "FREQ=DAILY;UNTIL=20261209"\n'
    )
    before = publish(tmp_path, MONDAY, (), SITE + brief, cancel=True)
    (look,), (dose,) = titled(before, "Look in"), titled(before, "dose")
    after = publish(tmp_path, MONDAY + 4 * DAY, (), SITE + brief + off("daily-look"), cancel=True)
    assert after[dose] == before[dose]
    assert after[look].is_ended and "CANCELLED" not in after[look].body
    assert days((tmp_path / "fen-lane.ics").read_bytes(), look) == [MONDAY + n * DAY for n in range(4)]
    again = publish(tmp_path, MONDAY + 9 * DAY, (), SITE + SEDGE + off("daily-look"), cancel=True)
    assert again[look] == after[look]


def test_cancelling_covers_what_was_open_and_what_was_taken_back(tmp_path):
    """Who takes files in would keep "Late:" on the day before for ever, and what was done by mistake."""
    due = publish(tmp_path, dt.date(2026, 12, 12), ["2026-12-10 did wipe-down"], cancel=True)
    (late,) = [uid for uid in due if due[uid].line("SUMMARY") == "SUMMARY:Late: mend the net"]
    (done,) = titled(due, "Done: wipe down")
    after = publish(tmp_path, dt.date(2026, 12, 14), ["2026-12-14 did net"], cancel=True)
    for uid in (late, done):
        assert "STATUS:CANCELLED\r\n" in after[uid].body
        assert after[uid].sequence == due[uid].sequence + 1
    # Taken back once more, it is open again under its name, with a number that goes on.
    back = publish(tmp_path, dt.date(2026, 12, 15), cancel=True)
    assert back[late].sequence == after[late].sequence + 1 and "CANCELLED" not in back[late].body


# --- whatever happens ---

KEYS = ["water-change", "wipe-down", "net", "top-up", "feed", "daily-look"]
STEP = st.one_of(
    st.tuples(st.just("did"), st.sampled_from(KEYS)),
    st.tuples(st.just("undo"), st.integers(0, 3)),
    st.tuples(st.just("off"), st.sampled_from(KEYS)),
    st.tuples(st.just("reed"), st.booleans()),
    st.tuples(st.just("days"), st.sampled_from([1, 2, 7, 30, 95])),
)


@settings(max_examples=examples(15))
@given(st.lists(STEP, min_size=3, max_size=9), st.sampled_from(FORMS), st.booleans())
@example(
    [("did", "net"), ("undo", 0), ("days", 1), ("did", "net"), ("off", "net"), ("days", 95), ("off", "net")],
    Options(each_job=True),
    False,
)
@example(
    [("off", "feed"), ("days", 1), ("off", "feed"), ("reed", True), ("reed", False), ("reed", True)],
    Options(each_job=True),
    True,
)
def test_no_number_ever_falls_and_it_rises_with_the_content_alone(tmp_path_factory, steps, options, cancel):
    folder = tmp_path_factory.mktemp("feeds")
    today, lines, turned_off, reed = MONDAY, [], [], False
    seen: dict[str, Entry] = {}
    before: dict[str, Entry] = {}
    for word, what in [("days", 0), *steps]:
        if word == "did":
            lines.append(f"{today} did {what}")
        elif word == "undo" and lines:
            lines.pop(what % len(lines))
        elif word == "off":
            turned_off = [k for k in turned_off if k != what] if what in turned_off else [*turned_off, what]
        elif word == "reed":
            reed = what
        elif word == "days":
            today += what * DAY
        sedge = SEDGE.replace("on = [2026-12-11, 2027-01-15]", "off = true") if "net" in turned_off else SEDGE
        sedge = (
            re.sub(r"\[\[enclosure.extra_job\]\].*", "", sedge, flags=re.S) if "net" in turned_off else sedge
        )
        text = SITE + sedge + off(*(k for k in turned_off if k != "net")) + (REED if reed else "")
        feed = publish(folder, today, sorted(set(lines)), text, options, cancel=cancel)
        for uid, one in feed.items():
            was = seen.get(uid)
            if was is None:
                assert one.sequence == 0
                continue
            if one.body == was.body:
                assert one == was
            else:
                assert one.sequence == was.sequence + 1 and one.stamp > was.stamp, one.body
        for uid, was in before.items():
            if uid not in feed and was.line("RRULE") and "CANCELLED" not in was.body:
                assert was.is_ended, "a rule goes only once it has ended"
        seen |= feed
        before = feed
