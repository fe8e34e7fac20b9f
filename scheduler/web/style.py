"""The look of all pages, at an address that changes with it: a browser may keep what it has for ever."""

from __future__ import annotations

import hashlib
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

STYLE = (Path(__file__).parent / "templates" / "style.css").read_bytes()

STYLE_ADDRESS = f"/style-{hashlib.sha256(STYLE).hexdigest()[:16]}.css"


async def style(request: Request) -> Response:
    """Answer with the style; at any other address than its own it is asked for anew, as after an update."""
    asked = request.url.path
    kept = "public, max-age=31536000, immutable" if asked == STYLE_ADDRESS else "public, max-age=3600"
    if asked not in (STYLE_ADDRESS, "/style.css"):
        raise HTTPException(404)
    return Response(STYLE, media_type="text/css", headers={"Cache-Control": kept})
