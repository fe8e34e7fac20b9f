"""What a text of somebody else's means, against what was agreed: the rules of conflict as a table, and texts of all kinds.

The texts follow RFC 5545: 3.6.2 (VTODO), 3.8.1.8 (PERCENT-COMPLETE), 3.8.1.11 (STATUS), 3.8.2.1 (COMPLETED), 3.8.2.3 (DUE).
"""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.first_local import TODAY, first_local

from scheduler.log.caldav_resources import StoredResource
from scheduler.sync.merge import judge
from scheduler.sync.remote import MOST_COMMENT, MOST_LETTERS, RemoteEntry, read_entry
from scheduler.sync.resource import (
    Base,
    base_of,
    done_content,
    open_content,
    same_content,
    sent_of,
    text_of,
)

DUBLIN = ZoneInfo("Europe/Dublin")
URL = "https://dav.example.org/alder-row/x.ics"


def agreed(*, done: bool = False, to_dos: bool = True) -> tuple[Base, str]:
    """Return what was agreed of the pump of Wednesday the 9th, and its text."""
    writer, one = first_local(to_dos=to_dos)
    content = done_content(writer, one.content, dt.date(2026, 12, 8), dt.time(9)) if done else one.content
    text = text_of(writer, one.uid, content, 2026, today=TODAY)
    found = base_of(writer, StoredResource(one.uid, URL, '"1"', text))
    assert found is not None
    return found, sent_of(writer, text)


DUE = "DUE;TZID=Europe/Dublin:20261209T075500"
OPEN = "STATUS:NEEDS-ACTION"


@pytest.mark.parametrize(
    ("changes", "verdict", "to"),
    [
        ({}, "same", None),
        ({"SUMMARY:rinse the pump": "SUMMARY:Pump!"}, "same", None),
        ({OPEN: "STATUS:COMPLETED"}, "ticked", None),
        ({OPEN: "PERCENT-COMPLETE:100"}, "ticked", None),
        ({OPEN: "COMPLETED:20261207T080000Z"}, "ticked", None),
        ({OPEN: OPEN + "\r\nPERCENT-COMPLETE:100"}, "ticked", None),
        ({OPEN: "STATUS:IN-PROCESS\r\nPERCENT-COMPLETE:50"}, "same", None),
        ({OPEN: "STATUS:CANCELLED"}, "cancelled", None),
        ({OPEN: "STATUS:COMPLETED", DUE: "DUE;VALUE=DATE:20261211"}, "ticked", None),
        ({DUE: "DUE;TZID=Europe/Dublin:20261211T075500"}, "moved", "2026-12-11"),
        ({DUE: "DUE;VALUE=DATE:20261211"}, "moved", "2026-12-11"),
        ({DUE: "DUE:20261211T120000Z"}, "moved", "2026-12-11"),
        # Midnight of the 9th in New York is the 9th at five in Dublin; late on the 9th there is the 10th here.
        ({DUE: "DUE;TZID=America/New_York:20261209T000000"}, "same", None),
        ({DUE: "DUE;TZID=America/New_York:20261209T210000"}, "moved", "2026-12-10"),
        ({DUE: "DUE:20261209T233000"}, "same", None),
        ({DUE: "X-NO-DATE:1"}, "same", None),
        ({DUE: "X-NO-DATE:1", "DTSTART;TZID=Europe/Dublin:20261209": "DTSTART;TZID=Europe/Dublin:20261210"}, "moved", "2026-12-10"),
        ({"DTSTART;TZID=Europe/Dublin:20261209": "DTSTART;TZID=Europe/Dublin:20261208"}, "same", None),
        ({DUE: "DUE:the day after"}, "broken", None),
        ({DUE: "DUE:the day after", OPEN: "STATUS:COMPLETED"}, "ticked", None),
        ({DUE: "DUE:99991231T235959Z"}, "moved", "9999-12-31"),
        ({DUE: "DUE:00010101T000000Z"}, "broken", None),
        ({"UID:": "UID:else-"}, "replaced", None),
        ({"BEGIN:VTODO": "BEGIN:VJOURNAL", "END:VTODO": "END:VJOURNAL"}, "replaced", None),
    ],
)  # fmt: skip
def test_of_what_was_open(changes: dict[str, str], verdict: str, to: str | None) -> None:
    was, text = agreed()
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    found = judge(was, read_entry(text, "VTODO", DUBLIN), URL, '"2"')
    assert (found.verdict, str(found.to) if found.to else None) == (verdict, to)


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, "same"),
        ({"STATUS:COMPLETED": OPEN}, "unticked"),
        (
            {
                "STATUS:COMPLETED\r\n": "",
                "PERCENT-COMPLETE:100\r\n": "",
                "COMPLETED:20261208T090000Z\r\n": "",
            },
            "unticked",
        ),
        ({"STATUS:COMPLETED\r\n": ""}, "same"),
        ({"COMPLETED:20261208T090000Z": "COMPLETED:20261205T090000Z"}, "same"),
        ({DUE: "DUE;VALUE=DATE:20261211"}, "same"),
        ({"STATUS:COMPLETED": "STATUS:CANCELLED"}, "unticked"),
    ],
)
def test_of_what_was_done(changes: dict[str, str], verdict: str) -> None:
    was, text = agreed(done=True)
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    assert judge(was, read_entry(text, "VTODO", DUBLIN), URL, '"2"').verdict == verdict


@pytest.mark.parametrize(("start", "verdict"), [("20261211T073000", "moved"), ("20261209T180000", "same")])
def test_of_an_event(start: str, verdict: str) -> None:
    was, text = agreed(to_dos=False)
    text = text.replace("20261209T073000", start).replace("TRANSP:TRANSPARENT", "STATUS:COMPLETED")
    assert judge(was, read_entry(text, "VEVENT", DUBLIN), URL, '"2"').verdict == verdict


# --- what is read of a text ---


def seen(*lines: str, calendar: str = "") -> RemoteEntry | None:
    inner = "".join(
        f"{line}\r\n" for line in ("BEGIN:VTODO", "UID:u", "DTSTAMP:20261201T000000Z", *lines, "END:VTODO")
    )
    return read_entry(
        f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n{calendar}{inner}END:VCALENDAR\r\n", "VTODO", DUBLIN
    )


def test_moments_are_the_sites() -> None:
    found = seen("COMPLETED:20260701T223059Z", "LAST-MODIFIED:20261201T120000Z")
    assert found is not None
    # Summer time in Dublin.
    assert found.completed == (dt.date(2026, 7, 1), dt.time(23, 30))
    assert found.modified == (dt.date(2026, 12, 1), dt.time(12))
    assert seen("COMPLETED;VALUE=DATE:20260701").completed == (dt.date(2026, 7, 1), None)  # type: ignore[union-attr]


def test_an_occurrence_of_its_own_is_not_the_entry() -> None:
    other = "BEGIN:VTODO\r\nUID:u\r\nRECURRENCE-ID:20261201T000000Z\r\nSTATUS:COMPLETED\r\nEND:VTODO\r\n"
    found = seen("STATUS:NEEDS-ACTION", calendar=other)
    assert found is not None and found.status == "NEEDS-ACTION"


def test_a_note_is_a_note() -> None:
    found = seen("COMMENT:Leaks\\, a bit.\\nTape it.\x1b[31m", "COMMENT:" + "x" * 5000)
    assert found is not None
    assert found.comment.startswith("Leaks, a bit.\nTape it.[31m\nxxx")
    assert len(found.comment) == MOST_COMMENT


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\0" * 100,
        "BEGIN:VCALENDAR\r\n" * 500,
        "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n",
        "END:VTODO\r\n",
        "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:u\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        "<html><body>no</body></html>",
        f"BEGIN:VCALENDAR\r\nBEGIN:VTODO\r\nUID:u\r\nDESCRIPTION:{'x' * MOST_LETTERS}\r\nEND:VTODO\r\nEND:VCALENDAR\r\n",
    ],
    ids=["empty", "zeros", "nested", "bare", "end", "event", "html", "long"],
)
def test_what_is_no_to_do(text: str) -> None:
    assert read_entry(text, "VTODO", DUBLIN) is None


@given(st.lists(st.text(max_size=60), max_size=12), st.text(max_size=80))
def test_whatever_somebody_writes_it_is_read_or_passed_over(lines: list[str], status: str) -> None:
    found = seen(f"STATUS:{status}", *lines)
    if found is not None:
        judge(agreed()[0], found, URL, "")
        assert len(found.comment) <= MOST_COMMENT


def test_of_what_others_added_is_kept_what_is_theirs() -> None:
    found = seen(
        "SUMMARY:mine", "X-PONDROUND-JOB:a/b/c/2026-12-09/", "RRULE:FREQ=DAILY", "ORGANIZER:mailto:x@example.org",
        "X-NET;COLOUR=green:yes", "PRIORITY:1", "BEGIN:VALARM", "ACTION:DISPLAY", "DESCRIPTION:Net", "TRIGGER:-PT5M",
        "END:VALARM",
    )  # fmt: skip
    assert found is not None
    lines = found.kept.decode().split("\r\n")
    assert {"X-NET;COLOUR=green:yes", "PRIORITY:1", "BEGIN:VALARM", "END:VALARM"} <= set(lines)
    assert not [
        line for line in lines if line.startswith(("SUMMARY", "X-POND", "RRULE", "ORGAN", "UID", "DTSTAMP"))
    ]
    assert seen("X-NET:" + "x" * 30_000).kept == b""  # type: ignore[union-attr]


# --- what is written ---


def test_done_and_open_again_is_what_it_was() -> None:
    writer, one = first_local()
    done = done_content(writer, one.content, TODAY, dt.time(8), ticked=True)
    assert done != one.content and open_content(done) == one.content


def test_what_others_added_that_is_no_calendar_is_left_out() -> None:
    writer, one = first_local()
    text = text_of(writer, one.uid, one.content, 2026, today=TODAY)
    assert "X-A:b" in sent_of(writer, text, b"X-A:b\r\n")
    assert sent_of(writer, text, b"no line\r\n") == text == sent_of(writer, text, b"x-low:1\r\n")


def test_what_was_ticked_is_said_to_the_log_alone() -> None:
    writer, one = first_local()
    text = text_of(
        writer, one.uid, done_content(writer, one.content, TODAY, None, ticked=True), 2026, today=TODAY
    )
    assert "TICKED" in text and "TICKED" not in sent_of(writer, text)
    found = base_of(writer, StoredResource(one.uid, URL, '"1"', text))
    assert found is not None and (found.ticked, found.done) == (True, TODAY)


def test_what_is_agreed_says_what_was_put() -> None:
    found, _ = agreed()
    assert (found.job, found.of) == (("sedge", "pump", "", dt.date(2026, 12, 9)), "")
    assert (found.day, found.last, found.minutes) == (dt.date(2026, 12, 9), dt.date(2026, 12, 9), 25)
    assert (found.title, found.done, found.pending, found.tag) == (
        "rinse the pump",
        None,
        False,
        '"1"',
    )
    assert same_content(found, first_local()[1].content)


@pytest.mark.parametrize("text", ["", "BEGIN:VCALENDAR", "BEGIN:VTODO\r\nUID:u\r\nEND:VTODO\r\n"])
def test_a_record_that_is_damaged_is_none(text: str) -> None:
    assert base_of(first_local()[0], StoredResource("u", URL, "", text)) is None
