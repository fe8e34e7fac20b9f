"""A set-up as a browser without script goes through it: it sends what a page has, with what is typed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest

from scheduler.workflow.setup.network import local_address
from support.web.http_client import Answer, ask, forms, post
from support.web.serving import Served, serving

BARE = ("--workers", "1")
"""In the place of descriptions: the command is given none."""

ZONE = {"TZ": "Europe/Dublin"}

NOWHERE = "from scheduler.web.setup import routes\nroutes.local_address = lambda: ''\n"
"""A machine without a network."""

TYPED: dict[str, dict[str, str]] = {
    "place": {"name": "Mill Lane", "keeper": "Noor"},
    "units": {"locale": "en-IE"},
    "enclosure": {
        "enclosure": "Sedge", "length": "120", "width": "50", "height": "20 in", "water_depth": "40",
        "covered": "yes", "set_up": "2026-11-20",
    },
    "equipment": {
        "filter": "canister", "flow": "2000", "heater": "200", "set_to": "25", "lamp": "T5 HO tube",
        "lamp_power": "39", "lamp_installed": "2026-11-20", "lamp_hours": "12", "second_lamp": "heat",
        "second_lamp_power": "60 W",
    },
    "animals": {"animal": "Fern", "species": "pond slider", "carapace": "14", "arrived": "2026-11-28"},
    "food": {"grams": "3", "protein": "40"},
}  # fmt: skip
"""What is typed into each step."""


@dataclass(slots=True)
class Visitor:
    """A browser in a set-up: the page it shows, and where that is."""

    url: str
    path: str = ""
    page: Answer = field(default_factory=lambda: Answer(0, [], b""))

    @classmethod
    def at(cls, address: str) -> Visitor:
        """Open the address that the command printed."""
        parts = urlsplit(address)
        found = cls(f"{parts.scheme}://{parts.netloc}")
        found.open(parts.path)
        return found

    def open(self, path: str) -> Visitor:
        """Open a page, and go where it leads."""
        return self._follow(path, ask(self.url, path))

    def send(self, go: str = "on", **typed: str) -> Visitor:
        """Send the form of the page with what is typed into it, and go where it leads."""
        (form,) = forms(self.page.text)
        return self._follow(form.action, post(self.url, form.action, {**form.fields, **typed, "go": go}))

    def walk(self, until: str = "", typed: dict[str, dict[str, str]] = TYPED) -> Visitor:
        """Go through the steps, up to one of them or to the question about phones."""
        for step, fields in typed.items():
            if step == until:
                break
            assert self.step == step, (self.step, self.wrong)
            self.send(**fields)
        return self

    def _follow(self, path: str, answer: Answer) -> Visitor:
        while answer.status == 303:
            path = urljoin(path, answer["Location"])
            answer = ask(self.url, path.partition("#")[0])
        self.path, self.page = path, answer
        return self

    @property
    def step(self) -> str:
        """Return the last part of the address."""
        return self.path.partition("#")[0].rpartition("/")[2]

    @property
    def fields(self) -> dict[str, str]:
        """Return what stands in the form."""
        (form,) = forms(self.page.text)
        return form.fields

    @property
    def wrong(self) -> dict[str, str]:
        """Return what is said beside the fields, by their names."""
        found = {}
        for block in self.page.text.split('<p class="wrong" id="')[1:]:
            name, _, rest = block.partition('-wrong">')
            found[name] = rest.partition("</p>")[0].replace("&#34;", '"').replace("&#39;", "'")
        return found


@contextmanager
def setting_up(folder: Path, *places: str, **options: Any) -> Iterator[tuple[Served, Visitor]]:
    """Begin a server in a folder where nothing is described, and open what it prints."""
    env = {**ZONE, **options.pop("env", {})}
    with serving(folder, *(places or BARE), env=env, **options) as served:
        assert "/set-up/" in served.url, served.log_lines
        yield served, Visitor.at(served.url)


def reachable() -> str:
    """Return the address of this machine in a network; where it has none nothing can be tried."""
    address = local_address()
    if not address:
        pytest.skip("this machine has no address in a local network")
    return address
