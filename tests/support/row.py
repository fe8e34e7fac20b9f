"""The row with one tank that tests of sync bring to a server and back."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from support.caldav_servers import Caldav, Phone, Way, way_to

PUMP, PANE = "rinse the pump", "brush the pane"


OWN = "alder-row-noor"


@pytest.fixture
def way(caldav: Caldav) -> Iterator[Way]:
    with way_to(caldav) as made:
        yield made


@pytest.fixture
def phone(caldav: Caldav) -> Phone:
    return Phone(caldav)


FOREIGN = {
    "party.ics": (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//somebody//EN\r\nBEGIN:VTODO\r\nUID:party@example.org\r\n"
        "DTSTAMP:20261201T000000Z\r\nSUMMARY:Buy <script>alert(1)</script> cake\r\nSTATUS:COMPLETED\r\n"
        "X-PONDROUND-JOB:sedge/pump//2026-12-09/\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
    ),
    "week.ics": (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//somebody//EN\r\nBEGIN:VEVENT\r\nUID:week@example.org\r\n"
        "DTSTAMP:20261201T000000Z\r\nDTSTART:20261207T100000Z\r\nRRULE:FREQ=WEEKLY\r\nSUMMARY:Choir\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n"
    ),
}
