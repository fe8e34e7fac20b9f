"""The pages by keyboard alone; numbers like 2.4.7 are success criteria of WCAG 2.2."""

from __future__ import annotations

from itertools import pairwise

import pytest
from selenium.webdriver.common.keys import Keys
from support.web.browsing import DESKTOP, PHONE, Browser
from support.web.for_everybody import contrast, unfold_all
from support.web.places import Place

pytestmark = pytest.mark.browser

FOCUSED = """
const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e);
return {name: e.tagName.toLowerCase(), top: r.top + scrollY, left: r.left, width: r.width, height: r.height,
        style: s.outlineStyle, wide: parseFloat(s.outlineWidth), colour: s.outlineColor,
        seen: r.bottom > 0 && r.top < innerHeight, paper: getComputedStyle(document.body).backgroundColor,
        index: [...document.querySelectorAll('*')].indexOf(e)};
"""

REACHABLE = """
return [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary')]
  .filter(e => e.checkVisibility({contentVisibilityAuto: true, visibilityProperty: true}))
  .map(e => [...document.querySelectorAll('*')].indexOf(e));
"""


@pytest.mark.parametrize(("size", "theme"), [(PHONE, "light"), (DESKTOP, "dark")], ids=["phone", "desktop"])
def test_the_keyboard_reaches_all_in_order_and_shows_where_it_is(
    browser: Browser, still: Place, size: tuple[int, int], theme: str
) -> None:
    browser.look(size, theme)
    browser.open(still.pages["Ben"])
    unfold_all(browser)
    steps = []
    for _ in range(100):
        browser.tab()
        now = browser.js(FOCUSED)
        if now["name"] == "body":
            break
        steps.append(now)
    # 2.1.1 and 2.4.3: everything, once, in the order of the page.
    assert [now["index"] for now in steps] == browser.js(REACHABLE)
    tops = [now["top"] for now in steps]
    assert all(after >= before - 30 for before, after in pairwise(tops[1:])), tops
    for now in steps:
        # 2.4.7, 2.4.11, 1.4.11: a line around it that can be told from the paper, on the screen.
        assert now["style"] == "solid" and now["wide"] >= 2, now
        assert contrast(now["colour"], now["paper"]) >= 3, now
        assert now["seen"] and now["width"] > 0 and now["height"] > 0, now


def focus_on(browser: Browser, name: str) -> None:
    """Press Tab until something of this name has the focus."""
    for _ in range(100):
        browser.tab()
        if browser.driver.switch_to.active_element.accessible_name.startswith(name):
            return
    raise AssertionError(f"Tab never comes to {name}")


def test_the_skip_link_leads_past_the_head(browser: Browser, still: Place) -> None:
    browser.open(still.pages["Ben"])
    browser.tab()
    link = browser.driver.switch_to.active_element
    assert link.text == "To the work" and link.is_displayed()
    assert link.rect["x"] >= 0
    browser.press(Keys.ENTER)
    browser.tab()
    assert browser.js("return document.querySelector('main').contains(document.activeElement)")


def test_a_round_is_done_by_keyboard_alone(browser: Browser, place: Place) -> None:
    def turn(key: str) -> None:
        """Press what leads to another page."""
        browser.leave(lambda: browser.press(key))

    browser.open(place.pages["Noor"])
    # A note, sent with Enter from its field.
    focus_on(browser, "Rinse the pump 5 min")
    browser.press(Keys.ENTER)
    focus_on(browser, "Note Sedge: rinse the pump")
    browser.press("clogged")
    turn(Keys.ENTER)
    assert browser.recorded() == ["Sedge: rinse the pump, done. “clogged”"]
    # The focus is where that is said: one Tab on it is taken back with Space, and is where it is open again.
    assert browser.fresh().startswith("rinse the pump, done. “clogged” take back")
    browser.tab()
    assert browser.driver.switch_to.active_element.accessible_name.startswith(
        "take back Sedge: rinse the pump"
    )
    turn(Keys.SPACE)
    assert browser.recorded() == []
    assert browser.fresh() == "Taken back: rinse the pump is open again."
    browser.tab()
    assert browser.driver.switch_to.active_element.accessible_name.startswith("Rinse the pump")
    browser.tab()
    assert browser.driver.switch_to.active_element.accessible_name == "Done Sedge: rinse the pump"
    turn(Keys.SPACE)
    assert browser.recorded() == ["Sedge: rinse the pump, done"]
    # A reading: a list is chosen from by its first letters.
    focus_on(browser, "Record a reading")
    browser.press(Keys.ENTER)
    focus_on(browser, "What was measured")
    browser.press("n", "i", "t", "r", "a")
    focus_on(browser, "Value, with its unit")
    browser.press("20 mg/L")
    turn(Keys.ENTER)
    assert browser.all(".follows p")[0].text == "Sedge: nitrate: 20 mg/L by Noor on 14 December 2026."
    focus_on(browser, "Back to the round")
    turn(Keys.ENTER)
    # Whoever has it hands a job over to the other.
    giver, taker = place.pages["Ben"], place.pages["Noor"]
    browser.open(giver)
    if not any("pane" in job for job in browser.jobs()):
        giver, taker = taker, giver
        browser.open(giver)
    focus_on(browser, "note, hand over at Sedge")
    browser.press(Keys.SPACE)
    focus_on(browser, "Hand over now Sedge: brush the pane")
    turn(Keys.ENTER)
    assert not any("pane" in job for job in browser.jobs())
    browser.open(taker)
    assert "Sedge: brush the pane" in browser.jobs()
