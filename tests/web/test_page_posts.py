"""What is posted to a page: sealed, counted once, refused with nothing recorded, and shown as text whatever it holds."""

from __future__ import annotations

import threading
import zoneinfo
from collections.abc import Callable, Iterator
from email.utils import parsedate_to_datetime
from urllib.parse import urlencode

import pytest
from house import House, made
from http_client import (
    FEN,
    TODAY,
    Answer,
    Form,
    ask,
    feed_path,
    forms,
    page_path,
    post,
    raw,
    status_of,
    write,
)
from serving import pondround, serving

from scheduler.web.submissions import HANDLES
from scheduler.workflow.feeds.links import KEY_FILE, Opened, hashed

HOUSES = 36
"""So many descriptions are alike; each test takes one in which nothing is recorded."""

SCRIPT, IMAGE, QUOTE = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(2)>",
    "\"'><svg/onload=alert(3)>",
)

HOSTILE = f"""
[site]
name = '''{SCRIPT}'''
time_zone = "Europe/Dublin"

[[keeper]]
name = '''{QUOTE}'''
id = "noor"

[[keeper]]
name = '''{IMAGE}'''
id = "sam"

[[enclosure]]
name = '''{IMAGE} &amp; {{{{ 7 * 7 }}}}'''
id = "sedge"
room = '''{QUOTE}'''
kind = "tank"
set_up = 2026-10-01
cycled = true

[[enclosure.extra_job]]
key = "pane"
title = '''{SCRIPT}'''
rule = "FREQ=DAILY"
note = '''</li></ol>{QUOTE}{SCRIPT}'''
"""

AWAY = FEN.replace('name = "Noor"', 'name = "Noor"\naway = ["2026-12-14/2026-12-14"]')


@pytest.fixture(scope="module")
def houses(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, House]]:
    folder = tmp_path_factory.mktemp("houses")
    some = {f"fen-{n}": FEN.replace("Fen Lane", f"Fen {n}") for n in range(HOUSES)}
    texts = {**some, "hostile": HOSTILE, "away": AWAY}
    there = {name: made(folder / f"{name}.toml", text) for name, text in texts.items()}
    with serving(folder, today=TODAY) as served:
        yield {
            name: House(file, served, noor, sam, calendar)
            for name, (file, noor, sam, calendar) in there.items()
        }
    said = "\n".join(served.log_lines)
    assert "Traceback" not in said
    for house in there.values():
        assert all(opened.secret not in said for opened in house[1:])


@pytest.fixture(scope="module")
def unused(houses: dict[str, House]) -> list[House]:
    return [house for name, house in houses.items() if name.startswith("fen-")]


@pytest.fixture(scope="module")
def stills() -> dict[str, House]:
    return {}


@pytest.fixture
def still(request: pytest.FixtureRequest, stills: dict[str, House], unused: list[House]) -> House:
    """Return a site in which nothing is recorded whatever is sent; the same one for all rows of a table."""
    name = request.function.__name__
    if name not in stills:
        stills[name] = unused.pop()
    return stills[name]


@pytest.fixture
def house(unused: list[House]) -> House:
    return unused.pop()


# --- the seal ---


def seal(house: House, whose: Opened, day: str, seen: str) -> str:
    """Make a seal as the server does, which needs the key that lies beside the description."""
    key = (house.file.parent / KEY_FILE).read_bytes().strip()
    return hashed(key, f"form/{whose.secret}/{day}/{seen}")[:32]


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


def at_once(many: list[Callable[[], Answer]]) -> list[int]:
    """Do things at once, each in a thread; return the statuses."""
    gate, found = threading.Barrier(len(many)), []

    def run(what: Callable[[], Answer]) -> None:
        gate.wait()
        found.append(what().status)

    threads = [threading.Thread(target=run, args=(what,)) for what in many]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


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


# --- refused ---


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"note": "x" * 2001}, "the note has 2001 characters; 2000 are kept at most"),
        ({"note": "a\x00b"}, "which is no text"),
        ({"key": "no-such-job"}, "no longer in the plan"),
        ({"key": ""}, "no longer in the plan"),
        ({"key": None}, "no longer in the plan"),
        ({"key": "a" * 4000}, "no longer in the plan"),
        ({"key": "🐢"}, "no longer in the plan"),
        ({"enclosure": "no-such-tank"}, "no longer in the plan"),
        ({"enclosure": "rush"}, "no longer in the plan"),
        ({"variant": "uv-9"}, "no longer in the plan"),
    ],
)
def test_a_tick_that_is_refused(still: House, changed: dict[str, str | None], said: str) -> None:
    answer = still.send(still.tick(), **changed)
    assert answer.status == 422
    assert said.lower() in answer.text.lower().replace("&#39;", "'")
    assert answer.text.count("Nothing was recorded.") == 1
    assert still.entries() == []


def test_a_note(house: House) -> None:
    """As long as it may be, in any letters; several lines are one."""
    note = "grün 🐢 " + "x" * 1989 + "\r\n\tend"
    assert house.send(house.tick(), note=note).status == 303
    (entry,) = house.entries()
    assert entry.note == "grün 🐢 " + "x" * 1989 + " end"
    assert len(entry.note) == 2000


def test_a_tick_has_its_hour(house: House) -> None:
    """The clock of the site, whatever day counts as today; of yesterday nobody knows it."""
    answers = [ask(house.url, "/healthz"), house.send(house.tick())]
    assert house.send(house.tick("daily-look"), on="yesterday").status == 303
    pane, look = house.entries()
    dates = [parsedate_to_datetime(answer["Date"]) for answer in answers]
    hours = [date.astimezone(zoneinfo.ZoneInfo("Europe/Dublin")).time() for date in dates]
    assert pane.time in {hour.replace(second=0) for hour in hours}
    assert look.time is None


# --- no note is thrown away ---


def standing(house: House, key: str = "pane") -> list[tuple[str, str, str]]:
    return [
        (str(e.day), e.keeper, e.note)
        for e in house.entries()
        if e.name == key and e.kind == "done" and not e.voided
    ]


def test_a_note_to_what_somebody_else_recorded_meanwhile(house: House) -> None:
    """It is kept with the entry, which stays that of whoever did it; sent twice it is there once."""
    his, hers = house.tick(), forms(house.page(house.noor), "reading")[0]
    sealed = {name: hers.fields[name] for name in ("day", "seen", "seal")}
    her_tick = Form(f"{page_path(house.noor)}/done", {**his.fields, **sealed})
    assert house.send(his, note="all ate").status == 303
    assert house.send(her_tick, note="swollen eye").status == 303
    assert standing(house) == [(TODAY, "sam", "all ate | Noor: swollen eye")]
    for form, note in ((her_tick, "swollen eye"), (his, "all ate"), (his, "")):
        assert house.send(form, note=note).status == 303
    assert standing(house) == [(TODAY, "sam", "all ate | Noor: swollen eye")]
    # It is done once: whoever did it has the minutes once, and one taking back takes it back.
    assert house.recorded() == 1
    (undo,) = forms(house.page(house.sam).partition('id="others"')[0], "undo")
    house.send(undo)
    assert house.recorded() == 0
    assert "brush the pane" in house.page().partition('id="done"')[0]


def test_notes_of_many_at_once(house: House) -> None:
    form = house.tick()
    notes = [f"note number {n}" for n in range(5)]
    assert set(at_once([lambda n=n: house.send(form, note=n) for n in notes])) == {303}  # type: ignore[misc]
    ((_, _, note),) = standing(house)
    assert sorted(note.split(" | ")) == notes


def test_a_note_to_what_was_recorded_for_yesterday(house: House) -> None:
    form = house.tick()
    pondround(
        house.file.parent, "did", house.file.name, "sedge", "pane",
        "--on", "2026-12-13", "--by", "Noor", "--today", TODAY,
    )  # fmt: skip
    for each in (form, house.tick()):
        assert house.send(each, on="yesterday", note="swollen eye").status == 303
        assert standing(house) == [("2026-12-13", "noor", "Sam: swollen eye")]


def test_yesterday_is_recorded_also_where_somebody_recorded_today(house: House) -> None:
    form = house.tick()
    assert house.send(form).status == 303
    assert house.send(form, on="yesterday", note="late").status == 303
    assert standing(house) == [(TODAY, "sam", ""), ("2026-12-13", "sam", "late")]


def test_a_note_to_what_was_taken_back(house: House) -> None:
    """There is nothing with which it could be kept: that is said, with the note, and nothing is recorded."""
    form = house.tick()
    house.send(form)
    (undo,) = forms(house.page(), "undo")
    house.send(undo)
    answer = house.send(form, note="<b>swollen</b> eye")
    assert answer.status == 409
    assert "Nothing was recorded, and your note neither" in answer.text
    assert "Your note was not recorded: “<bdi>&lt;b&gt;swollen&lt;/b&gt; eye</bdi>”" in answer.text
    assert house.recorded() == 0
    # Without a note there is nothing to lose.
    assert "taken back since the page was made" in followed(house, house.send(form))


def test_a_note_of_another_day_and_one_that_is_refused(still: House) -> None:
    form = still.tick()
    old = {"day": "2026-12-13", "seal": seal(still, still.sam, "2026-12-13", form.fields["seen"])}
    for changed, status in ((old, 409), ({"key": "no-such-job"}, 422)):
        answer = still.send(form, **changed, note="swollen eye")
        assert answer.status == status
        assert "Your note was not recorded: “<bdi>swollen eye</bdi>”" in answer.text
    assert still.entries() == []


def test_yesterday(house: House) -> None:
    assert house.send(house.tick(), on="yesterday").status == 303
    (entry,) = house.entries()
    assert str(entry.day) == "2026-12-13"
    # Nothing else is a day of the page's: it counts as today.
    assert house.send(house.tick("daily-look"), on="2020-01-01").status == 303
    assert [str(e.day) for e in house.entries() if e.name == "daily-look"] == [TODAY]


@pytest.mark.parametrize(
    "body", [b"", b"&&&", b"a", b"%", b"a=%ff", b"\xff\xfe=1", b"a=1&" * 30 + b"b=2", b"a=1;b=2"]
)
def test_what_is_no_form(still: House, body: bytes) -> None:
    fields = {"Content-Type": "application/x-www-form-urlencoded"}
    for part in ("done", "readings", "note", "catch-up", "hand-over"):
        answer = ask(still.url, f"{page_path(still.sam)}/{part}", "POST", body, fields)
        assert answer.status == 400
    assert still.entries() == []


def undo_form(house: House, number: str) -> Form:
    """Return a form with the page's own seal that takes back an entry of any number."""
    fields = next(form.fields for form in forms(house.page(), "reading") if "seal" in form.fields)
    sealed = {name: fields[name] for name in ("day", "seen", "seal")}
    return Form(f"{page_path(house.sam)}/undo", {**sealed, "entry": number})


def test_what_may_be_taken_back(house: House, houses: dict[str, House]) -> None:
    """What stands on the page: recorded for today or yesterday, also by somebody else."""
    house.send(house.tick("daily-look"))
    old, by_noor = (
        ("rush", "daily-look", "--on", "2026-12-11", "--by", "Sam"),
        ("rush", "daily-look", "--on", "2026-12-13", "--by", "Noor"),
    )
    for words, day in ((old, "2026-12-11"), (by_noor, TODAY)):
        pondround(house.file.parent, "did", house.file.name, *words, "--today", day)
    look, older, hers = house.entries()
    for number, status in (
        (str(older.number), 422),
        ("999999", 422),
        ("0", 422),
        ("-1", 400),
        ("", 400),
        ("1" * 16, 400),
        ("9" * 15, 422),
        ("²", 400),
        ("٩٩٩٩", 422),
        ("1 OR 1=1", 400),
    ):
        assert house.send(undo_form(house, number)).status == status, number
    assert not any(e.voided for e in house.entries())
    # An entry of another site is none of this one's, whatever its number.
    other = houses["hostile"]
    assert other.send(undo_form(other, str(look.number))).status == 422
    # What somebody else recorded is asked about first: who, what and when.
    asked = house.send(undo_form(house, str(hers.number)))
    assert asked.status == 409
    assert "<bdi>Rush</bdi>: <bdi>daily look</bdi>" in asked.text
    assert "by <bdi>Noor</bdi> for Sunday 13 December 2026" in asked.text
    assert not any(e.voided for e in house.entries())
    (anyway,) = forms(asked.text, "undo")
    assert house.send(anyway).status == 303
    for entry in (hers, look):
        assert house.send(undo_form(house, str(entry.number))).status == 303
        # Once more changes nothing; and what takes back is not taken back itself.
        assert house.send(undo_form(house, str(entry.number))).status == 303
    everything = house.entries()
    assert [e.number for e in everything if e.voided] == [look.number, hers.number]
    taking = [e for e in everything if e.kind == "void"]
    assert len(taking) == 2 and {e.keeper for e in taking} == {"sam"}
    assert house.send(undo_form(house, str(taking[0].number))).status == 422


# --- readings ---


def reading(house: House, **fields: str) -> Answer:
    (form,) = forms(house.page(), "reading")
    return house.send(form, **{"enclosure": "sedge", **fields})


def followed(house: House, answer: Answer) -> str:
    """Return the page to which an answer leads."""
    assert answer.status == 303
    page = ask(house.url, answer["Location"].partition("#")[0])
    assert page.status == 200
    return page.text


def test_a_reading_is_answered_by_the_way_to_what_follows(house: House) -> None:
    """A reload asks for that page again and sends nothing (RFC 9110, section 15.4.4); it says the same each time."""
    answer = reading(house, reading="nitrite", value="2 mg/L")
    pages = [followed(house, answer) for _ in range(2)]
    assert pages[0] == pages[1]
    assert "<h1>What follows</h1>" in pages[0]
    assert "Nitrite was taken as mg/L of N" in pages[0]
    (entry,) = house.entries()
    (undo,) = [form for form in forms(house.page(), "undo") if form.fields["entry"] == str(entry.number)]
    house.send(undo)
    assert "no such reading of today or yesterday any more" in followed(house, answer)
    for wrong in ("", "x", "0", "9" * 16, "999999"):
        assert ask(house.url, f"{page_path(house.sam)}/recorded?entry={wrong}").status in (200, 404)


def test_a_reading_that_looks_mistyped_is_asked_about(house: House) -> None:
    assert reading(house, reading="temperature", value="24 degC").status == 303
    answer = reading(house, reading="temperature", value="42 degC")
    assert answer.status == 422
    assert [e.value for e in house.entries()] == [24]
    (sure,) = forms(answer.text, "reading")
    assert sure.fields["sure"] == "yes" and sure.fields["value"] == "42 degC"
    assert "42 °C" in followed(house, house.send(sure))
    # Sent again it is known.
    assert "42 °C" in followed(house, house.send(sure))
    assert [e.value for e in house.entries()] == [24, 42]


def test_a_reading_that_was_taken_back_does_not_come_back_by_itself(house: House) -> None:
    """Its form is sent again by a browser that is reloaded, or comes back to it."""
    (form,) = forms(house.page(), "reading")
    typed = {"enclosure": "sedge", "reading": "ph", "value": "7.4"}
    assert house.send(form, **typed).status == 303
    (undo,) = forms(house.page(), "undo")
    assert house.send(undo).status == 303
    for _ in range(2):
        page = followed(house, house.send(form, **typed))
        assert "recorded and taken back since the page was made" in page
    assert [e.voided for e in house.entries() if e.kind == "reading"] == [True]
    # Another value, or a form of the page as it is now, is another matter.
    assert house.send(form, **{**typed, "value": "7.5"}).status == 303
    (new,) = forms(house.page(), "reading")
    assert house.send(new, **typed).status == 303
    assert [(e.value, e.voided) for e in house.entries() if e.kind == "reading"] == [
        (7.4, True),
        (7.5, False),
        (7.4, False),
    ]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        (
            {"reading": "temperature", "value": "24"},
            "Temperature: found &#34;24&#34; without a unit; write &#34;24 °C&#34; or &#34;24 °F&#34;. Nothing was recorded.",
        ),
        (
            {"reading": "ph", "value": "seven"},
            "Ph: found &#34;seven&#34;, expected a number without a unit; write 7.4. Nothing was recorded.",
        ),
        (
            {"reading": "temperature", "value": "-30 degC"},
            "Temperature: found &#34;-30 °C&#34;, which cannot be; expected -2 to 60 °C; write &#34;25 °C&#34;. Nothing was recorded.",
        ),
    ],
)
def test_what_is_wrong_with_a_reading_is_said_for_a_page(
    still: House, fields: dict[str, str], said: str
) -> None:
    assert said in reading(still, **fields).text


@pytest.mark.parametrize(
    "fields",
    [
        {"reading": "temperature", "value": ""},
        {"reading": "temperature", "value": "warm"},
        {"reading": "temperature", "value": "nan degC"},
        {"reading": "temperature", "value": "1e999 degC"},
        {"reading": "temperature", "value": "24 mg/L"},
        {"reading": "temperature", "value": "-300 degC"},
        {"reading": "temperature", "value": "24 degC" + "0" * 5000},
        {"reading": "temperature", "value": "9**9**9**9 degC"},
        {"reading": "__class__", "value": "24 degC"},
        {"reading": "", "value": "24 degC"},
        {"reading": "temperature", "value": "24 degC", "enclosure": "no-such-tank"},
        {"reading": "temperature", "value": "24 degC", "whose": "Moss"},
        {"reading": "weight", "value": "300 g"},
        {"reading": "weight", "value": "300 g", "whose": "nobody"},
        # What somebody wrote is told back, and does not say what became of it.
        {"reading": "weight", "value": "300 g", "whose": "nothing was found"},
        {"reading": "temperature", "value": "24 degC\x00"},
    ],
)
def test_a_reading_that_is_refused(still: House, fields: dict[str, str]) -> None:
    answer = reading(still, **fields)
    assert answer.status == 422
    assert answer.text.count("Nothing was recorded.") + answer.text.count("Nothing is recorded yet.") == 1
    assert still.entries() == []


# --- handing over ---


def hand_over(house: House, key: str = "pane") -> Form:
    (form,) = [
        f
        for f in forms(house.page(), "hand-over")
        if (f.fields["key"], f.fields["enclosure"]) == (key, "sedge")
    ]
    return form


def test_a_job_is_handed_over(house: House) -> None:
    form = hand_over(house)
    assert form.choices == {"to": ["noor"]}
    assert house.send(form).status == 303
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]
    assert "brush the pane" not in house.page(house.sam).partition('id="week"')[0]
    # Sent again, it is not his to give any more.
    answer = house.send(form)
    assert answer.status in (303, 422)
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]


def test_what_was_handed_back_does_not_change_hands_by_itself(house: House) -> None:
    form = hand_over(house)
    assert house.send(form).status == 303
    (back,) = [f for f in forms(house.page(house.noor), "hand-over") if f.fields["key"] == "pane"]
    assert house.send(back).status == 303
    for _ in range(2):
        assert "This has changed hands since the page was made" in followed(house, house.send(form))
        assert "brush the pane" in house.page(house.sam).partition('id="done"')[0]
        assert "brush the pane" not in house.page(house.noor).partition('id="done"')[0]
    # From the page as it is now it is another matter.
    assert house.send(hand_over(house)).status == 303
    assert "brush the pane" in house.page(house.noor).partition('id="done"')[0]


@pytest.mark.parametrize(
    "changed",
    [
        {"to": "sam"},
        {"to": "ghost"},
        {"to": ""},
        {"to": None},
        {"to": "Noor"},
        {"key": "no-such"},
        {"enclosure": "gone"},
    ],
)
def test_a_job_that_cannot_be_handed_over(still: House, changed: dict[str, str | None]) -> None:
    form = hand_over(still)
    answer = still.send(form, **changed)
    assert answer.status == 422
    assert "brush the pane" in still.page(still.sam).partition('id="done"')[0]


def test_nobody_takes_over_who_is_not_there(houses: dict[str, House]) -> None:
    house = houses["away"]
    assert forms(house.page(), "hand-over") == []
    tick = house.tick()
    form = Form(f"{page_path(house.sam)}/hand-over", {**tick.fields, "to": "noor"})
    answer = house.send(form)
    assert answer.status == 422 and "who are there today" in answer.text
    assert "brush the pane" in house.page().partition('id="done"')[0]


def test_a_keeper_who_left(house: House) -> None:
    """Whoever is no longer described has no page any more; the others go on."""
    form = house.tick()
    write(house.file, house.file.read_text().replace('[[keeper]]\nname = "Sam"\n', ""))
    assert ask(house.url, page_path(house.sam)).status == 404
    assert house.send(form).status == 404
    assert ask(house.url, page_path(house.noor)).status == 200
    assert house.entries() == []


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
