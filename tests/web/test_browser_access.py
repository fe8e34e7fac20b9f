"""The pages for everybody: by keyboard alone, by screen reader, on narrow screens, with large text, in dark and light, on paper.

What is asked for is WCAG 2.2 (W3C Recommendation of 12 December 2024), levels A and AA; numbers like 2.5.8 are its
success criteria. axe-core is the checker of an accessibility laboratory, Chromium's own accessibility tree is what a
screen reader is given.
"""

from __future__ import annotations

import base64
import re
from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys
from support.web.browsing import DESKTOP, NARROW, PHONE, TABLET, Browser
from support.web.places import IMAGE, LONG, Place

pytestmark = pytest.mark.browser

LOOKS = [(PHONE, "light", False), (DESKTOP, "dark", False), (TABLET, "light", False), (PHONE, "dark", True)]
"""Widths differ in layout, themes in colours; the last one is of a device that chooses the colours (forced colours)."""

Special = dict[str, Place]


# --- how each page is reached ---

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


def unfold_all(browser: Browser) -> None:
    browser.js("document.querySelectorAll('details').forEach(d => { d.open = true })")


# --- the checker ---

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice", "wcag2aaa"]
"""Of level AAA it is the contrast of 7:1 that counts (1.4.6)."""

CHECK = """
const done = arguments[arguments.length - 1];
axe.run(document, {runOnly: {type: 'tag', values: arguments[0]}}).then(done, error => done({error: String(error)}));
"""


def checked(browser: Browser) -> dict[str, Any]:
    """Run the checker; return what it finds: violations, what it cannot decide (incomplete), passes."""
    found: dict[str, Any] = browser.driver.execute_async_script(CHECK, RULES)
    assert "error" not in found, found
    return found


def told(found: list[dict[str, Any]]) -> list[str]:
    return [
        f"{rule['id']}: {node['html']} {node.get('failureSummary')}"
        for rule in found
        for node in rule["nodes"]
    ]


def sees_nothing_wrong(browser: Browser) -> None:
    """See that the checker finds nothing, at either width and in either theme."""
    # Many jobs are marked up as four are, and take longer.
    for size, theme, forced in LOOKS if len(browser.all(".job")) < 10 else LOOKS[:1]:
        browser.look(size, theme, forced=forced)
        # What has run under the line that stays cannot be seen, and not be judged.
        browser.js("scrollTo(0, 0)")
        found = checked(browser)
        assert told(found["violations"]) == [], (size, theme)
        assert told(found["incomplete"]) == [], (size, theme)
        # That it looked: contrast, headings, the size of targets.
        passed = {rule["id"] for rule in found["passes"]}
        assert passed >= {
            "color-contrast-enhanced",
            "document-title",
            "heading-order",
            "region",
            "target-size",
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


# --- what a screen reader is given ---


def tree(browser: Browser) -> list[tuple[str, str, dict[str, Any]]]:
    """Return what Chromium tells assistive technology: (role, name, properties), in the order of reading."""
    browser.cdp("Accessibility.enable")
    nodes = browser.cdp("Accessibility.getFullAXTree")["nodes"]
    known = {node["nodeId"]: node for node in nodes}
    # They come level by level; a page is read branch by branch.
    found, waiting = [], [nodes[0]]
    while waiting:
        node = waiting.pop()
        waiting += [known[child] for child in reversed(node.get("childIds", ())) if child in known]
        if not node["ignored"]:
            told = {p["name"]: p["value"].get("value") for p in node.get("properties", ())}
            found.append((node["role"]["value"], node.get("name", {}).get("value", ""), told))
    return found


CONTROLS = {"button", "link", "textbox", "combobox", "DisclosureTriangle"}


def speaks_well(browser: Browser) -> None:
    """See that names, headings and landmarks lead through the page."""
    found = tree(browser)
    controls = [(role, name) for role, name, _ in found if role in CONTROLS]
    assert controls
    # 4.1.2: whatever can be used has a name; and none is called like another one of its kind.
    assert [one for one in controls if not one[1].strip()] == []
    assert [one for one, count in Counter(controls).items() if count > 1] == []
    # 2.5.3: what is seen on a button begins its name, for people who speak to their device.
    seen = browser.js(
        "return [...document.querySelectorAll('button')].map(b => b.firstChild.textContent.trim())"
    )
    names = [name for role, name, _ in found if role == "button"]
    assert all(text and name.startswith(text) for text, name in zip(seen, names, strict=True)), names
    # 1.3.1: headings begin with one of the first level, and none is skipped.
    levels = [p["level"] for role, _, p in found if role == "heading"]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels
    landmarks = Counter(role for role, _, _ in found if role in {"banner", "main", "contentinfo"})
    assert landmarks == {"banner": 1, "main": 1, "contentinfo": 1}
    # 2.4.2 and 3.1.1: the page has a title that tells it from others, and a language.
    assert browser.one("h1").text in browser.driver.title
    assert browser.one("html").get_attribute("lang") == "en"


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


# --- by keyboard alone ---

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


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours as WCAG 2.2 defines it (relative luminance of sRGB)."""

    def luminance(colour: str) -> float:
        parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


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


# --- small screens and large text ---

BESIDE = """
const wide = document.documentElement.clientWidth;
return [...document.querySelectorAll('body *')]
  .filter(e => !e.closest('.unseen, .skip') && e.getClientRects().length && !e.closest('option'))
  .filter(e => !e.parentElement.closest('.scroll-box'))
  .filter(e => e.getBoundingClientRect().right > wide + 0.5 || e.getBoundingClientRect().left < -0.5)
  .map(e => e.outerHTML.slice(0, 120));
"""


def fits(browser: Browser) -> None:
    """See that nothing has to be scrolled sideways, but for tables and code in a box of their own."""
    # 1.4.10 asks for 320 px, 1.4.4 for text of twice the size.
    for size, zoom in ((NARROW, 100), (PHONE, 100), (DESKTOP, 100), (PHONE, 200), (DESKTOP, 200)):
        browser.look(size)
        browser.js("document.documentElement.style.fontSize = arguments[0] + '%'", zoom)
        assert browser.js(BESIDE) == [], (size, zoom)
        wide = browser.js("return [document.documentElement.scrollWidth, innerWidth]")
        assert wide == [size[0], size[0]], (size, zoom)
    browser.js("document.documentElement.style.fontSize = ''")


TARGETS = """
return [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary')]
  .filter(e => e.checkVisibility() && !e.matches('.skip'))
  .map(e => [e.outerHTML.slice(0, 80), (['checkbox', 'radio'].includes(e.type) ? e.closest('label') : e).getBoundingClientRect()])
  .map(([e, r]) => [e, r.width, r.height]);
"""


def can_be_met(browser: Browser) -> None:
    """See that a finger meets what it is put on."""
    for size in (PHONE, DESKTOP):
        browser.look(size)
        found = browser.js(TARGETS)
        assert found
        # 2.5.5 (AAA): 44 by 44 CSS pixels, for a wet thumb.
        assert [one for one in found if one[1] < 43.9 or one[2] < 43.9] == []


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


# --- dark and light ---


def test_the_page_is_dark_where_the_device_is(browser: Browser, still: Place) -> None:
    browser.open(still.pages["Ben"])
    colours = "const s = getComputedStyle(document.body); return [s.color, s.backgroundColor]"
    browser.look(PHONE, "light")
    ink, paper = browser.js(colours)
    browser.look(PHONE, "dark")
    ink_dark, paper_dark = browser.js(colours)
    black = "rgb(0, 0, 0)"
    assert contrast(paper, black) > contrast(ink, black)
    assert contrast(paper_dark, black) < contrast(ink_dark, black)
    # 1.4.3 asks for 4.5; text that is read in a wet room has more.
    assert min(contrast(ink, paper), contrast(ink_dark, paper_dark)) > 7


# --- on paper ---


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_paper_has_the_work_and_no_forms(browser: Browser, still: Place, theme: str) -> None:
    browser.open(still.pages["Ben"])
    browser.look(DESKTOP, theme, media="print")
    shown = Counter(
        browser.js("""
        return [...document.querySelectorAll('button, input, select, a, .what, .care li, .gone, footer')]
          .filter(e => e.checkVisibility({contentVisibilityAuto: true}) && e.getBoundingClientRect().height > 0)
          .map(e => e.matches('.care li') ? 'caution' : e.matches('.done') ? 'box' : e.matches('.value input') ? 'line' : e.className || e.tagName);
    """)
    )
    jobs = len(browser.all(".job"))
    asked = len(browser.all(".values"))
    assert set(shown) == {"caution", "what", "box", "FOOTER"} | ({"line"} if asked else set())
    # Cautions are printed however they are folded on the screen; each job has a box to tick with a pencil, and a line for
    # initials; what is measured has lines for its values instead.
    assert (
        shown["what"] == shown["box"] + asked == jobs and shown["caution"] == len(browser.all(".care li")) > 0
    )
    # In black on the white of the paper.
    style = "const s = getComputedStyle(document.querySelector(arguments[0]), arguments[1] || null); return s[arguments[2]]"
    assert browser.js(style, ".tick", "::after", "content") == '"initials"'
    for css in ("body", ".min", ".of", ".care li"):
        assert contrast(browser.js(style, css, "", "color"), "rgb(255, 255, 255)") >= 7
    assert browser.js(style, "body", "", "backgroundColor") == "rgba(0, 0, 0, 0)"
    paper = base64.b64decode(browser.cdp("Page.printToPDF", paperWidth=8.27, paperHeight=11.69)["data"])
    assert paper.startswith(b"%PDF-") and paper.rstrip().endswith(b"%%EOF")
    assert len(re.findall(rb"/Type\s*/Page\b", paper)) == 1
