"""What is asked of every page: by a checker, by screen reader, on narrow screens, with large text, under a finger.

What is asked for is WCAG 2.2 (W3C Recommendation of 12 December 2024), levels A and AA; numbers like 2.5.8 are its
success criteria. axe-core is the checker of an accessibility laboratory, Chromium's own accessibility tree is what a
screen reader is given.
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise
from typing import Any

from support.web.browsing import DESKTOP, NARROW, PHONE, TABLET, Browser

LOOKS = [(PHONE, "light", False), (DESKTOP, "dark", False), (TABLET, "light", False), (PHONE, "dark", True)]
"""Widths differ in layout, themes in colours; the last one is of a device that chooses the colours (forced colours)."""

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice", "wcag2aaa"]
"""Of level AAA it is the contrast of 7:1 that counts (1.4.6)."""

CHECK = """
const done = arguments[arguments.length - 1];
axe.run(document, {runOnly: {type: 'tag', values: arguments[0]}}).then(done, error => done({error: String(error)}));
"""

CONTROLS = {"button", "link", "textbox", "combobox", "DisclosureTriangle"}

BESIDE = """
const wide = document.documentElement.clientWidth;
return [...document.querySelectorAll('body *')]
  .filter(e => !e.closest('.unseen, .skip') && e.getClientRects().length && !e.closest('option'))
  .filter(e => !e.parentElement.closest('.scroll-box'))
  .filter(e => e.getBoundingClientRect().right > wide + 0.5 || e.getBoundingClientRect().left < -0.5)
  .map(e => e.outerHTML.slice(0, 120));
"""

TARGETS = """
return [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, summary')]
  .filter(e => e.checkVisibility() && !e.matches('.skip'))
  .map(e => [e.outerHTML.slice(0, 80), (['checkbox', 'radio'].includes(e.type) ? e.closest('label') : e).getBoundingClientRect()])
  .map(([e, r]) => [e, r.width, r.height]);
"""


def unfold_all(browser: Browser) -> None:
    browser.js("document.querySelectorAll('details').forEach(d => { d.open = true })")


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


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours as WCAG 2.2 defines it (relative luminance of sRGB)."""

    def luminance(colour: str) -> float:
        parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


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


def can_be_met(browser: Browser) -> None:
    """See that a finger meets what it is put on."""
    for size in (PHONE, DESKTOP):
        browser.look(size)
        found = browser.js(TARGETS)
        assert found
        # 2.5.5 (AAA): 44 by 44 CSS pixels, for a wet thumb.
        assert [one for one in found if one[1] < 43.9 or one[2] < 43.9] == []
