"""What waits on a phone is recorded once or not at all: lost answers, two taps, two tabs, long queues, refusals."""

from __future__ import annotations

import pytest
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.support.ui import WebDriverWait
from support.web.browsing import Browser
from support.web.kept_page import (
    MONDAY,
    Pond,
    flight,
    items,
    measure,
    opened,
    phone,
    pond,
    row,
    said,
    says,
    started,
    tick,
)

__all__ = ["phone", "pond", "started"]

pytestmark = pytest.mark.browser

MANY = 63
"""So many wait in a long queue: a page takes 60 forms at once and one more a second. 200 take more than two minutes."""


def test_a_tick_with_a_network_leads_where_it_leads_without_script(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    before = phone.driver.current_url
    phone.go(phone.button("Done", row(phone, "duty 3")))
    assert phone.driver.current_url != before
    assert pond.recorded() == [(MONDAY, "job-3", "noor")]
    phone.wait(lambda _: said(phone) == "" and not items(phone))


def test_a_tick_whose_answer_is_lost_counts_once(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    pond.cable.drops_answers = True
    tick(phone, 1)
    assert pond.recorded() == [(MONDAY, "job-1", "noor")]
    says(phone, "1 not sent yet.")
    pond.cable.drops_answers = False
    phone.js("self.dispatchEvent(new Event('online'))")
    phone.wait(lambda _: said(phone) == "" and not items(phone))
    assert pond.recorded() == [(MONDAY, "job-1", "noor")]


def test_two_taps_are_one_tick(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        button = phone.button("Done", row(phone, "duty 1"))
        phone.js("arguments[0].click(); arguments[0].click()", button)
        says(phone, "1 not sent yet.")
        assert len(items(phone)) == 1


def test_what_is_kept_is_taken_back_before_it_is_sent(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 1)
        tick(phone, 2)
        phone.button("take back", row(phone, "duty 1")).click()
        says(phone, "1 not sent yet.")
        assert phone.button("Done", row(phone, "duty 1")).is_displayed()
    phone.wait(lambda _: pond.recorded() == [(MONDAY, "job-2", "noor")])


def press(phone: Browser, text: str) -> None:
    """Press a button of the first that waits; the list is written anew whenever something of it changes."""
    # Where it was written anew in between the browser says so, and it is tried again.
    phone.wait(lambda _: phone.button(text, phone.all("#unsent-list li")[0]).click() or True)


def test_what_is_refused_stays_with_the_reason_until_somebody_throws_it_away(
    phone: Browser, pond: Pond
) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        measure(phone, "12 bananas")
        says(phone, "1 not sent yet.")
        measure(phone, "41 °C")
        says(phone, "2 not sent yet.")
    says(phone, "2 not taken.")
    wrong, doubted = items(phone)
    assert "12 bananas" in wrong.partition("2026. ")[2]
    assert doubted.endswith("Water temperature: 41 °C is unlikely; expected 5 °C to 40 °C.")
    assert pond.history() == []
    phone.open(pond.page)
    says(phone, "2 not taken.")
    press(phone, "Throw away")
    says(phone, "1 not taken.")
    press(phone, "It is right")
    phone.wait(lambda _: not items(phone))
    assert [e["value"] for e in pond.history()] == [41.0]


def test_a_long_queue_is_sent_bit_by_bit(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        measure(phone, "24 °C")
        says(phone, "1 not sent yet.")
        phone.driver.execute_async_script(
            """
            const [many, done] = arguments;
            const asked = indexedDB.open("pondround" + location.pathname);
            asked.onsuccess = () => {
              const queue = asked.result.transaction("queue", "readwrite").objectStore("queue");
              queue.getAll().onsuccess = event => {
                const [one] = event.target.result;
                for (let n = 1; n < many; n++) {
                  const fields = one.fields.map(([k, v]) => [k, k === "value" ? `${(15 + n / 10).toFixed(1)} °C` : v]);
                  queue.put({...one, id: crypto.randomUUID(), order: one.order + n, fields});
                }
                queue.transaction.oncomplete = () => { asked.result.close(); done(); };
              };
            };""",
        )
    # Whether it has to wait for the limit of forms hangs on how fast the machine is; all of it comes in any case.
    patient = WebDriverWait(phone.driver, 300, 0.5, ignored_exceptions=[WebDriverException])
    patient.until(lambda _: not items(phone))
    assert len(pond.history()) == MANY


def test_two_tabs_send_what_waits_once_and_both_say_so(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    first = phone.driver.current_window_handle
    phone.driver.switch_to.new_window("tab")
    second = phone.driver.current_window_handle
    opened(phone, pond)
    try:
        with flight(phone, pond):
            tick(phone, 1)
            tick(phone, 2)
            phone.driver.switch_to.window(first)
            says(phone, "2 not sent yet.")
            assert "Done, not sent yet" in row(phone, "duty 2").text
            phone.driver.switch_to.window(second)
        phone.wait(lambda _: said(phone) == "" and not items(phone))
        phone.driver.switch_to.window(first)
        phone.wait(lambda _: not items(phone))
        assert pond.recorded() == [(MONDAY, "job-1", "noor"), (MONDAY, "job-2", "noor")]
    finally:
        phone.driver.switch_to.window(second)
        phone.driver.close()
        phone.driver.switch_to.window(first)
