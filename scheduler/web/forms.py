"""The forms of a page, read with care: no more bytes and no more seconds than a form takes."""

from __future__ import annotations

import asyncio
from urllib.parse import parse_qsl, urlsplit

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request

MOST_BYTES = 200_000
MOST_FIELDS = 2_000
MOST_SECONDS = 10.0
"""A form is a few hundred bytes; a sheet of two dozen tanks has a few hundred fields, and a note of 10,000
characters of any script is read to be told that it is too long. House values.
"""


URL_ENCODED = "application/x-www-form-urlencoded"


async def read_form(request: Request) -> dict[str, str]:
    """Return the fields of a posted form.

    HTTPException where it is none, too long, too slow, or from another site.
    """
    # Browsers say where a form was posted from; `Origin` is null where pages send no referrer.
    origin, site = (
        _once(request, name, instead)
        for name, instead in (("origin", "null"), ("sec-fetch-site", "same-origin"))
    )
    if site not in ("same-origin", "none") or (origin != "null" and _place(origin) != request.url.netloc):
        raise HTTPException(403, "This form was sent from another site.")
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != URL_ENCODED:
        raise HTTPException(415)
    length = request.headers.get("content-length", "0")
    if not length.isdecimal() or len(length) > 12 or int(length) > MOST_BYTES:
        raise HTTPException(413)
    body = b""
    try:
        async with asyncio.timeout(MOST_SECONDS):
            async for block in request.stream():
                body += block
                if len(body) > MOST_BYTES:
                    raise HTTPException(413)
    except (TimeoutError, ClientDisconnect):
        raise HTTPException(408, "The form did not come in time.") from None
    try:
        pairs = parse_qsl(
            body.decode("ascii"),
            keep_blank_values=True,
            strict_parsing=bool(body),
            errors="strict",
            max_num_fields=MOST_FIELDS,
        )
    except ValueError:
        raise HTTPException(400) from None
    return dict(pairs)


def _once(request: Request, name: str, instead: str) -> str:
    """Return a field of the head; one that says two things is no word to go by."""
    said = request.headers.getlist(name) or [instead]
    if len(said) > 1:
        raise HTTPException(403, "This form was sent from another site.")
    return said[0]


def _place(origin: str) -> str:
    """Return the host and port of an origin; nothing where it is none."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""
