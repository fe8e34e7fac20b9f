"""Pages that may be kept: in flight mode they open, what is ticked and measured waits, and is recorded once, on its own day."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait
from support.web.browsing import CHROMIUM, PHONE, Browser, browsing
from support.web.cable import Cable
from support.web.places import site
from support.web.serving import make_link, pondround, serving

from scheduler.care import KEYS

pytestmark = pytest.mark.browser

MONDAY, TUESDAY, THURSDAY = "2026-12-14", "2026-12-15", "2026-12-17"
JOBS = 6

MANY = 63
"""So many wait in a long queue: a page takes 60 forms at once and one more a second. 200 take more than two minutes."""

POND = site(
    "Pond Row",
    '[[keeper]]\nname = "Noor"\nminutes = 400\ncan = ["lifting"]\n[[keeper]]\nname = "Ben"\nminutes = 400\ncan = ["adult"]\n',
    '[[enclosure]]\nname = "Sedge"\nset_up = 2026-10-01\njob = {',
    ", ".join(f"{key} = {{off = true}}" for key in KEYS),
    "}\nextra_job = [\n",
    *(
        f'  {{key = "job-{n}", title = "duty {n}", rule = "FREQ=DAILY", minutes = 5, can = ["lifting"]}},\n'
        for n in range(1, JOBS + 1)
    ),
    "]\n",
)


@dataclass
class Pond:
    """A site behind a cable, with a page for Noor that may be kept, and what the server says is today."""

    file: Path
    cable: Cable
    stack: ExitStack
    page: str = ""

    def serve(self, today: str) -> None:
        """Serve the site on a day, under the address that it had."""
        self.stack.close()
        server = self.stack.enter_context(serving(self.file.parent, self.file.name, today=today))
        self.cable.to = int(server.url.rpartition(":")[2])

    def link(self, *words: str) -> str:
        return make_link(self.file, *words, "--url", self.cable.url)["page"]

    def say(self, *words: str) -> str:
        return pondround(self.file.parent, words[0], self.file.name, *words[1:])

    def history(self) -> list[dict[str, Any]]:
        """Return what is recorded and stands."""
        lines = self.say("history", "--format", "json").splitlines()
        found = [json.loads(line) for line in lines]
        return [e for e in found if e["kind"] != "void" and not e["voided"]]

    def recorded(self) -> list[tuple[str, str, str]]:
        return sorted((e["date"], e["name"], e["keeper"]) for e in self.history())


@pytest.fixture
def pond(tmp_path: Path) -> Iterator[Pond]:
    file = tmp_path / "pond.toml"
    file.write_text(POND, "utf-8")
    with Cable() as cable, ExitStack() as stack:
        made = Pond(file, cable, stack)
        made.page = made.link("--page", "Noor", "--offline")
        made.serve(MONDAY)
        yield made


@pytest.fixture(scope="module")
def started(chromium: Browser) -> Iterator[Browser]:
    """Start a browser with a memory of its own."""
    assert shutil.which(CHROMIUM)
    with browsing() as browser:
        yield browser


@pytest.fixture
def phone(started: Browser) -> Browser:
    started.open("about:blank")
    started.look(PHONE)
    return started


@contextmanager
def flight(phone: Browser, pond: Pond) -> Iterator[None]:
    """Be without a network: the page is told so, and its worker, which is not told, reaches nobody."""

    def network(*, off: bool) -> None:
        phone.cdp(
            "Network.emulateNetworkConditions",
            offline=off,
            latency=0,
            downloadThroughput=-1,
            uploadThroughput=-1,
        )

    phone.cdp("Network.enable")
    pond.cable.pull()
    network(off=True)
    try:
        yield
    finally:
        pond.cable.put_in()
        network(off=False)


def opened(phone: Browser, pond: Pond) -> None:
    """Open the page, and wait until its worker keeps it."""
    phone.open(pond.page)
    phone.wait(lambda _: phone.js("return !!navigator.serviceWorker.controller"))
    # It is asked whether it goes on keeping once it is kept.
    phone.wait(lambda _: phone.one("#keep").is_displayed())


def kept_in(phone: Browser) -> list[str]:
    """Return the paths of what is kept of the pages of this origin."""
    found: list[str] = phone.driver.execute_async_script("""
        const done = arguments[arguments.length - 1];
        caches.keys().then(async names => {
          const all = await Promise.all(names.map(async name => (await (await caches.open(name)).keys())));
          done(all.flat().map(one => new URL(one.url).pathname));
        });""")
    return found


def workers(phone: Browser) -> list[str]:
    found: list[str] = phone.driver.execute_async_script("""
        const done = arguments[arguments.length - 1];
        navigator.serviceWorker.getRegistrations().then(some => done(some.map(one => new URL(one.scope).pathname)));""")
    return found


def databases(phone: Browser) -> list[str]:
    found: list[str] = phone.driver.execute_async_script("""
        const done = arguments[arguments.length - 1];
        indexedDB.databases().then(some => done(some.map(one => one.name)));""")
    return found


def said(phone: Browser) -> str | None:
    """Return what is said of the queue; None between two pages."""
    found = phone.all("#unsent-said")
    return found[0].text if found else None


def says(phone: Browser, text: str) -> None:
    """Wait until the page says something."""

    def there(_: object) -> bool:
        found = phone.all("#unsent-said")
        return bool(found) and text in found[0].text

    try:
        phone.wait(there)
    except Exception:
        raise AssertionError(f"{text!r} is not said, but {[e.text for e in phone.all('#unsent')]}") from None


def row(phone: Browser, title: str) -> WebElement:
    found = [e for e in phone.all(".job") if title in phone.one("h3", e).text]
    assert len(found) == 1, title
    return found[0]


def tick(phone: Browser, number: int) -> None:
    """Tick a duty where there is no network, and see that the page keeps it."""
    job = row(phone, f"duty {number}")
    # Away from the line that stays at the top.
    phone.js("arguments[0].scrollIntoView({block: 'center'})", job)
    phone.button("Done", job).click()
    phone.wait(lambda _: "Done, not sent yet" in row(phone, f"duty {number}").text)


def measure(phone: Browser, value: str) -> None:
    phone.js("document.querySelectorAll('details').forEach(d => { d.open = true })")
    phone.choose("#r-enclosure", "Sedge")
    phone.choose("#r-name", "water temperature")
    phone.one("#r-value").send_keys(value)
    phone.button("Record", phone.one("form.reading")).click()


def items(phone: Browser) -> list[str]:
    return [e.text for e in phone.all("#unsent-list li > span")]


def unregister(phone: Browser) -> None:
    phone.one("#keep-switch").click()
    phone.wait(lambda _: phone.one("#keep-switch").get_attribute("aria-checked") == "false")


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


# --- once, or not at all ---


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
            MANY,
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


# --- when it ends ---


def emptied(phone: Browser) -> bool:
    return (workers(phone), kept_in(phone), databases(phone)) == ([], [], [])


def test_a_revoked_link_leaves_nothing_on_the_phone(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 1)
        pond.say("links", "--revoke", "page-noor")
        phone.open("about:blank")
    phone.open(pond.page)
    assert phone.one("h1").text == "There is nothing here"
    phone.wait(lambda _: emptied(phone))
    with flight(phone, pond), pytest.raises(Exception, match="ERR_"):
        phone.open(pond.page)


def test_an_open_page_whose_link_is_revoked_tells_once_what_was_not_sent(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    with flight(phone, pond):
        tick(phone, 1)
        pond.say("links", "--revoke", "page-noor")
    phone.wait(lambda _: "This link has ended." in phone.one("main").text)
    assert phone.one("[role=alert]").text == (
        "This link has ended. Write on paper what was not sent, and tell whoever gave you the link: "
        "Sedge: duty 1, Monday 14 December 2026."
    )
    phone.wait(lambda _: emptied(phone))
    assert pond.history() == []


def test_a_keeper_who_is_renamed_loses_nothing_that_waits(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    text = pond.file.read_text("utf-8")
    with flight(phone, pond):
        tick(phone, 1)
        pond.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"'), "utf-8")
    says(phone, "1 not sent yet. The record cannot be reached")
    phone.open(pond.page)
    assert phone.one("h1").text == "There is nothing here"
    pond.file.write_text(text.replace('name = "Noor"', 'name = "Noor Ash"\nid = "noor"'), "utf-8")
    phone.open(pond.page)
    assert phone.one("h1").text == "Noor Ash, Monday"
    phone.wait(lambda _: said(phone) == "" and not items(phone))
    assert pond.recorded() == [(MONDAY, "job-1", "noor")]


def test_a_link_that_is_offered_no_more_is_kept_no_more(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    pond.say("links", "--change", "page-noor", "--no-offline")
    phone.open(pond.page)
    assert phone.all("script, #unsent") == []
    phone.wait(lambda _: (workers(phone), kept_in(phone)) == ([], []))


def test_the_switch_takes_the_page_off_the_phone_and_brings_it_back(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    switch = phone.one("#keep-switch")
    assert (switch.text.replace("\n", ""), switch.get_attribute("aria-checked")) == (
        "Keep this page for offline use: on",
        "true",
    )
    assert "with its secret address on this phone" in phone.one("#keep-said").text
    assert workers(phone) == [pond.page.removeprefix(pond.cable.url)]
    unregister(phone)
    assert (workers(phone), kept_in(phone)) == ([], [])
    # It stays off.
    phone.open(pond.page)
    phone.wait(lambda _: phone.one("#keep").is_displayed())
    assert phone.one("#keep-switch").get_attribute("aria-checked") == "false"
    assert (workers(phone), kept_in(phone)) == ([], [])
    phone.one("#keep-switch").click()
    phone.wait(lambda _: workers(phone) and kept_in(phone))


def test_a_worker_has_no_part_in_another_page(phone: Browser, pond: Pond) -> None:
    opened(phone, pond)
    own = sorted(kept_in(phone))
    assert pond.page.removeprefix(pond.cable.url) in own
    phone.open(pond.link("--page", "Ben"))
    assert phone.one("h1").text == "Ben, Monday"
    assert phone.js("return navigator.serviceWorker.controller") is None
    assert sorted(kept_in(phone)) == own


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
