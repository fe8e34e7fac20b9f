"""One request for a page: the site as it stands, whose page it is, and how a page is written."""

from __future__ import annotations

import datetime as dt
import functools
import hmac
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, RedirectResponse, Response

from scheduler.description.site import Keeper
from scheduler.errors import SchedulerError, UsageError
from scheduler.history import Entry
from scheduler.locales import PLAIN, Formats
from scheduler.quantities import show_minutes
from scheduler.web.coordinator.origin import Origin
from scheduler.web.rows import at_entries
from scheduler.web.scripts import QUEUED, SCRIPT_ADDRESS
from scheduler.web.style import STYLE_ADDRESS
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.round_page import RoundPage
from scheduler.workflow.live.site import LiveSite

TEXT_WIDTH = 100_000
"""The lines of a page are broken by the browser."""

HEADERS = {"Cache-Control": "private, no-store"}


@functools.lru_cache(maxsize=16)
def _templates(formats: Formats) -> Environment:
    """Return the templates of sites that write dates and times in one way."""
    found = Environment(
        loader=PackageLoader("scheduler.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals.update(script=SCRIPT_ADDRESS, queued=" ".join(QUEUED), style=STYLE_ADDRESS)
    found.filters.update(
        day=formats.weekday_date,
        date=formats.date,
        short_day=formats.short_date,
        hour=formats.time,
        spell=show_minutes,
    )
    return found


class PageVisit:
    """One request for a page: the site as it stands now, and whose page it is."""

    def __init__(self, live: LiveSite, found: LinkTarget, secret: str, base: str, offline: str = "") -> None:
        """Look at the site. HTTPException (404) where the link opens nothing any more; LogError where that
        cannot be told.

        `offline` says whether the page is offered for use without a network.
        """
        self.live, self.found, self.secret, self.base = live, found, secret, base
        self.offline = offline
        self.came_from: Origin | None = None
        self.tended: RoundPage = live.tended()
        keepers = self.tended.described.keepers
        self.keeper: Keeper | None = next((k for k in keepers if k.id == found.link.of), None)
        # Since it was looked up the link may have ended, or the site have become another one.
        if live.find(secret) is None:
            raise HTTPException(404)
        if found.link.of and self.keeper is None:
            # A name that is mended opens it again: what a phone has not sent yet is not to be thrown away.
            raise HTTPException(404, headers={"Retry-After": "3600"} if offline else None)

    @property
    def path(self) -> str:
        """Return the address of the page on this server."""
        return f"/round/{self.secret}"

    @property
    def is_coordinator(self) -> bool:
        """Tell whether it is of a keeper who answers for the whole site."""
        return self.found.link.kind == "coordinator"

    def meant(self, form: Mapping[str, str], field: str) -> Keeper | None:
        """Return the keeper of whom a form is: that of the page, or whom a coordinator names in a field.

        UsageError where a coordinator names nobody who is described.
        """
        if not self.is_coordinator or field not in form:
            return self.keeper
        named = next((k for k in self.tended.described.keepers if k.id == form[field]), None)
        if named is None:
            raise UsageError("choose who it is")
        return named

    @property
    def home(self) -> str:
        """Return the address of the page to which a form leads back."""
        return f"{self.path}{self.came_from.address}" if self.came_from is not None else self.path

    @property
    def seen(self) -> str:
        """Return how far log and rota were when the page was made, as its forms say it."""
        stand = self.tended.stand
        return f"{stand.entry}.{stand.rota}"

    def seal(self, day: dt.date, seen: str) -> str:
        """Return the seal of a form of the page."""
        return self.live.seal(self.secret, day, seen)

    def opened(self, form: Mapping[str, str]) -> tuple[dt.date, int, int]:
        """Return the day of which a form is, and how far log and rota were.

        HTTPException where its seal is not ours.
        """
        seen = form.get("seen", "")[:40]
        entry, _, rota = seen.partition(".")
        try:
            day, numbers = dt.date.fromisoformat(form.get("day", "")), (int(entry), int(rota or "0"))
        except ValueError:
            raise HTTPException(400) from None
        if not hmac.compare_digest(self.seal(day, seen).encode(), form.get("seal", "").encode()):
            raise HTTPException(403, "This form is not from the page.")
        return day, *numbers

    def back(self, place: str) -> Response:
        """Return the way back to the page, after something was recorded or changed."""
        # Here, so that the page that comes next has nothing left to work out. What was recorded is so whether
        # that works or not.
        with suppress(SchedulerError):
            self.live.tended()
        there = place if self.came_from is None else self.came_from.at(place)
        return RedirectResponse(f"{self.path}{there}", 303, headers=HEADERS)

    def told(self, entries: Iterable[Entry]) -> Response:
        """Return the way back to the page, which says that entries were recorded."""
        return self.back(at_entries(entry.number for entry in entries))

    def html(self, template: str, status: int = 200, **values: Any) -> HTMLResponse:
        """Return a page of this site."""
        tended = self.tended
        text = write_page(
            template,
            site=tended.site,
            keeper=self.keeper,
            today=tended.today,
            path=self.path,
            home=self.home,
            came_from=self.came_from.field if self.came_from is not None else "",
            coordinator=self.is_coordinator,
            seen=self.seen,
            seal=self.seal(tended.today, self.seen),
            problem=self.live.problem,
            offline=self.offline,
            **values,
        )
        return HTMLResponse(text, status, headers=HEADERS)


def write_page(template: str, **values: Any) -> str:
    """Return a page as text; without a site it is of none."""
    site = values.get("site")
    formats = PLAIN if site is None else site.settings.formats
    return (
        _templates(formats)
        .get_template(template)
        .render({"site": None, "problem": "", "offline": "", "coordinator": False, **values})
    )
