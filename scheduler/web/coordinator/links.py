"""The links of a site on a page: what each opens and when it was last used; made, renewed and revoked."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from starlette.responses import Response

from scheduler.errors import UsageError
from scheduler.web.codes import code_svg
from scheduler.web.coordinator.origin import Origin
from scheduler.web.reach import leads_elsewhere
from scheduler.web.submitted_form import SubmittedForm
from scheduler.web.visit import PageVisit
from scheduler.workflow.feeds.links import (
    IssuedLink,
    LinkRequest,
    is_dead,
    links_of,
    make_link,
    renew_link,
    revoke_link,
)

if TYPE_CHECKING:
    from scheduler.log.links import Link, LinkKind

SAID = {
    "site": "the calendar of the site",
    "enclosure": "the calendar of {}",
    "rounds": "the calendar of {}’s rounds",
    "page": "the round of {}",
    "coordinator": "the whole site, for {}",
}
"""What a link of each kind opens, of whom."""


@dataclass(frozen=True, slots=True)
class LinkLine:
    """A link as the page lists it; `own` is the one by which the page was opened."""

    link: Link
    opens: str
    used: dt.date | None
    dead: bool
    own: bool


def links_page(visit: PageVisit, alert: str = "", status: int = 200) -> Response:
    """Return the page of the links."""
    visit.came_from = Origin("links")
    site = visit.tended.described
    return visit.html(
        "coordinator/links.html",
        status,
        alert=alert,
        links=[_line(visit, link) for link in links_of(visit.live.file, site)],
        choices=_choices(visit),
        stood=_stand(visit),
    )


def change_links(visit: PageVisit, posted: SubmittedForm) -> Response:
    """Make, renew or revoke a link, and show a new one: this once, since only its hash is kept.

    UsageError where that makes no sense, and where the links are no longer those that the page showed: a form
    that is sent twice changes them once.
    """
    form = posted.form
    if not visit.is_coordinator:
        raise UsageError("links are made by whoever answers for the site, or on the command line")
    if form.get("links") != str(_stand(visit)):
        raise UsageError("the links have changed since the page was made; look again")
    file, site = visit.live.file, visit.tended.described
    if form.get("do") == "make":
        kind, of = _wanted(visit, form.get("opens", ""))
        return _shown(
            visit, make_link(file, site, LinkRequest(kind=kind, of=of, name=form.get("name", "").strip()))
        )
    link = next((one for one in links_of(file, site) if str(one.number) == form.get("link")), None)
    if link is None:
        raise UsageError("there is no such link any more")
    if form.get("do") not in {"renew", "revoke"}:
        raise UsageError("choose what becomes of the link")
    if form.get("sure") != "yes":
        return visit.html(
            "coordinator/link-sure.html",
            line=_line(visit, link),
            what=form["do"],
            kept={"do": form["do"], "link": form["link"], "links": form["links"]},
        )
    if form["do"] == "renew":
        return _shown(visit, renew_link(file, site, link.name))
    revoke_link(file, site, link.name)
    visit.live.look(now=True)
    return visit.back("#round")


def _stand(visit: PageVisit) -> int:
    """Return a number that grows with every change of the links. A page may be of before: it has none."""
    stand = visit.live.moment.stand
    return stand.link if stand is not None else 0


def _shown(visit: PageVisit, issued: IssuedLink) -> Response:
    """Return the page of a new link, with its address and code."""
    visit.live.look(now=True)
    link, base = issued.link, visit.base
    feed = f"{base}{issued.feed_path}"
    address = f"{base}{issued.page_path}" if link.is_page else feed
    return visit.html(
        "coordinator/link.html",
        line=_line(visit, link),
        address=address,
        feed=feed if link.is_page else "",
        code=code_svg(address) if leads_elsewhere(address) else "",
    )


def _line(visit: PageVisit, link: Link) -> LinkLine:
    site = visit.tended.described
    there = site.enclosures if link.kind == "enclosure" else site.keepers
    name = next((one.name for one in there if one.id == link.of), link.of or "everybody")
    used = link.fetched.date() if link.fetched is not None else None
    own = link.hash == visit.found.link.hash
    return LinkLine(link, SAID[link.kind].format(name), used, is_dead(site, link), own)


def _choices(visit: PageVisit) -> list[tuple[str, str]]:
    """Return what a new link may open, each with its words. Who answers for the site is named on the command
    line: nobody makes another one from a page."""
    site = visit.tended.described
    return [
        *((f"page/{k.id}", SAID["page"].format(k.name)) for k in site.keepers),
        *((f"rounds/{k.id}", SAID["rounds"].format(k.name)) for k in site.keepers),
        *((f"enclosure/{e.id}", SAID["enclosure"].format(e.name)) for e in site.enclosures),
        ("site/", SAID["site"]),
    ]


def _wanted(visit: PageVisit, opens: str) -> tuple[LinkKind, str]:
    if opens not in {value for value, _ in _choices(visit)}:
        raise UsageError("choose what the link opens")
    kind, _, of = opens.partition("/")
    return cast("LinkKind", kind), of
