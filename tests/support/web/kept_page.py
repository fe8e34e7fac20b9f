"""A page that a phone keeps, a network that can be taken away, and what waits meanwhile."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.remote.webelement import WebElement

from scheduler.care import KEYS
from support.web.browsing import CHROMIUM, PHONE, Browser, browsing
from support.web.cable import Cable
from support.web.places import site
from support.web.serving import make_link, pondround, serving

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
