"""Debian's Chromium, without a screen, as the tests drive it: at a width, in a theme, with or without scripts."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from selenium import webdriver
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support import expected_conditions
from selenium.webdriver.support.ui import WebDriverWait

from support.web.http_client import HANG_SECONDS

CHROMIUM, DRIVER = "chromium", "chromedriver"

ICON = "/favicon.ico"

PHONE, TABLET, DESKTOP, NARROW = (360, 740), (768, 1024), (1280, 900), (320, 640)
"""Widths and heights in CSS pixels. 320: WCAG 2.2, 1.4.10, asks that nothing has to be scrolled sideways at that width."""


@dataclass(slots=True)
class Browser:
    """One window of a browser."""

    driver: webdriver.Chrome

    def cdp(self, command: str, **values: Any) -> dict[str, Any]:
        """Send a command of the Chrome DevTools Protocol."""
        answer: dict[str, Any] = self.driver.execute_cdp_cmd(command, values)
        return answer

    @contextmanager
    def scripted(self, source: str) -> Iterator[None]:
        """Have a script run before those of every page that is opened meanwhile."""
        made = self.cdp("Page.addScriptToEvaluateOnNewDocument", source=source)
        try:
            yield
        finally:
            # Where the page was lost and another one of its process came, its scripts went with it.
            try:
                self.cdp("Page.removeScriptToEvaluateOnNewDocument", identifier=made["identifier"])
            except WebDriverException as error:
                if "Script not found" not in str(error):
                    raise

    def look(
        self, size: tuple[int, int] = DESKTOP, theme: str = "light", media: str = "", *, forced: bool = False
    ) -> None:
        """Take a size, a theme that the device prefers (light, dark), and a medium (print); a window cannot be 360 px wide.

        With `forced` the device chooses all colours.
        """
        width, height = size
        self.cdp(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < DESKTOP[0],
        )
        features = [
            {"name": "prefers-color-scheme", "value": theme},
            {"name": "forced-colors", "value": "active" if forced else "none"},
        ]
        self.cdp("Emulation.setEmulatedMedia", media=media, features=features)

    def scripts(self, *, on: bool) -> None:
        """Let pages run scripts or not; the tests' own run in any case."""
        self.cdp("Emulation.setScriptExecutionDisabled", value=not on)

    def open(self, address: str) -> None:
        self.driver.get(address)

    def js(self, script: str, *values: Any) -> Any:
        return self.driver.execute_script(script, *values)

    def all(self, css: str, within: WebElement | None = None) -> list[WebElement]:
        return (within or self.driver).find_elements(By.CSS_SELECTOR, css)

    def one(self, css: str, within: WebElement | None = None) -> WebElement:
        """Return the only element of a kind."""
        found = self.all(css, within)
        assert len(found) == 1, f"{len(found)} of {css}"
        return found[0]

    def press(self, *keys: str) -> None:
        """Press keys, one after the other, where the focus is."""
        for key in keys:
            webdriver.ActionChains(self.driver, duration=0).send_keys(key).perform()

    def tab(self, *, back: bool = False) -> None:
        chain = webdriver.ActionChains(self.driver, duration=0)
        if back:
            chain.key_down(Keys.SHIFT).send_keys(Keys.TAB).key_up(Keys.SHIFT).perform()
        else:
            chain.send_keys(Keys.TAB).perform()

    def asked_for(self) -> list[str]:
        """Return the addresses that were asked for since the last call, of a browser that is logged.

        The icon that a browser looks for by itself is left out, here and of its complaints.
        """
        events = [json.loads(line["message"])["message"] for line in self._logged("performance")]
        sent = [e["params"]["request"]["url"] for e in events if e["method"] == "Network.requestWillBeSent"]
        return [address for address in sent if address.startswith("http") and not address.endswith(ICON)]

    def complaints(self) -> list[str]:
        """Return what the browser wrote on its console since the last call: scripts it refused, faults, messages."""
        lines = [line["message"] for line in self._logged("browser")]
        return [line for line in lines if not line.split(" ")[0].endswith(ICON)]

    def _logged(self, kind: str) -> list[dict[str, Any]]:
        lines: list[dict[str, Any]] = self.driver.get_log(kind)  # type: ignore[no-untyped-call]
        return lines

    @property
    def said(self) -> str:
        """Return what the page says at its top; empty where it says nothing."""
        return " ".join(e.text for e in self.all(".said"))

    def jobs(self, section: str = "main") -> list[str]:
        """Return the jobs that are listed to be done, each with its tank: what its Done says to who cannot see it."""
        ticks = f"{section} .alarm > .tick, {section} .job > .tick"
        return [self.told(form, "button .unseen") for form in self.all(ticks)]

    def job(self, title: str) -> WebElement:
        """Return a job of the list by a part of its tank and title."""
        found = [
            e for e in self.all(".alarm, .job:not(.lend)") if title in self.told(e, ".tick button .unseen")
        ]
        assert len(found) == 1, (title, self.jobs())
        return found[0]

    def told(self, within: WebElement, css: str = "") -> str:
        """Return the text of an element, or of the first one of a kind in it, whether it is seen or for screen readers alone."""
        script = "const e = arguments[1] ? arguments[0].querySelector(arguments[1]) : arguments[0]; return e.textContent"
        return " ".join(self.js(script, within, css).split())

    def recorded(self) -> list[str]:
        """Return what is told as recorded: where, what, whether it was done; without the hour, which is of the machine."""
        found = []
        for line in self.all(".gone"):
            tank = self.js("return arguments[0].closest('.tank')?.querySelector('h2').textContent", line)
            text = self.told(line, ".said-of")
            found.append(re.sub(r", done \d\d:\d\d", ", done", f"{tank}: {text}" if tank else text))
        return found

    def fresh(self) -> str:
        """Return what is said to have just been done, at the place of the page where that is."""
        return re.sub(
            r", done \d\d:\d\d",
            ", done",
            " ".join(self.told(e) for e in self.all(".gone:target, .again:target")),
        )

    def tank(self, name: str) -> WebElement:
        """Return the sheet of a tank by its name."""
        found = [e for e in self.all(".tank") if self.told(e, "h2") == name]
        assert len(found) == 1, (name, [self.told(e, "h2") for e in self.all(".tank")])
        return found[0]

    def hand_over(self, job: WebElement, taker: str = "") -> None:
        """Hand a job over, to a keeper or to the only one who can take it."""
        tank = job.find_element(By.XPATH, "ancestor::section[1]")
        self.unfold("note, hand over", tank)
        title = self.told(job, ".tick button .unseen")
        (form,) = [e for e in self.all(".give form", tank) if self.told(e, "button .unseen") == title]
        if taker:
            self.choose("select[name=to]", taker, form)
        self.go(self.button("Hand over now", form))

    def open_job(self, job: WebElement) -> None:
        """Open how a job is done, with its note."""
        self.one(".tick summary", job).click()

    def button(self, text: str, within: WebElement | None = None) -> WebElement:
        """Return the button that shows a text; what is there for screen readers alone is left out of it."""
        found = [e for e in self.all("button", within) if e.text.split("\n")[0].startswith(text)]
        assert len(found) == 1, (text, [e.text for e in self.all("button", within)])
        return found[0]

    def leave(self, act: Callable[[], object]) -> None:
        """Do what leads to another page, and wait until that is there."""
        old = self.one("html")
        act()
        self.wait(expected_conditions.staleness_of(old))
        self.wait(lambda driver: driver.execute_script("return document.readyState") == "complete")

    def go(self, element: WebElement) -> None:
        """Click on what leads to another page."""
        self.leave(element.click)

    def wait(self, until: Callable[[Any], object]) -> None:
        # Between two pages there is none to ask.
        WebDriverWait(self.driver, HANG_SECONDS, 0.02, ignored_exceptions=[WebDriverException]).until(until)

    def unfold(self, text: str, within: WebElement) -> None:
        """Open what is folded under a summary."""
        found = [e for e in self.all("summary", within) if e.text.startswith(text)]
        assert len(found) == 1, [e.text for e in self.all("summary", within)]
        found[0].click()

    def choose(self, css: str, text: str, within: WebElement | None = None) -> None:
        """Choose an option by a part of its text."""
        options = self.all(f"{css} option", within)
        found = [o for o in options if text in o.text]
        assert len(found) == 1, (text, [o.text for o in options])
        found[0].click()


@contextmanager
def browsing(*, logged: bool = False) -> Iterator[Browser]:
    """Start a browser that knows nothing of others, and end it; one that is `logged` can tell what it asked for."""
    chromium, driver = shutil.which(CHROMIUM), shutil.which(DRIVER)
    assert chromium and driver
    with tempfile.TemporaryDirectory(prefix="chromium-", ignore_cleanup_errors=True) as profile:
        options = Options()
        options.binary_location = chromium
        for word in (
            *("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-dev-shm-usage"),
            *("--no-first-run", "--disable-background-networking", "--disable-component-update"),
            *("--disable-sync", "--hide-scrollbars", "--lang=en-GB", f"--user-data-dir={profile}"),
        ):
            options.add_argument(word)
        options.set_capability("unhandledPromptBehavior", "ignore")
        if logged:
            options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
        # With a path to the driver nothing is looked for on the net.
        running = webdriver.Chrome(
            options=options, service=Service(driver, log_output=str(Path(profile) / "driver.log"))
        )
        try:
            running.set_page_load_timeout(60)
            yield Browser(running)
        finally:
            running.quit()
