"""A kept page in flight mode: it opens, and what is ticked and measured waits and is recorded once, on its own day."""

from __future__ import annotations

import pytest
from support.web.browsing import PHONE, Browser
from support.web.kept_page import (
    JOBS,
    MONDAY,
    THURSDAY,
    TUESDAY,
    Pond,
    flight,
    items,
    kept_in,
    measure,
    opened,
    phone,
    pond,
    row,
    said,
    says,
    started,
    tick,
    unregister,
    workers,
)

__all__ = ["phone", "pond", "started"]

pytestmark = pytest.mark.browser


# --- flight mode ---


@pytest.mark.parametrize("worker", [True, False], ids=["kept", "with the worker unregistered"])
def test_what_is_recorded_in_flight_mode_is_recorded_once_on_its_own_day(
    phone: Browser, pond: Pond, worker: bool
) -> None:
    opened(phone, pond)
    if not worker:
        unregister(phone)
        assert (workers(phone), kept_in(phone)) == ([], [])
    with flight(phone, pond):
        if worker:
            # The sheet opens from what is kept.
            phone.open(pond.page)
            assert phone.one("h1").text == "Noor, Monday"
            says(phone, "No network: this page is as it was on Monday 14 December 2026.")
        for number in range(1, 6):
            tick(phone, number)
        measure(phone, "24 °C")
        says(phone, "6 not sent yet.")
        assert items(phone)[0].startswith("Sedge: duty 1, Monday 14 December 2026")
        assert (
            items(phone)[5] == ("Sedge, water temperature (25 °C), 24 °C, Monday 14 December 2026. ").strip()
        )
        if worker:
            phone.open(pond.page)
            says(phone, "6 not sent yet.")
            assert "Done, not sent yet" in row(phone, "duty 5").text
            assert "Done, not sent yet" not in row(phone, "duty 6").text
        assert pond.history() == []
    phone.wait(lambda _: len(pond.history()) == 6)
    phone.wait(lambda _: said(phone) == "" and not items(phone))
    assert pond.recorded() == [
        *((MONDAY, f"job-{n}", "noor") for n in range(1, 6)),
        (MONDAY, "temperature", "noor"),
    ]
    # The page is of now again.
    phone.wait(lambda _: [e for e in phone.all(".job") if "duty" in e.text] == [row(phone, "duty 6")])


def test_three_days_later_each_counts_for_its_own_day_and_what_others_did_is_told(
    phone: Browser, pond: Pond
) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        phone.open(pond.page)
        for number in (1, 2):
            tick(phone, number)
        says(phone, "2 not sent yet.")
        phone.open("about:blank")
    # Ben does the second one on Monday, and the first one, which is open, on Tuesday.
    pond.say("did", "Sedge", "duty 2", "--by", "Ben", "--today", MONDAY)
    pond.say("did", "Sedge", "duty 1", "--by", "Ben", "--today", TUESDAY)
    pond.serve(THURSDAY)
    phone.open(pond.page)
    told = "Sedge: duty 2, Monday 14 December 2026. Ben had recorded it for 14 December 2026 already; it counts once."
    # The page opens anew when all is sent, and says it again.
    phone.wait(lambda _: items(phone) == [told] and said(phone) == "1 done by others already.")
    assert pond.recorded() == [
        (MONDAY, "job-1", "noor"),
        (MONDAY, "job-2", "ben"),
        (TUESDAY, "job-1", "ben"),
    ]
    phone.button("Seen").click()
    phone.wait(lambda _: not items(phone))


def test_a_tank_in_one_tap_waits_too(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        phone.one("form[action$='/all-done'] button").click()
        says(phone, "1 not sent yet.")
        for number in range(1, JOBS + 1):
            assert "Done, not sent yet" in row(phone, f"duty {number}").text
    phone.wait(lambda _: len(pond.history()) == JOBS)
    assert pond.recorded() == [(MONDAY, f"job-{n}", "noor") for n in range(1, JOBS + 1)]


# --- browsers that keep nothing, and clocks that are wrong ---


@pytest.mark.parametrize(
    "script",
    [
        "indexedDB.open = () => { throw new DOMException('no', 'SecurityError'); }",
        "Object.defineProperty(self, 'indexedDB', {value: undefined})",
        "IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError'); }",
    ],
    ids=["refused", "not there", "full"],
)
def test_where_nothing_can_be_kept_the_page_works_as_without(phone: Browser, pond: Pond, script: str) -> None:
    with phone.scripted(script):
        phone.open(pond.page)
        phone.go(phone.button("Done", row(phone, "duty 1")))
        assert pond.recorded() == [(MONDAY, "job-1", "noor")]
        phone.open(pond.page)
        measure(phone, "24 °C")
        phone.wait(lambda _: len(pond.history()) == 2)


def test_where_there_is_no_cache_forms_wait_all_the_same(phone: Browser, pond: Pond) -> None:
    source = "CacheStorage.prototype.open = () => Promise.reject(new DOMException('no', 'SecurityError'))"
    with phone.scripted(source):
        phone.open(pond.page)
        with flight(phone, pond):
            tick(phone, 1)
        phone.wait(lambda _: pond.recorded() == [(MONDAY, "job-1", "noor")])


@pytest.mark.parametrize("year", [1970, 2099])
def test_the_day_is_that_of_the_page_whatever_the_phone_says(phone: Browser, pond: Pond, year: int) -> None:
    source = f"Date.now = () => Date.UTC({year}, 0, 2)"
    with phone.scripted(source):
        opened(phone, pond)
        with flight(phone, pond):
            tick(phone, 1)
            tick(phone, 2)
        phone.wait(lambda _: pond.recorded() == [(MONDAY, "job-1", "noor"), (MONDAY, "job-2", "noor")])


# --- for everybody ---

CHECK = """
const done = arguments[arguments.length - 1];
axe.run(document, {runOnly: {type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22a', 'wcag22aa', 'best-practice']}})
  .then(found => done(found.violations.map(rule => `${rule.id}: ${rule.nodes.map(node => node.html)}`)), error => done([String(error)]));
"""


def test_nothing_of_it_hinders_anybody(phone: Browser, pond: Pond, axe: str) -> None:
    def violations() -> list[str]:
        phone.js(axe)
        found: list[str] = phone.driver.execute_async_script(CHECK)
        return found

    for theme in ("light", "dark"):
        phone.look(PHONE, theme)
        opened(phone, pond)
        phone.wait(lambda _: phone.one("#keep").is_displayed())
        assert violations() == []
    with flight(phone, pond):
        tick(phone, 1)
        measure(phone, "41 °C")
        says(phone, "2 not sent yet.")
        assert phone.one("#unsent-said").get_attribute("role") == "status"
        assert violations() == []
        small = [b.text for b in phone.all("button") if b.is_displayed() and b.size["height"] < 44]
        assert small == []
    says(phone, "1 not taken.")
    assert violations() == []


def test_after_a_tick_the_focus_is_where_somebody_works(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 4)
        phone.wait(lambda _: phone.js("return !!document.activeElement.dataset.mark"))
        assert phone.js("return document.activeElement.closest('.job').innerText").find("duty 4") >= 0
