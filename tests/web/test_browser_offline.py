"""Pages that may be kept: in flight mode they open, what is ticked and measured waits, and is recorded once, on its own day."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from browsing import CHROMIUM, PHONE, Browser, browsing
from cable import Cable
from places import site
from selenium.webdriver.remote.webelement import WebElement
from serving import make_link, pondround, serving

from scheduler.care import KEYS

pytestmark = pytest.mark.browser

MONDAY, TUESDAY, THURSDAY = "2026-12-14", "2026-12-15", "2026-12-17"
JOBS = 6

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
    phone.wait(lambda _: kept_in(phone) and phone.js("return !!navigator.serviceWorker.controller"))


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


def said(phone: Browser) -> str:
    return phone.one("#unsent-said").text


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
    found = [e for e in phone.all(".job") if title in e.text]
    assert len(found) == 1, title
    return found[0]


def tick(phone: Browser, number: int) -> None:
    """Tick a duty where there is no network, and see that the page keeps it."""
    job = row(phone, f"duty {number}")
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
            assert phone.one("h1").text == "Round of Noor"
            says(phone, "No network: this page is as it was on Monday 14 December 2026.")
        for number in range(1, 6):
            tick(phone, number)
        measure(phone, "24 °C")
        says(phone, "6 not sent yet.")
        assert items(phone)[0].startswith("Sedge: duty 1, Monday 14 December 2026")
        assert "24 °C" in items(phone)[5]
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
    ben = pond.link("--page", "Ben")
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
    says(phone, "1 done by others already.")
    assert items(phone) == [
        "Sedge: duty 2, Monday 14 December 2026. Ben had recorded it for 14 December 2026 already; it counts once."
    ]
    assert pond.recorded() == [
        (MONDAY, "job-1", "noor"),
        (MONDAY, "job-2", "ben"),
        (TUESDAY, "job-1", "ben"),
    ]
    phone.button("Seen").click()
    phone.wait(lambda _: not items(phone))
    assert ben
