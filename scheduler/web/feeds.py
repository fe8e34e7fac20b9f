"""A feed as an answer to a request."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from scheduler.web.conditional import combined, http_date, takes_gzip, verdict
from scheduler.workflow.clock import now_utc

if TYPE_CHECKING:
    from scheduler.log.feed_cache import CachedFeed

UNPACKED_BYTES = 64_000_000
"""Feeds for clients that do not take gzip are kept unpacked up to so much memory."""

_unpacked: OrderedDict[str, bytes] = OrderedDict()


def feed_response(request: Request, feed: CachedFeed, name: str) -> Response:
    """Return a feed, or that it is not modified, as the conditions of the request ask (RFC 9110)."""
    asked = combined(request.headers.raw)
    packed = takes_gzip(asked.get("accept-encoding", ""))
    tag = f"{feed.etag}-gzip" if packed else feed.etag
    # A change of this second may carry a time that is still to come: two changes never share one.
    modified = min(feed.modified, now_utc())
    headers = {
        "ETag": f'"{tag}"',
        "Last-Modified": http_date(modified),
        "Cache-Control": "private, no-cache",
        "Vary": "Accept-Encoding",
    }
    said = verdict(asked, tag, feed.modified)
    if said == "failed":
        return Response(status_code=412, headers=headers)
    if said == "not modified":
        return Response(status_code=304, headers=headers)
    headers["Content-Type"] = "text/calendar; charset=utf-8"
    headers["Content-Disposition"] = f'inline; filename="{name}"'
    if packed:
        headers["Content-Encoding"] = "gzip"
    return Response(feed.packed if packed else _plain(feed), headers=headers)


def _plain(feed: CachedFeed) -> bytes:
    body = _unpacked.get(feed.etag)
    if body is None:
        body = _unpacked[feed.etag] = feed.body()
        while sum(map(len, _unpacked.values())) > UNPACKED_BYTES and len(_unpacked) > 1:
            _unpacked.popitem(last=False)
    else:
        _unpacked.move_to_end(feed.etag)
    return body
