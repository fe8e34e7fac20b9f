"""The set-up as somebody goes through it who has typed one command: by clicks, by keyboard, onto the phone."""

from __future__ import annotations

import base64
import ipaddress
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlsplit

import icalendar
import pytest
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from support.scanning import scanned
from support.web.browsing import DESKTOP, PHONE, Browser
from support.web.for_everybody import FOCUSED, REACHABLE, contrast
from support.web.http_client import ask
from support.web.serving import serving
from support.web.setting_up import BARE, TYPED
from test_browser_failures import is_for_everybody

from scheduler.workflow import read_site
from scheduler.workflow.setup.network import local_address

pytestmark = pytest.mark.browser


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """Begin a server where nothing is, and return what it prints."""
    with serving(tmp_path, *BARE, env={"TZ": "Europe/Dublin"}) as served:
        yield served.url


def fill(browser: Browser, fields: dict[str, str]) -> None:
    """Type into fields, or choose what begins so."""
    for name, text in fields.items():
        field = browser.one(f"[id='{name}']")
        if field.tag_name == "select":
            (option,) = [o for o in browser.all("option", field) if o.text == text]
            option.click()
        else:
            field.clear()
            field.send_keys(text)


def press(browser: Browser, element: WebElement) -> None:
    """Click on what leads to another page, out from under the line that stays."""
    browser.js("arguments[0].scrollIntoView({block: 'center'})", element)
    browser.go(element)


def on(browser: Browser) -> None:
    press(browser, browser.one("button.main"))


def heading(browser: Browser) -> str:
    return browser.one("h1").text


def picture(browser: Browser, within: str, file: Path) -> Path:
    """Return a picture of the code in a part of the page."""
    code = browser.one(f"{within} svg")
    browser.js("arguments[0].scrollIntoView({block: 'center'})", code)
    file.write_bytes(base64.b64decode(code.screenshot_as_base64))
    return file


TITLES = ("The place", "Units", "The enclosure", "Filter, heater, lamps", "Animals", "Food, and a last look")


@pytest.mark.reader
def test_from_an_empty_folder_onto_the_phone(
    browser: Browser, address: str, tmp_path: Path, axe: str, readers: object
) -> None:
    if not local_address():
        pytest.skip("this machine has no address in a local network")
    browser.look(DESKTOP)
    browser.open(address)
    for step, title in zip(TYPED, TITLES, strict=True):
        assert heading(browser) == title
        fields = dict(TYPED[step])
        if step == "equipment":
            browser.unfold("A second lamp", browser.one("main"))
        fill(browser, fields)
        on(browser)
    assert heading(browser) == "Shall phones in this house reach it?"
    browser.go(browser.button("Yes, let phones in"))
    assert heading(browser) == "On your phones"
    feed = scanned(picture(browser, "[aria-labelledby=calendar]", tmp_path / "calendar.png"))
    sheet = scanned(picture(browser, "[aria-labelledby=sheet]", tmp_path / "sheet.png"))
    for code in (feed, sheet):
        host = ipaddress.ip_address(urlsplit(code).hostname or "")
        assert not host.is_loopback and str(host) == local_address()
    # What a phone does with them: it opens the page, and reads the calendar with a reader of its own.
    browser.open(sheet)
    assert "Mill Lane" in browser.driver.title
    answer = ask(feed.partition("/feeds/")[0], "/feeds/" + feed.partition("/feeds/")[2])
    assert (answer.status, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    calendar = icalendar.Calendar.from_ical(answer.body)
    titles = {str(event["SUMMARY"]) for event in calendar.walk("VEVENT")}
    assert any("Water change" in title for title in titles), titles
    file = tmp_path / "feed.ics"
    file.write_bytes(answer.body)
    starts = (str(event["DTSTART"].dt)[:10] for event in calendar.walk("VEVENT"))
    first = min(starts)
    span = f"{first}T00:00:00Z", f"{int(first[:4]) + 1}{first[4:8]}01T00:00:00Z"
    seen = [
        sorted((one["uid"], one["start"]) for one in read([file], *span))
        for read in (readers.recurring_ical_events, readers.ical_js)  # type: ignore[attr-defined]
    ]
    assert seen[0] == seen[1] and len(seen[0]) > 10
    assert read_site(tmp_path / "enclosures.toml").settings.name == "Mill Lane"


def test_every_step_is_for_everybody(browser: Browser, address: str, axe: str) -> None:
    browser.scripts(on=True)
    browser.open(address)
    for step, fields in TYPED.items():
        if step == "equipment":
            browser.unfold("A second lamp", browser.one("main"))
        fill(browser, fields)
        if browser.all("button[value=again]"):
            press(browser, browser.button("Work it out again"))
        if step == "animals":
            press(browser, browser.button("One more animal"))
        is_for_everybody(browser, axe)
        on(browser)
    is_for_everybody(browser, axe)
    browser.go(browser.button("No, this machine alone"))
    is_for_everybody(browser, axe)


def test_mistakes_and_codes_are_for_everybody(browser: Browser, address: str, axe: str) -> None:
    if not local_address():
        pytest.skip("this machine has no address in a local network")
    browser.scripts(on=True)
    browser.open(address)
    on(browser)
    on(browser)
    fill(browser, {"length": "long", "width": "50", "set_up": "in spring"})
    on(browser)
    assert browser.one("[role=alert] h2").text == "These are not right yet"
    # The first link leads to the first field, which tells what is wrong with it.
    browser.all("[role=alert] a")[0].click()
    field = browser.one("#length")
    assert browser.driver.current_url.endswith("#length")
    told = [browser.one(f"#{name}").text for name in (field.get_attribute("aria-describedby") or "").split()]
    assert told[0].startswith('Found "long", expected a length with its unit')
    assert field.get_attribute("aria-invalid") == "true" and field.get_attribute("value") == "long"
    is_for_everybody(browser, axe)
    fill(browser, {"length": "", "width": "", "set_up": ""})
    holds = browser.one("input[value=holds]")
    browser.js("arguments[0].scrollIntoView({block: 'center'})", holds)
    holds.click()
    fill(browser, {"holds": "240"})
    on(browser)
    is_for_everybody(browser, axe)
    for _ in range(4):
        on(browser)
    browser.go(browser.button("Yes, let phones in"))
    is_for_everybody(browser, axe)


@pytest.mark.parametrize(("size", "theme"), [(PHONE, "light"), (DESKTOP, "dark")], ids=["phone", "desktop"])
def test_the_keyboard_alone_goes_through_a_step(
    browser: Browser, address: str, size: tuple[int, int], theme: str
) -> None:
    browser.look(size, theme)
    browser.open(address)
    on(browser)
    on(browser)
    assert heading(browser) == "The enclosure"
    steps = []
    for _ in range(60):
        browser.tab()
        now = browser.js(FOCUSED)
        if now["name"] == "body":
            break
        steps.append(now)
    # One of several radio buttons is a stop of the keyboard, the others are reached by its arrows.
    others = [e for e in browser.all("input[type=radio]") if not e.is_selected()]
    left_out = [
        browser.js("return [...document.querySelectorAll('*')].indexOf(arguments[0])", e) for e in others
    ]
    assert [now["index"] for now in steps] == [n for n in browser.js(REACHABLE) if n not in left_out]
    assert all(after["top"] >= before["top"] - 30 for before, after in pairwise(steps))
    for now in steps:
        assert now["style"] == "solid" and now["wide"] >= 2 and now["seen"], now
        assert contrast(now["colour"], now["paper"]) >= 3, now
    # Enter in a field goes on, as the first button does.
    browser.one("#length").send_keys("90")
    browser.leave(lambda: browser.press(Keys.ENTER))
    assert heading(browser) == "Filter, heater, lamps"


def test_the_browser_s_own_way_back_shows_what_was_typed(browser: Browser, address: str) -> None:
    browser.open(address)
    fill(browser, {"name": "Alder Yard"})
    on(browser)
    assert heading(browser) == "Units"
    browser.leave(browser.driver.back)
    assert heading(browser) == "The place"
    assert browser.one("#name").get_attribute("value") == "Alder Yard"
    browser.leave(browser.driver.forward)
    browser.leave(browser.driver.refresh)
    assert heading(browser) == "Units"
