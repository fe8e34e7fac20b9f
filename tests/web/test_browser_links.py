"""Where an entry of a calendar leads: to the page, opened at its tank, on every day; and to the whole of a note."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.web.browsing import PHONE, Browser
from support.web.http_client import ask
from support.web.places import NOOR, OFF, TANK, TODAY, Place, site, write
from support.web.serving import serving

from scheduler import care, workflow
from scheduler.calendar import Options
from scheduler.calendar.links import link_of

pytestmark = pytest.mark.browser

WORK = '[{key = "pane", title = "brush the pane", rule = "FREQ=DAILY", minutes = 5}]'
REST = '[{key = "pump", title = "rinse the pump", every = "3 months", minutes = 5, note = "Not by hand."}]'
NIGHT = '[{key = "lamp", title = "see the lamp off", rule = "FREQ=DAILY", minutes = 5, part = "evening"}]'
MARSH = site(
    "Marsh House",
    NOOR,
    *(f'[[enclosure]]\nname = "Tank {n}"\nset_up = 2026-01-05\njob = {{{OFF}}}\nextra_job = {WORK}\n' for n in range(1, 13)),
    f'[[enclosure]]\nname = "Reed"\nid = "reed"\nset_up = 2026-12-01\njob = {{{OFF}}}\nextra_job = {REST}\n',
    f'[[enclosure]]\nname = "Dusk"\nset_up = 2026-01-05\njob = {{{OFF}}}\nextra_job = {NIGHT}\n',
    TANK,
)  # fmt: skip


@pytest.fixture(scope="module")
def marsh(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """Serve twelve tanks with work every day, one with none today, one with work in the evening, and a whole one."""
    folder = tmp_path_factory.mktemp("marsh")
    place = write(folder / "marsh.toml", MARSH, ("Noor",))
    with serving(folder, today=TODAY) as served:
        yield place.at(served)


def open_at(browser: Browser, place: Place, enclosure: str) -> None:
    """Open what an entry of a tank has as its URL."""
    browser.look(PHONE)
    browser.open("about:blank")
    browser.open(link_of(Options(link=place.pages["Noor"]), enclosure))


def in_sight(browser: Browser) -> str:
    """Return the text of the place at which the page was opened, which has to be seen without scrolling."""
    place = browser.one(":target")
    box = browser.js(
        "const b = arguments[0].getBoundingClientRect(); return [b.top, b.height, innerHeight]", place
    )
    assert box[1] > 0, "it is folded away"
    assert 0 <= box[0] < box[2], "it is above or below what is seen"
    return browser.told(place)


def test_the_page_opens_at_the_tank(browser: Browser, marsh: Place) -> None:
    for enclosure in ("tank-1", "tank-12", "sedge"):
        open_at(browser, marsh, enclosure)
        name = enclosure.replace("-", " ").capitalize()
        assert in_sight(browser).startswith(name)
        # Its work can be ticked off there, without another step.
        assert browser.button("Done", browser.all(":target .job .tick")[0])


def test_a_tank_without_work_today_is_there_too(browser: Browser, marsh: Place) -> None:
    open_at(browser, marsh, "reed")
    assert in_sight(browser) == "Reed: nothing here todayAll jobs at Reed"
    browser.go(browser.one(":target a"))
    assert browser.one("h1").text == "Reed: all jobs"
    assert [e.text for e in browser.all(".whole-note h2")] == ["Rinse the pump 5 min"]
    assert [e.text for e in browser.all(".steps li")] == ["Not by hand."]


def test_a_tank_with_work_in_the_evening_alone_leads_on_to_it(browser: Browser, marsh: Place) -> None:
    open_at(browser, marsh, "dusk")
    assert in_sight(browser) == "DuskWork of today at DuskAll jobs at Dusk"
    browser.all(":target a")[0].click()
    assert in_sight(browser).startswith("Dusk")
    assert "see the lamp off" in in_sight(browser)


def test_each_tank_is_one_place_of_the_page(marsh: Place) -> None:
    described = workflow.read_site(marsh.file)
    text = ask(*at(marsh)).text
    for enclosure in described.enclosures:
        assert text.count(f'id="tank-{enclosure.id}"') == 1, enclosure.id


def test_the_jobs_of_a_tank_have_their_whole_notes(browser: Browser, marsh: Place) -> None:
    """Steps, whole cautions, the whole reason, sums and sources: what the note of an entry leaves out stands there."""
    described = workflow.read_site(marsh.file)
    browser.open(marsh.pages["Noor"] + "/jobs?tank=sedge#job-sedge-water-change")
    assert in_sight(browser).startswith("Water change")
    page = " ".join(browser.one("main").text.split())
    (change,) = [job for job in care.jobs(described) if job.word == "water-change"]
    notes = change.notes()
    assert notes.worked and notes.sources
    for said in (*notes.steps, notes.reason, *notes.workings(), *map(str, notes.sources)):
        assert " ".join(said.split()) in page
    for caution in notes.cautions:
        assert caution.text[1:] in page
    browser.go(browser.one("main a.line-link"))
    assert browser.jobs()


def test_there_are_no_jobs_of_a_tank_that_is_not_there(marsh: Place) -> None:
    url, path = at(marsh)
    for tank in ("", "nowhere", "x" * 200, "%3Cb%3E"):
        assert ask(url, f"{path}/jobs?tank={tank}").status == 404


def at(place: Place) -> tuple[str, str]:
    """Return the address of the server, and that of the page on it."""
    url, _, secret = place.pages["Noor"].partition("/round/")
    return url, f"/round/{secret}"
