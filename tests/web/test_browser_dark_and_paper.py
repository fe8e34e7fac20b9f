"""The page in dark and light, and on paper."""

from __future__ import annotations

import base64
import re
from collections import Counter

import pytest
from support.web.browsing import DESKTOP, PHONE, Browser
from support.web.for_everybody import contrast
from support.web.places import Place

pytestmark = pytest.mark.browser


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
