"""The page that brings a keeper's calendar and work sheet onto a phone, or says how else it is published."""

from __future__ import annotations

from urllib.parse import urlsplit

from starlette.responses import Response

from scheduler.web.codes import code_svg
from scheduler.web.reach import leads_elsewhere
from scheduler.web.visit import PageVisit
from scheduler.workflow.feeds.links import calendar_secret


def phones_page(visit: PageVisit) -> Response:
    """Return the page: with codes where others reach this server, else with the file and the ways to publish
    it."""
    feed = f"/feeds/{calendar_secret(visit.secret)}.ics"
    address, sheet = f"{visit.base}{feed}", f"{visit.base}{visit.path}"
    is_reached = leads_elsewhere(visit.base)
    place = urlsplit(visit.base)
    series = visit.tended.planned.series
    return visit.html(
        "phones.html",
        feed=feed,
        file=f"{visit.tended.site.settings.id}.ics",
        address=address,
        sheet=sheet,
        webcal=f"webcal://{address.partition('://')[2]}",
        code=code_svg(address) if is_reached else "",
        sheet_code=code_svg(sheet) if is_reached else "",
        is_reached=is_reached,
        secure=place.scheme == "https",
        host=place.hostname or "",
        port=place.port or (443 if place.scheme == "https" else 80),
        jobs=len({s.job.ref for s in series}),
        description=visit.live.file.name,
    )
