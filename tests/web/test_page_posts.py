"""What a page posts is taken once, from itself alone; and text stays text."""

from __future__ import annotations

from urllib.parse import urlencode

import pytest
from support.web.house import House
from support.web.http_client import (
    TODAY,
    Form,
    ask,
    feed_path,
    forms,
    page_path,
    post,
    raw,
    status_of,
)
from support.web.posted import (
    IMAGE,
    QUOTE,
    SCRIPT,
    at_once,
    house,
    houses,
    reading,
    seal,
    still,
    stills,
    unused,
)
from support.web.serving import pondround

from scheduler.web.submissions import HANDLES

__all__ = ["house", "houses", "still", "stills", "unused"]


# --- the seal ---


def test_a_form_of_the_page_is_taken(house: House) -> None:
    form = house.tick()
    assert form.fields["seal"] == seal(house, house.sam, TODAY, form.fields["seen"])
    answer = house.send(form)
    assert (answer.status, answer["Location"]) == (303, f"{page_path(house.sam)}#entry-1")
    (entry,) = house.entries()
    assert (entry.name, entry.enclosure, entry.keeper, str(entry.day)) == ("pane", "sedge", "sam", TODAY)
    assert "brush the pane" in house.page().partition('id="done"')[2]


@pytest.mark.parametrize(
    ("what", "changed", "status"),
    [
        ("no seal", {"seal": None}, 403),
        ("an empty one", {"seal": ""}, 403),
        ("one that is made up", {"seal": "0" * 32}, 403),
        ("one of letters that no seal has", {"seal": "ü" * 32}, 403),
        ("a part of it", {"seal": "half"}, 403),
        ("that of this page with another day", {"day": "2026-12-13"}, 403),
        ("that of this page with another state of the log", {"seen": "999"}, 403),
        ("that of another's page", {"seal": "hers"}, 403),
        ("that of yesterday's page", {"day": "2026-12-13", "seal": "yesterday's"}, 409),
        ("that of tomorrow's page", {"day": "2026-12-15", "seal": "tomorrow's"}, 409),
        ("no day", {"day": None}, 400),
        ("a day that there is not", {"day": "2026-02-30"}, 400),
        ("no state", {"seen": None}, 400),
        ("a state that is no number", {"seen": "1e9"}, 400),
        ("a state of many digits", {"seen": "9" * 5000}, 403),
    ],
)
def test_a_form_with_another_seal(
    still: House, what: str, changed: dict[str, str | None], status: int
) -> None:
    form = still.tick()
    seals = {
        "hers": seal(still, still.noor, TODAY, form.fields["seen"]),
        "yesterday's": seal(still, still.sam, "2026-12-13", form.fields["seen"]),
        "tomorrow's": seal(still, still.sam, "2026-12-15", form.fields["seen"]),
        "half": form.fields["seal"][:16],
    }
    answer = still.send(form, **{k: seals.get(v or "", v) for k, v in changed.items()})
    assert answer.status == status, what
    assert still.entries() == []
    if status == 409:
        assert "of another day, and nothing was changed" in answer.text


# --- from where ---


OWN = "http://own"


@pytest.mark.parametrize(
    ("fields", "status", "source"),
    [
        ({"Sec-Fetch-Site": "cross-site"}, 403, "Fetch Metadata Request Headers, section 2.4"),
        ({"Sec-Fetch-Site": "same-site"}, 403, "the same: another host of the same domain"),
        ({"Sec-Fetch-Site": "nonsense"}, 403, "the same: what is no value of it"),
        ({"Origin": "https://evil.example"}, 403, "RFC 6454, section 7"),
        ({"Origin": OWN.replace("http", "https") + ".evil.example"}, 403, "RFC 6454, section 4: the whole host"),
        ({"Origin": "http://["}, 403, "RFC 6454, section 7.1: no origin at all"),
        ({"Origin": "http://a http://b"}, 403, "RFC 6454, section 7.1: a list"),
        ({"Origin": ""}, 403, "RFC 6454, section 7.1: never empty"),
        ({"Content-Type": "text/plain"}, 415, "HTML: a form of another site can send this"),
        ({"Content-Type": "multipart/form-data; boundary=x"}, 415, "HTML: and this"),
        ({"Content-Type": "application/json"}, 415, "no form"),
        ({"Content-Type": ""}, 415, "no form"),
    ],
)  # fmt: skip
def test_a_form_from_elsewhere(still: House, fields: dict[str, str], status: int, source: str) -> None:
    form = still.tick()
    own = {name: value.replace(OWN, still.url) for name, value in fields.items()}
    assert post(still.url, form.action, form.fields, own).status == status, source
    assert still.entries() == []


@pytest.mark.parametrize("name", ["Origin", "Sec-Fetch-Site"])
def test_a_form_that_says_twice_from_where(still: House, name: str) -> None:
    """Neither field is a list (RFC 6454, section 7.1; Fetch Metadata, section 2.4): one that says two things says nothing."""
    form = still.tick()
    good = {"Origin": "null", "Sec-Fetch-Site": "same-origin"}[name]
    bad = {"Origin": "https://evil.example", "Sec-Fetch-Site": "cross-site"}[name]
    body = urlencode(form.fields)
    for values in ((good, bad), (bad, good), (good, good)):
        lines = "".join(f"{name}: {value}\r\n" for value in values)
        sent = (
            f"POST {form.action} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n{lines}"
            f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n\r\n{body}"
        )
        assert status_of(raw(still.url, sent.encode())) == 403, values
    assert still.entries() == []


@pytest.mark.parametrize(
    "fields",
    [
        {"Origin": OWN, "Sec-Fetch-Site": "same-origin"},
        {"Origin": "null", "Sec-Fetch-Site": "same-origin"},
        {"Content-Type": "Application/X-WWW-Form-Urlencoded; charset=UTF-8"},
    ],
)
def test_a_form_from_here(house: House, fields: dict[str, str]) -> None:
    """Browsers send `Origin: null` for pages with the policy no-referrer (Fetch, "append a request `Origin` header")."""
    form = house.tick()
    own = {name: value.replace(OWN, house.url) for name, value in fields.items()}
    assert post(house.url, form.action, form.fields, own).status == 303
    assert house.recorded() == 1


def test_asking_changes_nothing(house: House) -> None:
    """RFC 9110, section 9.2.1: GET and HEAD are safe."""
    form = house.tick()
    for part in HANDLES:
        for method in ("GET", "HEAD"):
            path = f"{page_path(house.sam)}/{part}?{urlencode(form.fields)}"
            assert ask(house.url, path, method).status in (303, 405)
    assert house.entries() == []


# --- once ---


def test_twice_is_once(house: House) -> None:
    form = house.tick()
    assert [house.send(form).status for _ in range(3)] == [303, 303, 303]
    assert house.recorded() == 1


def test_what_was_taken_back_does_not_come_back_by_itself(house: House) -> None:
    """A browser that is reloaded sends its last form again; so does somebody who recorded the bytes."""
    form = house.tick()
    house.send(form)
    (undo,) = forms(house.page(), "undo")
    assert house.send(undo).status == 303
    assert house.recorded() == 0
    assert house.send(form).status == 303
    assert house.recorded() == 0
    # From the page as it is now it is another matter.
    assert house.send(house.tick()).status == 303
    assert house.recorded() == 1
    # And the old form takes nothing back that it did not mean.
    assert house.send(undo).status == 303
    assert house.recorded() == 1


def test_many_at_once_is_once(house: House) -> None:
    """A double click eight times over, from two people's pages: each is told that it is recorded, and it is, once."""
    his, hers = house.tick(), forms(house.page(house.noor), "reading")[0]
    sealed = {name: hers.fields[name] for name in ("day", "seen", "seal")}
    same = Form(f"{page_path(house.noor)}/done", {**his.fields, **sealed})
    assert at_once([lambda f=f: house.send(f) for f in [his, same] * 8]) == [303] * 16  # type: ignore[misc]
    assert house.recorded() == 1
    assert len(house.entries()) == 1


def test_two_people_see_each_other(house: House) -> None:
    assert "Sam" not in house.page(house.noor).partition('id="done"')[2].partition('id="reading"')[0]
    house.send(house.tick(), note="very green")
    other = house.page(house.noor).partition('id="others"')[2].partition("</ul>")[0]
    assert "brush the pane" in other and "Sam" in other and "very green" in other
    # And by the log: whoever records elsewhere.
    pondround(
        house.file.parent, "did", house.file.name, "rush", "daily-look", "--by", "Noor", "--today", TODAY
    )
    page = house.page(house.sam)
    assert "Rush" in page.partition('id="others"')[2]
    assert [f.fields["enclosure"] for f in forms(page, "done") if f.fields["key"] == "daily-look"] == [
        "sedge"
    ]


# --- text stays text ---


def test_script_in_names_and_notes(houses: dict[str, House]) -> None:
    """As the OWASP cheat sheet on cross-site scripting has it: what people wrote is escaped, wherever it stands."""
    house = houses["hostile"]
    pages = []
    for whose in (house.noor, house.sam):
        page = house.page(whose)
        pages += [page, ask(house.url, f"{page_path(whose)}/calendar").text]
        for form in forms(page, "done"):
            if form.fields["key"] == "pane":
                assert house.send(form, note=f"{SCRIPT} {QUOTE} {IMAGE}").status == 303
                assert house.send(form, key=SCRIPT, note=QUOTE).status == 422
        pages += [house.page(whose), reading(house, reading="temperature", value=SCRIPT).text]
        pages += [reading(house, reading="temperature", value="24 degC", whose=IMAGE).text]
        pages += [reading(house, reading="temperature", value="45 degC").text]
    (entry,) = [e for e in house.entries() if e.kind == "done"]
    assert entry.note == f"{SCRIPT} {QUOTE} {IMAGE}"
    assert any("&lt;script&gt;alert(1)&lt;/script&gt;" in page for page in pages)
    for page in pages:
        assert not [bad for bad in ("<script", "<img", "<svg/", "javascript:") if bad in page.lower()], page
    # Nor does a template see anything of its own in it.
    assert any("{{ 7 * 7 }}" in page for page in pages)


def test_names_do_not_come_into_header_fields(houses: dict[str, House]) -> None:
    answer = ask(houses["hostile"].url, feed_path(houses["hostile"].calendar))
    assert answer.status == 200
    assert answer["Content-Disposition"].isascii()
    assert set(answer["Content-Disposition"].removeprefix("inline; filename=").strip('"')) <= set(
        "abcdefghijklmnopqrstuvwxyz0123456789-."
    )


CSP = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"


def test_every_answer_has_its_guards(house: House) -> None:
    """Content Security Policy Level 3; Referrer Policy; whatever the route and whatever the status."""
    page, feed = page_path(house.sam), feed_path(house.calendar)
    tick = house.tick()
    typed = {"Content-Type": "application/x-www-form-urlencoded"}
    answers = {
        "page": (ask(house.url, page), 200),
        "calendar": (ask(house.url, f"{page}/calendar"), 200),
        "feed": (ask(house.url, feed), 200),
        "style": (ask(house.url, "/style.css"), 200),
        "health": (ask(house.url, "/healthz"), 200),
        "head": (ask(house.url, page, "HEAD"), 200),
        "not modified": (ask(house.url, feed, fields={"If-None-Match": "*"}), 304),
        "failed": (ask(house.url, feed, fields={"If-Match": '"other"'}), 412),
        "home": (ask(house.url, "/"), 200),
        "nothing": (ask(house.url, "/rounds"), 404),
        "no such part": (ask(house.url, f"{page}/other"), 404),
        "guess": (ask(house.url, f"/round/{'A' * 27}"), 404),
        "method": (ask(house.url, feed, "DELETE"), 405),
        "long": (ask(house.url, "/" + "a" * 3000), 414),
        "head too large": (ask(house.url, "/", fields={"X-A": "a" * 20_000}), 431),
        "no form": (ask(house.url, f"{page}/done", "POST", b"", typed), 400),
        "elsewhere": (ask(house.url, f"{page}/done", "POST", b"", {**typed, "Origin": "http://x"}), 403),
        "type": (ask(house.url, f"{page}/done", "POST", b"{}"), 415),
        "size": (ask(house.url, f"{page}/done", "POST", b"a" * 300_000, typed), 413),
        "refused": (house.send(tick, key="other"), 422),
        "another day": (
            house.send(
                tick, day="2026-12-13", seal=seal(house, house.sam, "2026-12-13", tick.fields["seen"])
            ),
            409,
        ),
        "done": (house.send(tick), 303),
    }
    for name, (answer, status) in answers.items():
        assert answer.status == status, name
        assert answer["Content-Security-Policy"] == CSP, name
        assert answer["Referrer-Policy"] == "no-referrer", name
        assert answer["X-Content-Type-Options"] == "nosniff", name
        assert answer["X-Robots-Tag"] == "noindex, nofollow", name
        assert answer["X-Frame-Options"] == "DENY", name
        assert answer["Date"], name
        assert not answer["Server"] and not answer["Set-Cookie"], name
    for name in ("page", "calendar", "done", "refused"):
        assert answers[name][0]["Cache-Control"] == "private, no-store", name
    assert answers["method"][0]["Allow"]
