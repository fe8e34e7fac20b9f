"""Each page is for everybody: by a checker, by screen reader, on narrow screens, with large text, under a finger."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from support.web.browsing import Browser
from support.web.for_everybody import (
    can_be_met,
    checked,
    fits,
    sees_nothing_wrong,
    speaks_well,
    tree,
    unfold_all,
)
from support.web.places import IMAGE, LONG, Place

pytestmark = pytest.mark.browser

Take = Callable[[], Place]
Special = dict[str, Place]
Reach = Callable[[Browser, Take, Special], None]


def all_done(browser: Browser, take: Take, special: Special) -> None:
    browser.open(take().pages["Noor"])
    browser.go(browser.button("Done", browser.job("pump")))
    assert browser.recorded()


def start_reading(browser: Browser) -> None:
    browser.unfold("Record a reading", browser.one("#reading"))
    browser.choose("#r-name", "water temperature")


def refused(browser: Browser, take: Take, special: Special) -> None:
    browser.open(special["still"].pages["Noor"])
    start_reading(browser)
    browser.one("#r-value").send_keys("25")
    browser.go(browser.button("Record"))
    assert browser.said


def doubt(browser: Browser, take: Take, special: Special) -> None:
    browser.open(take().pages["Noor"])
    start_reading(browser)
    browser.one("#r-value").send_keys("41 °C")
    browser.go(browser.button("Record"))
    assert browser.one("h1").text == "Is it right?"


def follows(browser: Browser, take: Take, special: Special) -> None:
    doubt(browser, take, special)
    browser.go(browser.button("It is right"))
    assert browser.one("h1").text == "What follows"


def alarm(browser: Browser, take: Take, special: Special) -> None:
    follows(browser, take, special)
    browser.go(browser.one("main a"))
    assert browser.all(".alarm")


def sign(browser: Browser, take: Take, special: Special) -> None:
    """Two taps lead there and one records it, without a script: it is in the page as an alarm."""
    browser.open(take().pages["Noor"])
    browser.unfold("A sign of illness", browser.one("#sign"))
    browser.go(browser.button("gasping", browser.one("#sign")))
    assert browser.one("h1").text == "What follows"
    browser.go(browser.one("main a"))
    assert [one.text for one in browser.all(".alarm h2")] == ["Sedge: Call the vet at once about Fern"]


def wrong_values(browser: Browser, take: Take, special: Special) -> None:
    browser.open(special["tested"].pages["-"])
    browser.all(".values input[inputmode=decimal]")[0].send_keys("a lot")
    browser.go(browser.one(".values button"))
    assert browser.all("[aria-invalid=true]")


def broken(browser: Browser, take: Take, special: Special) -> None:
    place = take()
    text = place.file.read_text("utf-8")
    place.file.write_text(text.replace('kind = "canister"', 'kind = "bucket"'), "utf-8")
    browser.open(place.pages["Ben"])
    assert "has a mistake since it was last changed" in browser.said
    assert "Tell Maud, in the office: enclosure[0].filter.kind:" in browser.said
    assert browser.jobs(), "the plan from before goes on"


def page_of(name: str, keeper: str, part: str = "") -> Reach:
    return lambda browser, _, special: browser.open(special[name].pages[keeper] + part)


def guide(part: str) -> Reach:
    """A page of the guide, which is beside every round."""

    def reach(browser: Browser, _: Take, special: Special) -> None:
        round_, _, _ = special["still"].pages["Ben"].partition("/round/")
        browser.open(f"{round_}/guide{part}")

    return reach


PAGES: dict[str, Reach] = {
    "round": page_of("still", "Ben"),
    "calendar": page_of("still", "Ben", "/calendar"),
    "words": page_of("still", "Ben", "/words"),
    "the guide": guide(""),
    "a page of the guide that is hand-written": guide("/describe"),
    "a page of the guide that is made": guide("/keys"),
    "a page of the guide with code": guide("/json"),
    "all jobs of a tank": page_of("still", "Ben", "/jobs?tank=sedge"),
    "alarm": alarm,
    "a sign of illness": sign,
    "hand over": page_of("still", "Noor", "/give"),
    "backlog": page_of("still", "Noor", "/backlog"),
    "the same job": page_of("many", "-", "/same?key=job-1"),
    "values that are not right": wrong_values,
    "all done": all_done,
    "refused": refused,
    "doubt": doubt,
    "what follows": follows,
    "broken description": broken,
    "nothing due": page_of("idle", "-"),
    "a hundred and twenty jobs": page_of("many", "-"),
    "odd names": page_of("odd", "سلمى"),
    "odd names, the other": page_of("odd", LONG),
    "names like scripts": page_of("hostile", IMAGE),
}


def test_the_checker_would_find_something(browser: Browser, still: Place, axe: str) -> None:
    browser.scripts(on=True)
    browser.open(still.pages["Ben"])
    browser.js(axe)
    unfold_all(browser)
    browser.js("""
        document.querySelector('label[for=r-value]').remove();
        document.querySelector('.min').style.color = '#ccc';
        document.querySelector('.tank h2').outerHTML = '<h5>Sedge</h5>';
        document.querySelector('.tick .done').style.cssText = 'min-height: 0; height: 12px; min-width: 0; padding: 0';
    """)
    assert {rule["id"] for rule in checked(browser)["violations"]} >= {
        "label",
        "color-contrast",
        "heading-order",
    }


def test_what_was_refused_is_told_first_and_at_its_field(
    browser: Browser, take: Take, special: Special
) -> None:
    refused(browser, take, special)
    roles = [role for role, _, _ in tree(browser)]
    assert roles.count("alert") == 1
    assert roles.index("main") < roles.index("alert") < roles.index("region")
    field = browser.one("#r-value")
    assert field.get_attribute("aria-invalid") == "true"
    assert browser.one(f"#{field.get_attribute('aria-describedby')}").text == browser.said


@pytest.mark.parametrize("reach", PAGES.values(), ids=PAGES)
def test_a_page_is_for_everybody(
    browser: Browser, take: Take, special: Special, axe: str, reach: Reach
) -> None:
    # The checker waits with timers, which are scripts of the page to the browser.
    browser.scripts(on=True)
    reach(browser, take, special)
    browser.js(axe)
    unfold_all(browser)
    speaks_well(browser)
    fits(browser)
    can_be_met(browser)
    sees_nothing_wrong(browser)
