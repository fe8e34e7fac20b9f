"""Names and notes that are written like scripts: a browser that runs scripts shows them as text, and does nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import quote

import pytest
from selenium.common.exceptions import NoAlertPresentException
from support.web.browsing import Browser, browsing
from support.web.places import IMAGE, SCRIPT, Place

from scheduler.web.style import STYLE_ADDRESS

pytestmark = pytest.mark.browser

NOTE = "</script></style></textarea>'\"><script>document.title='run'</script><img src=/x onerror=alert(6)>{{7*7}}&lt;b&gt;"


@pytest.fixture(scope="module")
def watched(chromium: Browser) -> Iterator[Browser]:
    """Start a browser that tells what it asks for."""
    with browsing(logged=True) as browser:
        yield browser


def style(page: str) -> str:
    return page.partition("/round/")[0] + STYLE_ADDRESS


def nothing_ran(browser: Browser) -> None:
    with pytest.raises(NoAlertPresentException):
        _ = browser.driver.switch_to.alert
    # It also writes down that a page says with its status that something was refused.
    assert [line for line in browser.complaints() if "status of 422" not in line] == []
    assert (
        browser.js(
            "return document.querySelectorAll('script, img, svg:not(.segno), iframe, a[href^=javascript]').length"
        )
        == 0
    )
    assert "run" not in browser.driver.title.split()


def test_names_like_scripts_are_text(watched: Browser, special: dict[str, Place]) -> None:
    page = special["hostile"].pages[IMAGE]
    watched.asked_for()
    watched.open(page)
    nothing_ran(watched)
    assert watched.one("h1").text == f"{IMAGE}, Monday"
    assert (
        watched.driver.title
        == f"{IMAGE}, Monday 14 December 2026: 1 job left, 10 min – </title><script>alert(3)</script>"
    )
    assert watched.one(".place bdi").text == "</title><script>alert(3)</script>"
    assert watched.jobs() == [f"{SCRIPT}: </textarea><svg onload=alert(4)>"]
    assert watched.told(watched.one(".steps")) == "<a href=javascript:alert(5)>"
    assert watched.told(watched.one("#r-enclosure option")) == SCRIPT
    # The page, its style, and nothing else.
    assert watched.asked_for() == [page, style(page)]
    watched.open(f"{page}/calendar")
    nothing_ran(watched)
    assert set(watched.asked_for()) - {style(page)} == {f"{page}/calendar"}


def test_a_note_like_a_script_is_text(watched: Browser, special: dict[str, Place]) -> None:
    page = special["hostile"].pages[IMAGE]
    watched.open(page)
    job = watched.one(".job")
    watched.open_job(job)
    watched.one("input[name=note]", job).send_keys(NOTE)
    watched.asked_for()
    watched.go(watched.button("Done", job))
    nothing_ran(watched)
    assert watched.recorded() == [f"{SCRIPT}: </textarea><svg onload=alert(4)>, done. “{NOTE}”"]
    assert set(watched.asked_for()) - {style(page)} == {f"{page}/done", page}
    # A value that is refused is written into the page anew.
    watched.unfold("Record a reading", watched.one("#reading"))
    watched.choose("#r-name", "water temperature")
    watched.one("#r-value").send_keys(NOTE[:60])
    watched.go(watched.button("Record"))
    nothing_ran(watched)
    assert watched.one("#r-value").get_property("value") == NOTE[:60]
    assert watched.said.startswith("Temperature: found ")


def test_a_script_that_got_into_the_page_would_not_run(watched: Browser, special: dict[str, Place]) -> None:
    """The second line of defence, the Content-Security-Policy: what is put into the page by force is refused."""
    watched.open(special["idle"].pages["-"])
    watched.complaints()
    watched.js("""
        const script = document.createElement('script');
        script.textContent = 'document.title = "run"';
        document.body.append(script);
        document.body.insertAdjacentHTML('beforeend', '<img src="data:," onerror="document.title = 1">');
    """)
    assert watched.driver.title == "Monday 14 December 2026: nothing left – Still Water"
    assert sum("Content Security Policy" in line for line in watched.complaints()) >= 2


def test_the_browser_would_tell(watched: Browser) -> None:
    """Without the care that pages take, scripts do run here, and are noticed."""
    watched.open("data:text/html," + quote(f"<p>{SCRIPT}</p>"))
    alert = watched.driver.switch_to.alert
    assert alert.text == "2"
    alert.accept()
    watched.asked_for()
    watched.open(
        "data:text/html," + quote("<script>console.error('seen')</script><img src=http://127.0.0.1:9/x>")
    )
    assert any("seen" in line for line in watched.complaints())
    assert "http://127.0.0.1:9/x" in watched.asked_for()
