"""The pages of failures for everybody: the same is asked of them as of the round itself (see the pages for everybody)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from support.web.browsing import Browser
from support.web.failing import failing
from support.web.for_everybody import can_be_met, fits, sees_nothing_wrong, speaks_well, unfold_all
from support.web.http_client import ask, forms, post, tick_of, until
from support.web.places import BEN, NOOR, TANK, TODAY, Place, site, write

pytestmark = pytest.mark.browser

NOTE = "swollen <b>eye</b>"

Reach = Callable[[Browser, Place], None]


def is_for_everybody(browser: Browser, axe: str) -> None:
    browser.js(axe)
    unfold_all(browser)
    speaks_well(browser)
    fits(browser)
    can_be_met(browser)
    sees_nothing_wrong(browser)


def status(browser: Browser) -> int:
    found: int = browser.js("return performance.getEntriesByType('navigation')[0].responseStatus")
    return found


def tick(browser: Browser, place: Place, change: str = "", note: str = "") -> None:
    """Open the page, change its first form as somebody could who knows how, and send it."""
    browser.open(place.pages["Noor"])
    job = browser.job("pump")
    browser.open_job(job)
    browser.one("input[name=note]", job).send_keys(note)
    browser.js(f"const form = arguments[0]; {change}", browser.one("form.tick", job))
    browser.go(browser.button("Done", job))


def unknown(browser: Browser, place: Place) -> None:
    address = place.pages["Noor"]
    browser.open(address[: address.rindex("/") + 1] + "A" * 27)


def no_such_part(browser: Browser, place: Place) -> None:
    browser.open(place.pages["Noor"] + "/other")


def taken_back(browser: Browser, place: Place) -> None:
    """Somebody recorded and took back what is then ticked with a note, from the page of before."""
    address = place.pages["Noor"]
    url, path = address[: address.index("/round/")], address[address.index("/round/") :]
    browser.open(address)
    form = tick_of(ask(url, path).text, "pump")
    assert post(url, form.action, form.fields).status == 303
    (undo,) = forms(ask(url, path).text, "undo")
    assert post(url, undo.action, undo.fields).status == 303
    job = browser.job("pump")
    browser.open_job(job)
    browser.one("input[name=note]", job).send_keys(NOTE)
    browser.go(browser.button("Done", job))
    assert NOTE in browser.said


def too_many(browser: Browser, place: Place) -> None:
    address = place.pages["Noor"]
    url, path = address[: address.index("/round/")], address[address.index("/round/") :]

    def is_refused() -> bool:
        for _ in range(100):
            ask(url, path)
        browser.open(address)
        return status(browser) == 429

    # Five more are let through in a second: a slow browser may be one of them.
    until(is_refused)


TROUBLES: dict[str, tuple[Reach, int]] = {
    "not from the page": (lambda b, p: tick(b, p, "form.elements['seal'].value = 'x'"), 403),
    "a link that opens nothing": (unknown, 404),
    "no such part": (no_such_part, 404),
    "not to be done there": (lambda b, p: tick(b, p, "form.action = form.action.replace('done', 'calendar')"), 405),
    "taken back meanwhile": (taken_back, 409),
    "too long": (
        lambda b, p: tick(b, p, "form.elements['note'].removeAttribute('maxlength'); form.elements['note'].value = 'x'.repeat(300000)"),
        413,
    ),
    "not in the plan": (lambda b, p: tick(b, p, "form.elements['key'].value = 'other'", NOTE), 422),
    "too many requests": (too_many, 429),
}  # fmt: skip


@pytest.mark.parametrize(("reach", "expected"), TROUBLES.values(), ids=TROUBLES)
def test_an_error_is_a_page_for_everybody(
    browser: Browser, take: Callable[[], Place], axe: str, reach: Reach, expected: int
) -> None:
    browser.scripts(on=True)
    reach(browser, take())
    assert status(browser) == expected
    is_for_everybody(browser, axe)


@pytest.mark.parametrize("how", ["read-only", "away", "unsure"])
def test_a_form_that_failed_is_sent_again(browser: Browser, tmp_path: Path, axe: str, how: str) -> None:
    place = write(tmp_path / "fen.toml", site("Fen House", NOOR, BEN, TANK), ("Noor", "Ben"))
    browser.scripts(on=True)
    with failing(place.file, TODAY) as (served, order):
        place = place.at(served)
        browser.open(place.pages["Noor"])
        job = browser.job("pump")
        browser.open_job(job)
        browser.one("input[name=note]", job).send_keys(NOTE)
        order.write_text(how)
        browser.go(browser.button("Done", job))
        assert status(browser) == 503
        said = "It is not known whether it was recorded" if how == "unsure" else "Not recorded"
        assert said in browser.said
        if how == "read-only":
            assert any("pane" in title or "pump" in title for title in browser.jobs())
        is_for_everybody(browser, axe)
        assert browser.one("#again-note").get_attribute("value") == NOTE
        order.unlink()
        # A log that was away is asked again after a second.
        browser.wait(lambda _: ask(served.url, "/healthz").status == 200)
        browser.go(browser.button("Send it again"))
        assert browser.recorded() == [f"Sedge: rinse the pump, done. “{NOTE}”"]
