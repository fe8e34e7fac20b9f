"""A site that is served, with a page for each of its two keepers: what its pages show, and what its log holds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from scheduler.history import Entry
from scheduler.log import open_log
from scheduler.workflow import read_site
from scheduler.workflow.feeds.links import IssuedLink
from scheduler.workflow.site_log import log_url
from support.web.http_client import Answer, Form, ask, link, page_path, post, tick_of, write
from support.web.serving import Served


@dataclass(frozen=True, slots=True)
class House:
    """A site with a page for each of its two keepers."""

    file: Path
    served: Served
    noor: IssuedLink
    sam: IssuedLink
    calendar: IssuedLink

    @property
    def url(self) -> str:
        return self.served.url

    def page(self, whose: IssuedLink | None = None) -> str:
        answer = ask(self.url, page_path(whose or self.sam))
        assert answer.status == 200
        return answer.text

    def tick(self, key: str = "pane", whose: IssuedLink | None = None) -> Form:
        """Return the form that ticks off a job of the tank Sedge, which Sam has this Monday."""
        return tick_of(self.page(whose or self.sam), key)

    def send(self, form: Form, **changed: str | None) -> Answer:
        """Send a form with some fields changed; those that are None are left out."""
        fields = {**form.fields, **changed}
        return post(self.url, form.action, {name: text for name, text in fields.items() if text is not None})

    def entries(self) -> list[Entry]:
        site = read_site(self.file)
        with open_log(log_url(self.file, site), create=False) as log:
            return list(log.entries(site.settings.id))

    def recorded(self, key: str = "pane") -> int:
        """Return how many entries of a job stand."""
        return sum(e.name == key and e.kind == "done" and not e.voided for e in self.entries())


def site_of(file: Path) -> str:
    return read_site(file).settings.id


def made(file: Path, text: str) -> tuple[Path, IssuedLink, IssuedLink, IssuedLink]:
    write(file, text)
    return file, link(file, "page", "noor"), link(file, "page", "sam"), link(file, "site")
