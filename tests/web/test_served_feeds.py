"""Feeds over HTTP: what an answer carries, when it is news, and that every process answers alike."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import os
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from email.utils import parsedate_to_datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from support.servers import Server, server
from support.web.http_client import (
    FEN,
    HANG_SECONDS,
    RUSH,
    SEDGE,
    TODAY,
    Answer,
    ask,
    entries,
    feed_path,
    link,
    page_path,
    post,
    tick_of,
    until,
    write,
)
from support.web.serving import Served, pondround, serving

from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink, renew_link, revoke_link
from scheduler.workflow.live import sites as all_sites
from scheduler.workflow.live.sites import Sites

__all__ = ["server"]


@dataclass(frozen=True, slots=True)
class House:
    """A site that is served, and its links by name."""

    file: Path
    served: Served
    links: dict[str, IssuedLink]

    def get(self, name: str, method: str = "GET", **fields: str) -> Answer:
        """Ask for the feed of a link; a field of `if_none_match` is If-None-Match."""
        named = {key.replace("_", "-"): value for key, value in fields.items()}
        return ask(self.served.url, feed_path(self.links[name]), method, fields=named)

    def page(self, name: str = "noor-page") -> str:
        return ask(self.served.url, page_path(self.links[name])).text

    def tick(self, key: str) -> None:
        """Tick a job of the tank Sedge off on the page of whoever has it today."""
        for name in ("noor-page", "sam-page"):
            if f'name="key" value="{key}"' in (page := self.page(name)):
                form = tick_of(page, key)
                assert post(self.served.url, form.action, form.fields).status == 303
                return
        raise AssertionError(f"nobody has {key}")

    def until(self, name: str, is_so: Callable[[Answer], bool]) -> Answer:
        """Return the first answer of which something is so: a process may know of a change a glance later."""
        answers = [self.get(name)]

        def look() -> bool:
            answers.append(self.get(name))
            return is_so(answers[-1])

        until(look, lambda: f"{answers[-1].status} {answers[-1].text[-2000:]}")
        return answers[-1]


def links(file: Path, log: str | None = None) -> dict[str, IssuedLink]:
    wanted = {
        "site": ("site", "", ()),
        "sedge": ("enclosure", "Sedge", ()),
        "rounds": ("rounds", "Noor", ()),
        "noor-page": ("page", "Noor", ()),
        "sam-page": ("page", "Sam", ()),
        "alarms": ("enclosure", "Sedge", ("alarms",)),
        "at-hours": ("site", "", ("at-hours",)),
        "each-job": ("rounds", "Noor", ("all-day", "each-job")),
    }
    return {
        name: link(file, kind, of, forms, log=log, name=name) for name, (kind, of, forms) in wanted.items()
    }


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """A site in which nothing changes."""
    file = write(tmp_path_factory.mktemp("fen") / "fen-lane.toml")
    opened = links(file)
    with serving(file.parent, file.name, today=TODAY) as served:
        yield House(file, served, opened)


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[House]:
    """A site of a test's own."""
    file = write(tmp_path / "fen-lane.toml")
    opened = links(file)
    with serving(tmp_path, file.name, today=TODAY) as served:
        yield House(file, served, opened)


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


def without_date(answer: Answer) -> list[tuple[str, str]]:
    return [(name, value) for name, value in answer.fields if name != "date"]


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


# --- secrets ---

WRONG = [
    "A" * 27,
    "A" * 26,
    "A" * 28,
    "a",
    "",
    "..",
    "%2e%2e%2f",
    "A" * 26 + "=",
    "A" * 26 + "%00",
    "%F0%9F%90%A2",
]


def test_what_opens_nothing_is_all_alike(house: House, tmp_path: Path) -> None:
    """Unknown, malformed, of another kind: nobody learns which it was."""
    opened = house.links
    paths = [f"/feeds/{secret}.ics" for secret in (*WRONG, nearly(opened["site"]))]
    # A page's secret opens no feed, a feed's no page; and what belongs to a page opens its calendar alone.
    paths += [f"/feeds/{opened['noor-page'].secret}.ics", f"/round/{opened['noor-page'].calendar}"]
    paths += [f"/round/{opened['site'].secret}", f"/feeds/{opened['site'].secret}", f"/round/{'A' * 27}"]
    # People are answered by a page, programs by text.
    for kind in ("/feeds/", "/round/"):
        seen = set()
        for number, path in enumerate(path for path in paths if path.startswith(kind)):
            # Each from another address, so that no limit of guesses is met.
            answer = ask(house.served.url, path, fields={"X-Forwarded-For": f"192.0.2.{number}"})
            seen.add((answer.status, answer.body, tuple(without_date(answer))))
        assert len(seen) == 1, kind
        assert next(iter(seen))[0] == 404


def nearly(opened: IssuedLink) -> str:
    """Return what is a secret but for its last letter."""
    right = opened.secret
    return right[:-1] + ("A" if right[-1] != "A" else "B")


def steps(call: Callable[[], object]) -> list[str]:
    """Return which functions are called and left, one after the other."""
    found: list[str] = []
    sys.setprofile(lambda frame, event, _: found.append(f"{event} {frame.f_code.co_qualname}"))
    try:
        call()
    finally:
        sys.setprofile(None)
    return found


def test_how_long_it_takes_tells_nothing_of_the_letters(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A guess that begins as a secret does is looked up by the same steps as any other: what is compared are keyed hashes.

    No statement of a nanosecond. It shows a lookup that goes further for what looks right: a part that is looked for in
    the log.
    """
    # Nobody looks for what is new meanwhile.
    monkeypatch.setattr(all_sites, "time", SimpleNamespace(monotonic=lambda: 0.0))
    opened = link(write(tmp_path / "fen-lane.toml"), "site")
    sites = Sites([tmp_path], lambda said: None, dt.date.fromisoformat(TODAY))
    assert sites.find("A" * 27) is None
    far, near, right = (steps(lambda s=s: sites.find(s)) for s in ("A" * 27, nearly(opened), opened.secret))
    assert far == near
    assert len(right) > len(far) > 5, "what is found is looked at"


def test_revoked_and_renewed(fresh: House) -> None:
    assert fresh.get("sedge").status == fresh.get("site").status == 200
    site = read_site(fresh.file)
    new = feed_path(renew_link(fresh.file, site, "sedge"))
    revoke_link(fresh.file, site, "site")
    fresh.until("sedge", lambda a: a.status == 404)
    fresh.until("site", lambda a: a.status == 404)
    # A link that was made elsewhere is known within some seconds.
    seen = [404]
    until(lambda: seen.append(ask(fresh.served.url, new).status) or seen[-1] == 200, lambda: seen)
    assert set(seen) == {404, 200}
    answer = ask(fresh.served.url, new)
    assert answer["Content-Disposition"].endswith('"fen-lane-sedge.ics"')
    said = "\n".join(fresh.served.log_lines)
    for one in fresh.links.values():
        assert one.secret not in said


# --- what changes ---


def is_continued(before: bytes, after: bytes) -> set[str]:
    """See that what did not change has the same three lines, and what did a later revision; return the UIDs that are new or changed.

    RFC 5545, sections 3.8.7.2 (DTSTAMP), 3.8.7.3 (LAST-MODIFIED) and 3.8.7.4 (SEQUENCE, which only grows).
    """
    old, new = entries(before), entries(after)
    changed = set()
    for uid, entry in new.items():
        was = old.get(uid)
        if was is not None and was["whole"] == entry["whole"]:
            assert entry == was, uid
            continue
        changed.add(uid)
        if was is not None:
            assert int(entry["SEQUENCE"]) > int(was["SEQUENCE"]), uid
            for name in ("DTSTAMP", "LAST-MODIFIED"):
                assert entry[name] > was[name], (uid, name)
    return changed


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


# --- many processes ---


def alike(houses: list[House], name: str) -> Answer:
    """Return what all processes answer, once they do so; each is asked several times, whichever worker answers."""
    answers: list[Answer] = []

    def are_alike() -> bool:
        answers[:] = [house.get(name) for house in houses for _ in range(4)]
        return len({(a.status, a["ETag"], a["Last-Modified"], a.body) for a in answers}) == 1

    until(are_alike, lambda: [(a.status, a["ETag"]) for a in answers])
    return answers[0]


@pytest.mark.parametrize("kind", ["sqlite", pytest.param("postgresql", marks=pytest.mark.server)])
def test_every_process_serves_the_same(kind: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """Two workers of one server, and another server beside it, which share nothing but the log and the key."""
    url = None
    if kind == "postgresql":
        database: Server = request.getfixturevalue("server")
        url = database.new_schema()
    env = {} if url is None else {"PONDROUND_LOG": url}
    file = write(tmp_path / "fen-lane.toml")
    opened = links(file, log=url)
    with (
        serving(tmp_path, file.name, today=TODAY, workers=2, env=env) as one,
        serving(tmp_path, file.name, today=TODAY, env=env) as other,
    ):
        houses = [House(file, served, opened) for served in (one, other)]
        before = {name: alike(houses, name) for name in ("site", "sedge", "rounds", "noor-page")}
        assert {a.status for a in before.values()} == {200}
        houses[0].tick("pane")
        after = {name: alike(houses, name) for name in before}
        assert after["sedge"]["ETag"] != before["sedge"]["ETag"]
        for name, was in before.items():
            is_continued(was.body, after[name].body)
        # Who has ticked sees it at once in any process, and so does everybody else.
        for house in houses * 2:
            for page in ("noor-page", "sam-page"):
                assert 'name="key" value="pane"' not in house.page(page)
    assert one.log_lines[1:] == other.log_lines[1:] == []


# --- many sites ---


def test_a_folder_of_sites(tmp_path: Path) -> None:
    """Three descriptions, of which one is wrong; one that comes later, one that is mended, one that goes."""

    def named(name: str) -> str:
        return FEN.replace("Fen Lane", name)

    one, gone, broken = (tmp_path / f"{name}.toml" for name in ("mill", "quay", "weir"))
    for file, name in ((one, "Mill"), (gone, "Quay"), (broken, "Weir")):
        write(file, named(name))
    opened = {file.stem: link(file, "site") for file in (one, gone, broken)}
    write(broken, named("Weir").replace('"Europe/Dublin"', '"Europe/Dubline"'))

    with serving(tmp_path, today=TODAY) as served:

        def status(name: str) -> int:
            return ask(served.url, feed_path(opened[name])).status

        def is_served(name: str) -> None:
            until(lambda: status(name) == 200, lambda: (name, served.log_lines))

        assert [status(name) for name in opened] == [200, 200, 404]
        said = [line for line in served.log_lines if line.startswith("weir.toml: site.time_zone: ")]
        assert len(said) == 1 and said[0].endswith("it is not served until that is mended")

        write(broken, named("Weir"))
        is_served("weir")
        later = write(tmp_path / "ford.toml", named("Ford"))
        opened["ford"] = link(later, "site")
        is_served("ford")
        assert "Ford" in ask(served.url, feed_path(opened["ford"])).text
        gone.unlink()
        # It is noticed when something unknown is asked for, as a new link is.

        def is_told_gone() -> bool:
            ask(served.url, f"/feeds/{'A' * 27}.ics", fields={"X-Forwarded-For": "192.0.2.1"})
            return any("quay.toml: gone" in line for line in served.log_lines)

        until(is_told_gone, lambda: served.log_lines)
        assert status("quay") == 404
        assert [status(name) for name in ("mill", "weir", "ford")] == [200, 200, 200]
        assert json.loads(ask(served.url, "/healthz").body) == {
            "status": "ok",
            "descriptions_with_mistakes": 0,
        }
    assert served.process.returncode == 0


def test_a_file_that_cannot_be_served_costs_no_other(tmp_path: Path) -> None:
    """Whatever is wrong with it, at the start and later: it is told in a line, and the others go on."""
    mill = write(tmp_path / "mill.toml", FEN.replace("Fen Lane", "Mill"))
    head = '[site]\nname = "{}"\ntime_zone = "Europe/Dublin"\n'
    bad = {
        "a-share": FEN.replace("Fen Lane", "Share") + "[enclosure.job]\nwater-change = {share = 1e-17}\n",
        "b-log": head.format("Log") + 'log = "sqlite:///"\n[[enclosure]]\nname = "Reed"\n',
        "c-bytes": "\x00\x01",
        "d-deep": head.format("Deep") + "a = " + "[" * 9_000,
        "e-twin": FEN.replace("Fen Lane", "Mill").replace("[[keeper]]", f'log = "sqlite:///{mill.stem}.db"\n[[keeper]]', 1),
    }  # fmt: skip
    opened = link(mill, "site")
    for name, text in bad.items():
        write(tmp_path / f"{name}.toml", text)
    write(tmp_path / "z-twin.toml", bad.pop("e-twin"))
    (tmp_path / "e-twin.toml").unlink()
    (tmp_path / "f-folder.toml").mkdir()
    os.mkfifo(tmp_path / "g-pipe.toml")
    expected = [*(f"{name}.toml" for name in bad), "f-folder.toml", "g-pipe.toml", "z-twin.toml"]
    with serving(tmp_path, today=TODAY) as served:
        assert ask(served.url, feed_path(opened)).status == 200
        said = [line for line in served.log_lines if "it is not served until that is mended" in line]
        assert [line.partition(":")[0] for line in said] == expected

        def has_told(name: str) -> bool:
            """Look for what is new, from yet another address, and tell whether a file was heard of."""
            guesses.append(f"192.0.2.{len(guesses) % 250}")
            fields = {"X-Forwarded-For": guesses[-1]}
            assert ask(served.url, f"/feeds/{'A' * 27}.ics", fields=fields).status == 404
            assert ask(served.url, feed_path(opened)).status == 200
            return any(line.startswith(f"{name}: ") for line in served.log_lines)

        # Also what comes later, and what is looked for by others: once, however often the folder is looked through.
        guesses: list[str] = []
        names = [f"later-{number}.toml" for number in range(3)]
        for name in names:
            write(tmp_path / name, bad["d-deep"])
            until(lambda told=name: has_told(told), lambda: served.log_lines)  # type: ignore[misc]
        said = [line.partition(":")[0] for line in served.log_lines]
        assert [said.count(name) for name in (*expected, *names)] == [1] * (len(expected) + 3)
    assert "Traceback" not in "\n".join(served.log_lines)


def test_a_site_whose_log_is_away_holds_up_no_other(tmp_path: Path) -> None:
    well, ill = (write(tmp_path / f"{n}.toml", FEN.replace("Fen Lane", n)) for n in ("mill", "weir"))
    opened = {file.stem: link(file, "site") for file in (well, ill)}
    ill.with_suffix(".db").write_bytes(b"no log at all" * 1000)
    for left in ("-wal", "-shm"):
        Path(f"{ill.with_suffix('.db')}{left}").unlink(missing_ok=True)
    with serving(tmp_path, today=TODAY) as served:
        # The secret of neither is known to the process yet.
        assert ask(served.url, feed_path(opened["mill"])).status == 200
        answer = ask(served.url, feed_path(opened["weir"]))
        assert (answer.status, answer["Retry-After"]) == (503, "5")
        assert ask(served.url, "/healthz").status == 503
    assert [line.partition(": ")[0] for line in served.log_lines[1:]] == ["weir.toml"]
