"""The round page as a person uses it, in Chromium, at the width of a phone and of a desk, without scripts."""

from __future__ import annotations

import datetime as dt
import http.server
import json
import threading
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar, Component
from selenium.webdriver import ActionChains
from selenium.webdriver.common.keys import Keys
from support.web.browsing import DESKTOP, PHONE, Browser, browsing
from support.web.http_client import HANG_SECONDS
from support.web.places import BEN, NOOR, TANK, TODAY, Place, site, write
from support.web.serving import serving
from typer.testing import CliRunner

from scheduler.cli.main import app

pytestmark = pytest.mark.browser

SIZES = pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desktop"])

PUMP = "Sedge: rinse the pump"


def entries(place: Place) -> list[dict[str, Any]]:
    """Return what the log holds and was not taken back, as `pondround history` tells it."""
    result = CliRunner().invoke(app, ["history", str(place.file), "--format", "json"])
    assert result.exit_code == 0, result.stderr
    found = [json.loads(line) for line in result.stdout.splitlines()]
    return [e for e in found if e["kind"] != "void" and not e["voided"]]


def due(place: Place, work: str) -> tuple[dt.date, list[tuple[str, dt.date, str]]]:
    """Fetch the feed of the site; return when a job comes next, and (title, day, what it says) of where it was done."""
    with urllib.request.urlopen(place.calendar, timeout=HANG_SECONDS) as answer:
        events = Calendar.from_ical(answer.read()).walk("VEVENT")
    found = [(str(e["summary"]), day_of(e), str(e["description"])) for e in events]
    done = [one for one in found if one[0] == f"Done: {work}"]
    # A round is named after its rare work.
    return min(day for title, day, _ in found if title == work or title.startswith(f"Noor: {work}")), done


def day_of(event: Component) -> dt.date:
    start = event["dtstart"].dt
    return start.date() if isinstance(start, dt.datetime) else start


def write_reading(browser: Browser, what: str, value: str) -> None:
    if not browser.one("#r-name").is_displayed():
        browser.unfold("Record a reading", browser.one("#reading"))
    browser.choose("#r-name", what)
    field = browser.one("#r-value")
    field.clear()
    field.send_keys(value)
    browser.go(browser.button("Record", browser.one("#reading")))


# --- one keeper ---


@SIZES
def test_a_tick_with_a_note_moves_the_job_and_taking_it_back_brings_it_again(
    browser: Browser, place: Place, size: tuple[int, int]
) -> None:
    browser.look(size)
    assert due(place, "rinse the pump") == (dt.date(2026, 12, 14), [])
    browser.open(place.pages["Noor"])
    before = browser.jobs()
    assert PUMP in before

    job = browser.job("pump")
    browser.open_job(job)
    browser.one("input[name=note]", job).send_keys("Slow on   one side ")
    browser.go(browser.button("Done", job))

    assert browser.jobs() == [job for job in before if job != PUMP]
    assert browser.recorded() == [f"{PUMP}, done. “Slow on one side”"]
    assert browser.driver.current_url.startswith(place.pages["Noor"] + "#entry-")
    assert [(e["name"], e["date"], e["keeper"], e["note"]) for e in entries(place)] == [
        ("pump", TODAY, "noor", "Slow on one side")
    ]
    # Every Monday: the next one is a week later.
    told = "Done on 14 December 2026 by Noor.\n\nSlow on one side"
    assert due(place, "rinse the pump") == (
        dt.date(2026, 12, 21),
        [("Done: rinse the pump", dt.date(2026, 12, 14), told)],
    )

    browser.go(browser.button("take back"))
    assert browser.jobs() == before
    assert browser.recorded() == entries(place) == []
    assert due(place, "rinse the pump") == (dt.date(2026, 12, 14), [])


def test_what_was_done_yesterday_is_recorded_for_yesterday(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"])
    job = browser.job("pump")
    browser.open_job(job)
    browser.choose("select[name=on]", "yesterday", job)
    browser.go(browser.button("Done", job))
    assert browser.recorded() == [f"{PUMP}, done Sun 13 Dec"]
    assert [e["date"] for e in entries(place)] == ["2026-12-13"]


def test_a_job_is_put_off_and_comes_on_that_day(browser: Browser, place: Place) -> None:
    """With a reason, and taken back; Enter in a field of the job is a tick, and puts nothing off."""
    browser.open(place.pages["Noor"])
    before = browser.jobs()
    job = browser.job("pump")
    browser.open_job(job)
    browser.choose("select[name=to]", "Thu 17 Dec", job)
    browser.one("input[name=why]", job).send_keys("no spare gasket")
    browser.go(browser.button("Put off", job))
    # Beyond its window the page says what that costs before anything is recorded.
    assert browser.one("h1").text == "May it wait?" and entries(place) == []
    assert browser.said == "Sedge: 3 days late; it has no window."
    browser.go(browser.button("All the same, put it off"))
    assert browser.jobs() == [one for one in before if one != PUMP]
    assert browser.recorded() == [
        f"{PUMP}, put off from 14 December 2026 to Thursday 17 December 2026. “no spare gasket”"
    ]
    assert due(place, "rinse the pump") == (dt.date(2026, 12, 17), [])
    browser.go(browser.button("take back"))
    assert browser.jobs() == before and browser.recorded() == []
    assert due(place, "rinse the pump") == (dt.date(2026, 12, 14), [])

    job = browser.job("pump")
    browser.open_job(job)
    note = browser.one("input[name=note]", job)
    note.send_keys("clean")
    browser.leave(lambda: note.send_keys(Keys.ENTER))
    assert browser.recorded() == [f"{PUMP}, done. “clean”"]


@SIZES
def test_a_reading_says_what_follows(browser: Browser, place: Place, size: tuple[int, int]) -> None:
    browser.look(size)
    browser.open(place.pages["Noor"])
    write_reading(browser, "nitrate", "90 mg/L")
    assert browser.one("h1").text == "What follows"
    lines = [e.text for e in browser.all(".follows p")]
    assert lines[0] == "Sedge: nitrate: 90 mg/L by Noor on 14 December 2026."
    # The limits are the house's own; that the page says so is what counts here.
    assert any(
        line.startswith("Act: Sedge. Measure nitrate again tomorrow") and "(house value)]" in line
        for line in lines
    )
    assert any(line.startswith("Sedge: water test: ") for line in lines), "a move is told"
    browser.go(browser.one("main a"))
    assert browser.recorded() == ["Sedge: nitrate: 90 mg/L"]
    assert [(e["name"], e["value"], e["unit"]) for e in entries(place)] == [("nitrate", 90.0, "mg/L as NO3")]


def test_a_reading_that_looks_mistyped_is_asked_about_and_then_recorded(
    browser: Browser, place: Place
) -> None:
    browser.open(place.pages["Noor"])
    write_reading(browser, "water temperature", "41 °C")
    assert browser.one("h1").text == "Is it right?"
    assert browser.said == "Water temperature: 41 °C is unlikely; expected 5 °C to 40 °C."
    assert "Sedge: water temperature, written as 41 °C. Nothing is recorded yet." in browser.one("main").text
    assert entries(place) == []
    browser.go(browser.button("It is right"))
    assert browser.one("h1").text == "What follows"
    assert [e["value"] for e in entries(place)] == [41.0]
    # What the reading brings up at once stands first on everybody's page; it is in one round, and no page says that nobody takes it.
    browser.go(browser.one("main a"))
    assert browser.all("#free") == []
    pages = [
        (browser.jobs()[0], browser.told(browser.one(".alarm")))
        for name in place.pages
        if not browser.open(place.pages[name])
    ]
    assert [job for job, _ in pages] == ["Sedge: heater check: water too warm"] * 2
    assert sum("In the round of" in text for _, text in pages) == 1
    assert all("Unplug the heater now" in text for _, text in pages)


REFUSED = [
    # what was measured, what was written, how the page answers, what is written then
    (
        "water temperature",
        "25",
        'Temperature: found "25" without a unit; write "25 °C" or "25 °F".',
        "25 °C",
    ),
    ("weight", "480", 'Weight: found "480" without a unit; write ', "480 g"),
    ("nitrate", "a lot", 'Nitrate: found "a lot"', "20 mg/L"),
]


def test_a_reading_that_cannot_be_read_is_refused_and_waits_to_be_mended(
    browser: Browser, place: Place
) -> None:
    browser.open(place.pages["Noor"])
    for what, value, said, good in REFUSED:
        there = entries(place)
        write_reading(browser, what, value)
        assert browser.said.startswith(said)
        assert "Nothing was recorded." in browser.said
        assert entries(place) == there
        # What was written is there still, and so is what it was of.
        assert browser.one("#r-value").get_property("value") == value
        chosen = browser.js("return document.querySelector('#r-name').selectedOptions[0].text")
        assert chosen.startswith(what)
        browser.one(".said a").click()
        write_reading(browser, what, good)
        assert browser.one("h1").text == "What follows"
        assert len(entries(place)) == len(there) + 1
        browser.go(browser.one("main a"))


def test_back_and_reload_record_nothing_twice(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"])
    browser.go(browser.button("Done", browser.job("pump")))
    browser.driver.back()
    # The page behind is of now, not as it was left.
    assert PUMP not in browser.jobs()
    browser.driver.refresh()
    assert browser.recorded() == [f"{PUMP}, done"]
    write_reading(browser, "nitrate", "20 mg/L")
    # What a reload asks for again is the page of what follows; the address to which the form went leads back to the round.
    told = browser.one("main").text
    browser.leave(browser.driver.refresh)
    assert browser.one("main").text == told
    assert [e["kind"] for e in entries(place)] == ["done", "reading"]
    browser.open(place.pages["Noor"] + "/reading")
    assert browser.driver.current_url == place.pages["Noor"]


def test_a_double_click_records_once(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"])
    button = browser.button("Done", browser.job("pump"))
    # A page that is opened before the form was answered is of before.
    browser.leave(ActionChains(browser.driver, duration=0).double_click(button).perform)
    browser.open(place.pages["Noor"])
    assert browser.recorded() == [f"{PUMP}, done"]
    assert len(entries(place)) == 1


# --- two keepers ---


def givers(browser: Browser, place: Place, title: str) -> tuple[str, str]:
    """Return whose page has a job, and who the other is."""
    found = []
    for name, page in place.pages.items():
        browser.open(page)
        found += [name] if any(title in job for job in browser.jobs()) else []
    assert len(found) == 1, found
    return found[0], next(name for name in place.pages if name not in found)


@SIZES
def test_a_job_that_is_handed_over_stands_on_the_others_page(
    browser: Browser, place: Place, size: tuple[int, int]
) -> None:
    browser.look(size)
    giver, taker = givers(browser, place, "pane")
    browser.open(place.pages[giver])
    job = browser.job("pane")
    browser.hand_over(job, taker)
    assert browser.said == ""
    assert not any("pane" in job for job in browser.jobs())
    browser.open(place.pages[taker])
    assert any("pane" in job for job in browser.jobs())
    with urllib.request.urlopen(place.calendars[taker], timeout=HANG_SECONDS) as answer:
        events = Calendar.from_ical(answer.read()).walk("VEVENT")
    today = [str(e["description"]) for e in events if day_of(e) == dt.date(2026, 12, 14)]
    assert any("brush the pane" in text for text in today)


def test_two_who_tick_one_job_at_once_record_it_once_and_see_each_others(
    browser: Browser, place: Place
) -> None:
    giver, taker = givers(browser, place, "pane")
    browser.open(place.pages[giver])
    with browsing() as second:
        # The page is open in one window while the job goes to the other keeper from a third: both have its button.
        second.open(place.pages[giver])
        job = second.job("pane")
        second.hand_over(job)
        second.open(place.pages[taker])
        with ThreadPoolExecutor(2) as pool:
            ticked = [pool.submit(b.go, b.button("Done", b.job("pane"))) for b in (browser, second)]
            for one in ticked:
                one.result(timeout=HANG_SECONDS)
        assert [e["name"] for e in entries(place)] == ["pane"]
        who = entries(place)[0]["keeper"].title()
        for one in (browser, second):
            assert not any("pane" in job for job in one.jobs())
            assert [line.partition(" by ")[0] for line in one.recorded()] == [
                "Sedge: brush the pane, done"
            ], who


def test_what_one_ticks_the_other_sees(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"])
    browser.go(browser.button("Done", browser.job("pump")))
    browser.open(place.pages["Ben"])
    assert browser.recorded() == [f"{PUMP}, done by Noor"]


# --- a page that is old, and forms from elsewhere ---


def test_a_page_that_was_left_open_over_midnight_refuses_in_words(browser: Browser, tmp_path: Path) -> None:
    place = write(tmp_path / "fen.toml", site("Fen House", NOOR, BEN, TANK), ("Noor", "Ben"))
    with serving(tmp_path, place.file, today=TODAY) as monday:
        port = monday.url.rpartition(":")[2]
        place = place.at(monday)
        giver, taker = givers(browser, place, "daily look")
        browser.open(place.pages["Ben"])
        write_reading(browser, "pH", "7.4")
        browser.open(place.pages["Noor"])
    with serving(tmp_path, place.file, today="2026-12-15", port=port):
        browser.go(browser.button("Done", browser.job("pump")))
        assert browser.said == "This page was of another day, and nothing was changed. This is today's."
        assert browser.told(browser.one("h1 time")) == "Tuesday 15 December 2026"
        assert [e["name"] for e in entries(place)] == ["ph"]
        # What was not done is there still; now that the page is of today it can be.
        job = browser.job("pump")
        assert "due since Mon 14 Dec" in job.text
        browser.go(browser.button("Done", job))
        assert browser.recorded()[0] == f"{PUMP}, done"
        assert [(e["name"], e["date"]) for e in entries(place)] == [("ph", TODAY), ("pump", "2026-12-15")]
        # Also what is left of an earlier day can be handed over, and goes as what it is: due since then.
        browser.open(place.pages[giver])
        job = browser.job("daily look")
        assert "due since Mon 14 Dec" in job.text
        browser.hand_over(job)
        assert not any("daily look" in one for one in browser.jobs())
        browser.open(place.pages[taker])
        job = browser.job("daily look")
        assert "due since Mon 14 Dec" in job.text
        browser.go(browser.button("Done", job))
        assert any("daily look" in one for one in browser.recorded())


@contextmanager
def page_elsewhere(text: str) -> Iterator[int]:
    """Serve one page on a port of its own; another port is another origin (RFC 6454, section 4)."""

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.end_headers()
            self.wfile.write(text.encode())

        def log_message(self, *words: object) -> None:
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def test_a_form_from_another_origin_is_refused(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"])
    # The worst case: whoever made that page knows the address and every field of the form.
    form = browser.js("return document.querySelector('form.tick').outerHTML")
    action = browser.js("return document.querySelector('form.tick').action")
    path = browser.js("return document.querySelector('form.tick').getAttribute('action')")
    form = form.replace(f'action="{path}"', f'action="{action}"')
    # Another port is the same site and another origin; another name is another site. The origin is told, or kept back.
    for host, policy in (("127.0.0.1", "unsafe-url"), ("localhost", "no-referrer")):
        with page_elsewhere(f'<meta name="referrer" content="{policy}">{form}') as port:
            browser.open(f"http://{host}:{port}/")
            browser.go(browser.one(".done"))
            assert browser.driver.current_url == action
            assert browser.said == "This form was sent from another site."
            assert browser.js("return performance.getEntriesByType('navigation')[0].responseStatus") == 403
    assert entries(place) == []
    # The same form from the page itself is taken.
    browser.open(place.pages["Noor"])
    browser.go(browser.button("Done", browser.job("pump")))
    assert [e["name"] for e in entries(place)] == ["pump"]
