"""The script of pages that may be kept for use without a network, the worker that keeps them, and their
icon."""

from __future__ import annotations

import hashlib
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

STATIC = Path(__file__).parent / "static"

SCRIPT, WORKER, ICON = ((STATIC / name).read_bytes() for name in ("offline.js", "sw.js", "icon.svg"))

SCRIPT_ADDRESS = f"/offline-{hashlib.sha256(SCRIPT).hexdigest()[:16]}.js"
"""It changes with the script: a browser may keep what it has for ever."""

ICON_ADDRESS = "/icon.svg"

QUEUED = ("done", "all-done", "reading", "readings")
"""The forms that the script keeps until there is a network, by the last part of the address to which they are
sent."""


async def _script(request: Request) -> Response:
    if request.url.path != SCRIPT_ADDRESS:
        raise HTTPException(404)
    headers = {"Cache-Control": "public, max-age=31536000, immutable"}
    return Response(SCRIPT, media_type="text/javascript", headers=headers)


async def _icon(request: Request) -> Response:
    return Response(ICON, media_type="image/svg+xml", headers={"Cache-Control": "public, max-age=86400"})


ROUTES = [
    Route("/offline-{hash}.js", _script, methods=["GET"]),
    Route(ICON_ADDRESS, _icon, methods=["GET"]),
]
"""The files that are the same for all pages."""
