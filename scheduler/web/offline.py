"""Pages that may be kept for use without a network: where that is offered, and the parts that it takes.

Only a link that was made for it has it, and only over https or on the machine itself, where browsers allow
it.
"""

from __future__ import annotations

from collections.abc import Callable
from ipaddress import ip_address
from typing import Literal

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from scheduler.web.scripts import ICON_ADDRESS, WORKER
from scheduler.web.visit import HEADERS, PageVisit

Offer = Literal["", "insecure", "offered"]
"""Whether a page is offered for use without a network: nobody asked for it, it did not come safely enough, or
it is."""


def offer_of(request: Request, url: str, *, asked: bool) -> Offer:
    """Return whether a page is offered; `url` is the address under which others reach the server, where it is
    known.

    Browsers run workers over https and on the machine itself alone (W3C, Secure Contexts, section 3.1).
    """
    if not asked:
        return ""
    host, there = request.url.hostname or "", request.url.netloc
    secure = request.url.scheme == "https" or url == f"https://{there}" or _is_here(host)
    return "offered" if secure else "insecure"


def _is_here(host: str) -> bool:
    if host == "localhost" or host.endswith(".localhost"):
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def offline_parts() -> dict[str, Callable[[PageVisit], Response]]:
    """Return what shows the parts of a page that is offered, by the last part of their addresses."""
    return {"sw.js": _worker, "manifest.webmanifest": _manifest, "stand": _stand}


def _worker(visit: PageVisit) -> Response:
    # Its address is below the page's, so that it ends with the link; it may reach up to the page itself and
    # no other.
    headers = {"Cache-Control": "no-cache", "Service-Worker-Allowed": visit.path}
    return Response(WORKER, media_type="text/javascript", headers=headers)


def _manifest(visit: PageVisit) -> Response:
    """Return what a phone calls the page that somebody puts on its first screen (W3C, Web Application
    Manifest)."""
    name = visit.tended.site.settings.name
    manifest = {
        "id": visit.path,
        "name": name,
        "short_name": name[:30],
        "start_url": visit.path,
        "scope": visit.path,
        "display": "standalone",
        "background_color": "#f1f1e8",
        "theme_color": "#f1f1e8",
        "icons": [{"src": ICON_ADDRESS, "sizes": "any", "type": "image/svg+xml"}],
    }
    return JSONResponse(manifest, media_type="application/manifest+json", headers=HEADERS)


def _stand(visit: PageVisit) -> Response:
    """Return the day of the site and how far its log is, so that a page can tell whether it is of now."""
    return JSONResponse({"day": str(visit.tended.today), "seen": visit.seen}, headers=HEADERS)
