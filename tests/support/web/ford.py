"""A small rescue that one keeper answers for: its coordinator's pages, and a page of another keeper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink
from scheduler.workflow.site_log import log_url
from support.web.http_client import TODAY, Answer, Form, ask, forms, link, page_path, post
from support.web.serving import Served, serving

FORD = """\
[site]
name = "Reed Ford"
time_zone = "Europe/Dublin"
start = 2026-12-01

[[keeper]]
name = "Ada"                       # answers for all of it
minutes = 120
can = ["adult", "electrics", "lifting"]

[[keeper]]
name = "Ben"
minutes = 120
can = ["adult", "electrics", "lifting"]

[[keeper]]
name = "Cora"
minutes = 60

# --- the hall ---

[[enclosure]]
name = "Alder"
room = "hall"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-03-01
cycled = true
filter = {kind = "canister", flow = "1000 L/h"}
heater = [{power = "200 W", set_to = "25 degC", body = "titanium"}]
lamp = [{kind = "T5 HO tube", power = "24 W", installed = 2025-12-10, hours_a_day = 10, uvi = 2.0, uvi_at = "30 cm", basking_distance = "30 cm"}]

[[enclosure.resident]]
name = "Fern"
species = "painted turtle"
carapace = "15 cm"
mass = "480 g"
measured = 2026-11-20

[[enclosure]]
name = "Birch"
room = "hall"
length = "120 cm"
width = "50 cm"
height = "50 cm"
water_depth = "40 cm"
set_up = 2026-03-01
cycled = true

[[enclosure.resident]]
name = "Moss"
species = "painted turtle"
carapace = "14 cm"

# --- apart ---

[[enclosure]]
name = "Quay"
room = "small room"
length = "100 cm"
width = "40 cm"
height = "40 cm"
water_depth = "30 cm"
set_up = 2026-03-01
cycled = true
"""


@dataclass(frozen=True, slots=True)
class Ford:
    """The site, the coordinator's link (of Ada), and the page of Ben."""

    file: Path
    served: Served
    ada: IssuedLink
    ben: IssuedLink

    def ask(self, part: str, whose: IssuedLink | None = None) -> Answer:
        return ask(self.served.url, f"{page_path(whose or self.ada)}{part}")

    def page(self, part: str = "/site", whose: IssuedLink | None = None) -> str:
        answer = self.ask(part, whose)
        assert answer.status == 200, answer.text
        return answer.text

    def form(self, part: str, to: str, **fields: str) -> Form:
        """Return the form of a page that is sent to a part of the address and has some fields."""
        (found,) = [form for form in forms(self.page(part), to) if fields.items() <= form.fields.items()]
        return found

    def send(self, form: Form, **changed: str) -> Answer:
        return post(self.served.url, form.action, form.fields | changed)

    def entries(self) -> list[Entry]:
        site = read_site(self.file)
        with open_log(log_url(self.file, site), create=True) as log:
            return [e for e in log.entries(site.settings.id) if not e.voided]


@pytest.fixture
def ford(tmp_path: Path) -> Iterator[Ford]:
    """Serve the rescue on a Monday."""
    file = tmp_path / "ford.toml"
    file.write_text(FORD, "utf-8")
    ada, ben = link(file, "coordinator", "ada"), link(file, "page", "ben")
    with serving(tmp_path, "ford.toml", today=TODAY) as served:
        yield Ford(file, served, ada, ben)
