"""What stands before every handler: limits on what comes in, and the headers of everything that goes out."""

from __future__ import annotations

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from scheduler.web.conditional import http_date
from scheduler.workflow.clock import now_utc

MOST_PATH = 512

MOST_FIELDS, MOST_HEAD = 100, 16_384
"""So many header fields of a request are read, of so many bytes together.

Browsers send some 20, of 2 kB. House values.
"""


MOST_HOST = 1000
"""So long a host may be, with its port.

RFC 1035, section 2.3.4: a name has 255 bytes at most; no more fits into a code to scan either.
"""


SECURITY = [
    (b"content-security-policy", b"default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"),  # noqa: E501
    (b"referrer-policy", b"no-referrer"),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"x-robots-tag", b"noindex, nofollow"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
]  # fmt: skip


OFFLINE = b"; script-src 'self'; worker-src 'self'; connect-src 'self'; manifest-src 'self'"
"""What the policy of a page gains that may be kept for use without a network: its own script and worker, and
nothing else."""


class SecurityMiddleware:
    """An ASGI application before another one."""

    def __init__(self, app: ASGIApp) -> None:
        """Take the other one."""
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, with headers added to its answer."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            elif scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1000})
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [
                    *message["headers"],
                    (b"date", http_date(now_utc()).encode()),
                    *_policy(scope),
                ]
            await send(message)

        status = _too_much(scope) or _no_host(scope)
        if status:
            await guarded(
                {"type": "http.response.start", "status": status, "headers": [(b"content-length", b"0")]}
            )
            await guarded({"type": "http.response.body", "body": b""})
            return
        await self.app(scope, receive, guarded)


def _policy(scope: Scope) -> list[tuple[bytes, bytes]]:
    """Return the headers of every answer; a page that is offered for use without a network may run its
    script."""
    if not scope.get("state", {}).get("offline"):
        return SECURITY
    (name, policy), *others = SECURITY
    return [(name, policy + OFFLINE), *others]


def _too_much(scope: Scope) -> int:
    """Return the status that refuses a request with an address or a head that is too long; 0 where they are
    not."""
    if len(scope["raw_path"]) > MOST_PATH or len(scope["query_string"]) > MOST_PATH:
        return 414
    fields = scope["headers"]
    if len(fields) > MOST_FIELDS or sum(len(name) + len(value) for name, value in fields) > MOST_HEAD:
        return 431
    return 0


def _no_host(scope: Scope) -> int:
    """Return 400 for a request that names no host, or two, or one longer than any; 0 where it names one.

    RFC 9112, section 3.2: it has to name one from HTTP/1.1 on. That one may be empty.
    """
    hosts = [value for name, value in scope["headers"] if name == b"host"]
    named = len(hosts) == 1 or (not hosts and scope.get("http_version") == "1.0")
    return 0 if named and all(len(host) <= MOST_HOST for host in hosts) else 400
