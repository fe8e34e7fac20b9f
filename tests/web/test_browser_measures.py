"""How far a wet hand has to go: the samples' pages at 360 by 800, measured in Chromium, and read as a screen reader reads them.

The limits are this project's own (house values): a phone's screen without scrolling, and what one thumb reaches.
"""

from __future__ import annotations

import base64
import json
import math
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from support.web.browsing import Browser
from support.web.for_everybody import tree
from support.web.serving import make_link, pondround, serving

pytestmark = pytest.mark.browser

SAMPLES = Path(__file__).parents[2] / "sample_configs"
THURSDAY = "2026-12-17"
SCREEN = (360, 800)
FIRST_TOUCH = "return document.querySelector('.done, .values input:not([type=hidden]), .record summary')?.getBoundingClientRect().bottom + scrollY"
"""What a finger does first: tick a job, or give its first value."""

THIRD_TANK = "return document.querySelectorAll('.tank')[2]?.getBoundingClientRect().top + scrollY || 0"


@dataclass(frozen=True)
class Thursday:
    """The samples as they are served on a Thursday, with the pages of all who come that day (one: the tank's)."""

    folder: Path
    pages: dict[str, str]
    jobs: dict[str, int]

    def with_most(self) -> str:
        """Return the page of who has most jobs."""
        return self.pages[max(self.jobs, key=lambda who: self.jobs[who])]


@pytest.fixture(scope="module")
def thursday(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Thursday]:
    folder = tmp_path_factory.mktemp("samples")
    for name in ("rescue.toml", "one-tank.toml"):
        shutil.copy(SAMPLES / name, folder / name)
    rota = pondround(folder, "rota", "rescue.toml", "--today", THURSDAY, "--publish", "--format", "json")
    jobs = {r["keeper"]: len(r["jobs"]) for r in json.loads(rota)["rounds"] if r["date"] == THURSDAY}
    pages = {who: make_link(folder / "rescue.toml", "--page", who)["page"] for who in jobs}
    pages["one"] = make_link(folder / "one-tank.toml", "--page", "-")["page"]
    with serving(folder, folder / "rescue.toml", folder / "one-tank.toml", today=THURSDAY) as server:
        yield Thursday(folder, {who: server.url + urlsplit(page).path for who, page in pages.items()}, jobs)


def test_the_first_work_is_on_the_first_screen(browser: Browser, thursday: Thursday) -> None:
    browser.look(SCREEN)
    assert len(thursday.pages) > 3
    third = 0
    for who, page in thursday.pages.items():
        browser.open(page)
        assert browser.js(FIRST_TOUCH) < 500, who
        # Where nothing is measured, which takes a field for each value.
        if who != "one" and not browser.all(".values"):
            assert browser.js(THIRD_TANK) < 1_000, who
            third += 1
        browser.js("document.documentElement.style.fontSize = '200%'")
        # What is measured has its words before its first field.
        assert browser.js(FIRST_TOUCH) < 1_100, who
    assert third > 0


def test_a_round_read_aloud(browser: Browser, thursday: Thursday) -> None:
    """Of each job the tank, what it is, how much, and Done, in that order."""
    browser.open(thursday.pages["Bronwen"])
    told = [(role, name) for role, name, _ in tree(browser)]
    roles = {"heading", "DisclosureTriangle", "button"}
    lines = [name for role, name in told if role in roles]
    done = [n for n, name in enumerate(lines) if name.startswith("Done ")]
    # What is measured has a form of its own.
    assert 3 < len(done) <= thursday.jobs["Bronwen"]
    for n in done:
        tank, _, job = lines[n].removeprefix("Done ").partition(": ")
        how, what = lines[n - 2 : n]
        assert tank in lines[:n]
        assert what.casefold().startswith(job.casefold()) and what.endswith(" min")
        assert how.casefold() == f"{what} how {job}, {tank}".casefold()


def test_a_long_round_is_few_printed_pages(browser: Browser, thursday: Thursday) -> None:
    """Five jobs or more on a page of paper."""
    browser.look(SCREEN)
    browser.open(thursday.with_most())
    jobs = len(browser.jobs())
    assert jobs > 9
    paper = base64.b64decode(browser.cdp("Page.printToPDF", paperWidth=8.27, paperHeight=11.69)["data"])
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) <= math.ceil(jobs / 5)


def plain_round(browser: Browser, thursday: Thursday) -> str:
    """Return the page of the longest round in which nothing is measured."""
    found = {}
    for who, page in thursday.pages.items():
        browser.open(page)
        if who != "one" and not browser.all(".values"):
            found[len(browser.jobs())] = page
    return found[max(found)]


def test_a_whole_round_is_ticked_within_eight_screens(browser: Browser, thursday: Thursday) -> None:
    """Each tick leads to where the next one is: what has to be scrolled is counted, from where the page stands."""
    browser.look(SCREEN)
    browser.open(plain_round(browser, thursday))
    ticks, scrolled = 0, 0.0
    way = """
        const r = arguments[0].getBoundingClientRect(), bar = document.querySelector('.bar').getBoundingClientRect().bottom;
        return r.bottom > innerHeight ? r.bottom - innerHeight : r.top < bar ? bar - r.top : 0;
    """
    while found := browser.all(".done"):
        # What was recorded is in view, with its taking back, and so is the next work.
        if ticks:
            line = browser.one(".gone:target")
            assert browser.js(way, line) == 0 and browser.js(way, browser.one(".back button", line)) == 0
            assert browser.js("return document.activeElement === arguments[0]", line)
        below = [e for e in found if browser.js("return arguments[0].getBoundingClientRect().top", e) > 0]
        button = (below or found)[0]
        far = browser.js(way, button)
        assert far < SCREEN[1]
        scrolled += far
        ticks += 1
        browser.leave(lambda button=button: browser.js("arguments[0].click()", button))  # type: ignore[misc]
    assert ticks >= 11
    assert scrolled < 8 * SCREEN[1]
    assert browser.one(".left").text == "nothing left"


def test_a_water_test_of_four_values_is_six_taps(browser: Browser, tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "one-tank.toml", tmp_path)
    page = make_link(tmp_path / "one-tank.toml", "--page", "-")["page"]
    with serving(tmp_path, today="2026-12-18") as server:
        browser.look(SCREEN)
        browser.open(server.url + urlsplit(page).path)
        form, taps = browser.one(".values"), 0
        # Nothing is chosen or filled in beforehand.
        assert [e for e in browser.all("input:not([type=hidden])", form) if e.get_property("checked")] == []
        fields = browser.all("input[inputmode=decimal]", form)
        browser.all("input[value=ion]", form)[0].click()
        taps += 1
        for field, value in zip(fields[:4], ("0", "0", "31,5", "7.4"), strict=True):
            assert field.get_property("value") == ""
            field.click()
            field.send_keys(value)
            taps += 1
        browser.go(browser.one("button", form))
        assert taps + 1 == 6
        assert browser.one("h1").text == "What follows"
        log = pondround(tmp_path, "history", "one-tank.toml", "--format", "json")
        kept = {e["name"]: e["value"] for e in map(json.loads, log.splitlines()) if e["kind"] == "reading"}
        assert kept == {"ammonia": 0.0, "nitrite": 0.0, "nitrate": 31.5, "ph": 7.4}
        browser.go(browser.one("main a"))
        assert not any("water test" in job for job in browser.jobs())
        # The focus is at what was recorded last, with the next work below.
        assert browser.js("return document.activeElement.matches('.gone:target')")


def test_an_alarm_stands_first_for_everybody_until_it_is_met(browser: Browser, thursday: Thursday) -> None:
    folder, pages = thursday.folder, thursday.pages
    two = sorted(thursday.jobs)[:2]
    pondround(
        folder, "reading", "rescue.toml", "Bulrush", "temperature=33 degC", "--by", "Percival", "--today", THURSDAY
    )  # fmt: skip
    browser.look(SCREEN)
    for who in two:
        browser.open(pages[who])
        assert browser.jobs()[0] == "Bulrush: heater check: water too warm"
        first = browser.one(".alarm")
        assert browser.told(first, "h2") == "Bulrush: Unplug the heater now"
        assert browser.js("return arguments[0].getBoundingClientRect().bottom", first) < 500
        # It is not said twice: the plain check of that tank is met by it.
        assert sum("Bulrush: heater check" in job for job in browser.jobs()) == 1
        browser.js("document.documentElement.style.fontSize = '200%'")
        assert browser.js(FIRST_TOUCH) < 1_000
    # Whoever is there does it, and then nobody is told any more.
    browser.open(pages[two[0]])
    browser.go(browser.one(".done", browser.one(".alarm")))
    for who in two:
        browser.open(pages[who])
        assert browser.all(".alarm") == []
