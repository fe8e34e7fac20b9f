"""A feed over HTTP: what an answer carries, when there is none, and that it is what an export writes."""

from __future__ import annotations

import datetime as dt
import gzip
import re
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

import pytest
from support.web.fed import House, house, without_date
from support.web.http_client import HANG_SECONDS, TODAY, entries, feed_path
from support.web.serving import pondround

__all__ = ["house"]


# --- one answer ---


def test_every_field_of_an_answer(house: House) -> None:
    answer = house.get("sedge")
    assert answer.status == 200
    now = dt.datetime.now(dt.UTC)  # noqa: TID251 - a clock is tested
    assert abs((parsedate_to_datetime(answer["Date"]) - now).total_seconds()) < 30
    assert parsedate_to_datetime(answer["Last-Modified"]) <= parsedate_to_datetime(answer["Date"])
    fields = {name.lower(): value for name, value in answer.fields}
    assert len(fields) == len(answer.fields), "a field came twice"
    assert re.fullmatch('"[0-9a-f]{32}"', fields.pop("etag"))
    del fields["date"], fields["last-modified"]
    assert (
        fields
        == {
            "content-type": "text/calendar; charset=utf-8",  # RFC 5545, section 8.1
            "content-disposition": 'inline; filename="fen-lane-sedge.ics"',  # RFC 6266; .ics: RFC 5545, section 8.1
            "content-length": str(len(answer.body)),
            "cache-control": "private, no-cache",  # RFC 9111, section 5.2.2: kept by nobody else, and asked about each time
            "vary": "Accept-Encoding",  # RFC 9110, section 12.5.5
            "referrer-policy": "no-referrer",
            "x-robots-tag": "noindex, nofollow",
            "x-content-type-options": "nosniff",
            "x-frame-options": "DENY",
            "cross-origin-opener-policy": "same-origin",
            "cross-origin-resource-policy": "same-origin",
            "permissions-policy": "camera=(), geolocation=(), microphone=()",
            "content-security-policy": "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        }
    )


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("site", "fen-lane.ics"),
        ("sedge", "fen-lane-sedge.ics"),
        ("rounds", "fen-lane-noor.rounds.ics"),
        ("noor-page", "fen-lane-noor.rounds.ics"),
    ],
)
def test_the_file_name_is_that_of_an_export(house: House, name: str, file: str) -> None:
    assert house.get(name)["Content-Disposition"] == f'inline; filename="{file}"'


@pytest.mark.parametrize("coding", ["", "gzip"])
@pytest.mark.parametrize("name", ["site", "rounds"])
def test_head_is_get_without_the_bytes(house: House, name: str, coding: str) -> None:
    """RFC 9110, section 9.3.2."""
    get = house.get(name, accept_encoding=coding)
    head = house.get(name, "HEAD", accept_encoding=coding)
    assert head.body == b""
    assert head.status == get.status == 200
    assert without_date(head) == without_date(get)


def test_both_codings_are_the_same_bytes_under_two_tags(house: House) -> None:
    """RFC 9110, section 8.8.3.3: representations that differ in their coding have different strong tags."""
    plain, packed = house.get("site"), house.get("site", accept_encoding="gzip")
    assert packed["Content-Encoding"] == "gzip" and plain["Content-Encoding"] == ""
    assert gzip.decompress(packed.body) == plain.body
    assert len(packed.body) < len(plain.body) / 3
    assert plain["ETag"] != packed["ETag"]
    assert not plain["ETag"].startswith("W/") and not packed["ETag"].startswith("W/")
    for answer, coding in ((plain, "identity"), (packed, "gzip")):
        again = house.get("site", accept_encoding=coding, if_none_match=answer["ETag"])
        assert (again.status, again.body, again["ETag"]) == (304, b"", answer["ETag"])
    # What was kept in one coding is not the one that is asked for now (section 13.1.2: the selected representation).
    assert house.get("site", accept_encoding="gzip", if_none_match=plain["ETag"]).status == 200


@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_not_modified(house: House, method: str) -> None:
    """RFC 9110, section 15.4.5: by tag, by date, by both; with the fields that a 200 would have carried."""
    kept = house.get("sedge")
    tag, date = {"if_none_match": kept["ETag"]}, {"if_modified_since": kept["Last-Modified"]}
    for asked in (tag, date, tag | date, {"if_none_match": "W/" + kept["ETag"]}, {"if_none_match": "*"}):
        answer = house.get("sedge", method, **asked)
        assert (answer.status, answer.body) == (304, b""), asked
        for name in ("ETag", "Last-Modified", "Cache-Control", "Vary"):
            assert answer[name] == kept[name] != ""
        assert answer["Date"]
    for asked in (
        {"if_none_match": '"other"'} | date,
        {"if_modified_since": "Mon, 14 Dec 2020 08:00:00 GMT"},
    ):
        assert house.get("sedge", method, **asked).status == 200
    assert house.get("sedge", method, if_match='"other"').status == 412


def test_a_tag_of_a_second_line_counts(house: House) -> None:
    """RFC 9110, section 5.3: field lines of one name are one list."""
    import http.client

    kept = house.get("sedge")
    connection = http.client.HTTPConnection(house.served.url.removeprefix("http://"), timeout=HANG_SECONDS)
    connection.putrequest("GET", feed_path(house.links["sedge"]), skip_accept_encoding=True)
    connection.putheader("If-None-Match", '"other"')
    connection.putheader("If-None-Match", kept["ETag"])
    connection.endheaders()
    assert connection.getresponse().status == 304
    connection.close()


def test_a_part_is_not_sent(house: House) -> None:
    """RFC 9110, section 14.2: a server may ignore Range, and then sends it whole."""
    answer = house.get("sedge", range="bytes=0-9", if_range='"other"')
    assert (answer.status, answer.body) == (200, house.get("sedge").body)


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND"])
def test_other_methods(house: House, method: str) -> None:
    """RFC 9110, section 15.5.6: MUST generate an Allow field."""
    answer = house.get("sedge", method)
    assert answer.status == 405
    assert {word.strip() for word in answer["Allow"].split(",")} == {"GET", "HEAD"}


# --- forms, and what an export writes ---


@pytest.mark.parametrize(
    ("names", "options"),
    [
        (
            {"site": "fen-lane.ics", "sedge": "fen-lane-sedge.ics", "rounds": "fen-lane-noor.rounds.ics"},
            [],
        ),
        ({"alarms": "fen-lane-sedge.ics"}, ["--alarms"]),
        ({"at-hours": "fen-lane.ics"}, ["--at-hours"]),
        ({"each-job": "fen-lane-noor.rounds.ics"}, ["--all-day", "--each-job"]),
    ],
)
def test_a_feed_is_what_an_export_writes(
    house: House, tmp_path: Path, names: dict[str, str], options: list[str]
) -> None:
    """The same bytes from the same log: a first export, as the feed here was never changed."""
    bodies = {name: house.get(name).body for name in names}
    pondround(house.file.parent, "export", house.file.name, "--to", str(tmp_path), "--today", TODAY, *options)
    for name, file in names.items():
        assert (tmp_path / file).read_bytes() == bodies[name], name
        text = bodies[name].decode()
        assert ("BEGIN:VALARM" in text) is (name == "alarms")
        # Whole days are those of entries with several people's names, and what says how far they go.
        assert ("DTSTART;VALUE=DATE:" in text) is (name != "at-hours")
        assert ("DTSTART;TZID=" in text) is (name != "each-job")
        assert entries(bodies[name])


@pytest.mark.reader
def test_two_outside_readers_agree(house: House, readers: Any, tmp_path: Path) -> None:
    """ical.js and recurring-ical-events list the same occurrences of every feed as it came over HTTP."""
    files = []
    for name in ("site", "sedge", "rounds", "noor-page", "alarms", "at-hours", "each-job"):
        answer = house.get(name, accept_encoding="gzip")
        files.append(tmp_path / f"{name}.ics")
        files[-1].write_bytes(gzip.decompress(answer.body))
    view = ("2026-12-14T00:00:00Z", "2027-02-14T00:00:00Z")
    one, other = readers.ical_js(files, *view), readers.recurring_ical_events(files, *view)
    assert {Path(o["file"]).name for o in one} == {file.name for file in files}

    def sort(found: list[dict[str, str]]) -> list[tuple[str, ...]]:
        return sorted((Path(o["file"]).name, o["uid"], o["start"], o["summary"]) for o in found)

    assert sort(one) == sort(other)
    assert len(one) > 100
