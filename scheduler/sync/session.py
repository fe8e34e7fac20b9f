"""HTTP to a CalDAV server, by the caldav library. Loaded where a sync runs: it takes a third of a second.

The library negotiates how a password is sent, and reads XML safely. What it leaves open is closed here: it
keeps to one server, to an amount of bytes and to a time, and says what went wrong.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urljoin

from caldav.davclient import DAVClient
from caldav.lib import error
from caldav.lib.http_sync import requests

from scheduler.errors import clip
from scheduler.sync.address import Address, path_of, same_server
from scheduler.sync.errors import SyncError, UnreachableError

MOST_BYTES = 20_000_000
"""Largest answer that is read: a collection of 50,000 entries lists itself in less."""

TIMES_LONGER = 4
"""An answer that trickles in may take so many times as long as one byte is waited for."""

MOST_REDIRECTS = 5
_REDIRECTS = (301, 302, 307, 308)

# What it has to say is said here, in words that help.
logging.getLogger("caldav").setLevel(logging.CRITICAL + 1)

Element = Any
"""An element of lxml, whose types are not published."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What the server answered: status, entity tag (empty where it gave none), text, its XML where it is XML,
    and why not."""

    status: int
    etag: str = ""
    text: str = ""
    tree: Element | None = None
    conditions: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Tell whether the request was done."""
        return 200 <= self.status < 300

    def says(self, name: str) -> bool:
        """Tell whether the server gives a condition of this name as its reason (RFC 4918, section 16)."""
        return any(condition.endswith("}" + name) for condition in self.conditions)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer in the form in which the library reads one, read to its end."""

    status_code: int
    reason: str
    headers: Mapping[str, str]
    content: bytes
    url: str

    @property
    def text(self) -> str:
        """Return the content as text."""
        return self.content.decode("utf-8", "replace")


class _Guard:
    """Stands in for the library's session: redirects elsewhere, endless answers and endless waits end as
    failures."""

    def __init__(self, url: str, seconds: int) -> None:
        self._url, self._seconds = url, seconds
        self._session = requests.Session()
        # Neither another account from a .netrc nor a proxy that nobody named.
        self._session.trust_env = False

    def request(self, method: str, url: str, **options: Any) -> Answer:
        for _ in range(MOST_REDIRECTS):
            if not same_server(self._url, url):
                raise SyncError(
                    f"the server refers to {clip(url, 200)}, which is another one; nothing was sent there. "
                    "Write that address "
                    "if you trust it"
                )
            answer = self._once(method, url, options)
            target = answer.headers.get("Location")
            if answer.status_code not in _REDIRECTS or not target:
                return answer
            url = urljoin(url, target)
        raise SyncError("the server sends from one address to the next without end; check the URL")

    def _once(self, method: str, url: str, options: Mapping[str, Any]) -> Answer:
        end = time.monotonic() + self._seconds * TIMES_LONGER
        answer = self._session.request(method, url, stream=True, allow_redirects=False, **options)
        try:
            content = bytearray()
            # As it arrives, so that the clock is looked at between.
            for chunk in answer.iter_content(-1):
                content += chunk
                if len(content) > MOST_BYTES:
                    raise SyncError(
                        f"the server's answer is larger than {MOST_BYTES // 1_000_000} MB; that is more "
                        "than to-dos need. "
                        "Name a collection of their own with --collection"
                    )
                if time.monotonic() > end:
                    raise UnreachableError(
                        f"the server's answer took longer than {self._seconds * TIMES_LONGER} s; try again, "
                        "or give it more "
                        "with --timeout"
                    )
        finally:
            answer.close()
        return Answer(answer.status_code or 0, answer.reason or "", answer.headers, bytes(content), url)

    def close(self) -> None:
        self._session.close()


class Session:
    """Asks one server. A context manager; every method raises SyncError when the world refuses."""

    def __init__(self, address: Address, user: str | None, password: str | None, seconds: int) -> None:
        """Take who asks and how many seconds are waited; nothing is sent yet."""
        self.address, self._user, self._seconds = address, user if password else None, seconds
        self._client = DAVClient(
            url=address.url, username=user, password=password, timeout=seconds, enable_rfc6764=False
        )
        self._client.close()
        self._guard = _Guard(address.url, seconds)
        self._client.session = self._guard  # type: ignore[assignment]

    def __enter__(self) -> Session:
        """Return the connection."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let it go."""
        self._guard.close()

    def absolute(self, base: str, href: str) -> str | None:
        """Return the whole address of what the server names, or None where that is of another server."""
        try:
            url = urljoin(base, href.strip())
            return url if same_server(self.address.url, url) else None
        except ValueError:
            return None

    def ask(self, method: str, url: str, body: str = "", headers: Mapping[str, str] | None = None) -> Reply:
        """Send a request and return the reply, whatever its status; only who is not let in at all is refused
        here."""
        try:
            reply = self._client.request(url, method, body, headers or {})
        except error.AuthorizationError as refused:
            if refused.status == 403:
                return Reply(403, conditions=tuple(refused.preconditions))
            raise SyncError(self._not_let_in()) from None
        except error.RateLimitError:
            raise UnreachableError(f"{self.address.host} is busy; try again in a while") from None
        except requests.exceptions.Timeout:
            raise self._silent() from None
        except requests.exceptions.SSLError:
            raise UnreachableError(
                f"the certificate of {self.address.host} is not valid for it; check the URL, or have "
                "the server's mended"
            ) from None
        except (requests.exceptions.RequestException, OSError) as gone:
            if "timed out" in str(gone):
                raise self._silent() from None
            raise UnreachableError(
                f"{self.address.host} cannot be reached, or broke off; look whether it runs, and "
                "whether the URL is right"
            ) from None
        except SyntaxError:
            raise SyncError(f"{self.address.host} answers with broken XML; check the URL") from None
        except NotImplementedError:
            raise SyncError(
                f"{self.address.host} asks for a kind of login that is not known here; make an app "
                "password for it"
            ) from None
        etag = reply.headers.get("ETag") or ""
        # A weak tag says nothing about the bytes, and no change can be bound to it (RFC 9110, section 8.8.1).
        conditions = tuple(error.parse_preconditions(reply.raw)) if reply.status >= 400 else ()
        return Reply(reply.status, "" if etag.startswith("W/") else etag, reply.raw, reply.tree, conditions)

    def _silent(self) -> UnreachableError:
        return UnreachableError(
            f"{self.address.host} did not answer within {self._seconds} s; try again, or give it more "
            "with --timeout"
        )

    def _not_let_in(self) -> str:
        if self._user is None:
            return (
                f"{self.address.host} asks who you are; set PONDROUND_CALDAV_USER and "
                "PONDROUND_CALDAV_PASSWORD, or store the "
                "password with `keyring set pondround USER`"
            )
        return f"{self.address.host} does not let {clip(self._user)} in; check the user and the password"

    # --- what CalDAV asks ---

    def properties(self, url: str, wanted: str, depth: int = 0) -> list[tuple[str, Element]]:
        """Return what the server says of an address and, at depth 1, of what lies in it: (address, element)
        each.

        Nothing where it is no WebDAV (RFC 4918, section 9.1).
        """
        body = f'<?xml version="1.0"?><d:propfind {NAMES}><d:prop>{wanted}</d:prop></d:propfind>'
        reply = self.ask("PROPFIND", url, body, {"Depth": str(depth)})
        return list(self.responses(url, reply)) if reply.status == 207 else []

    def responses(self, url: str, reply: Reply) -> Iterator[tuple[str, Element]]:
        """Yield the parts of a reply of many parts; those of other servers are passed over."""
        for part in () if reply.tree is None else reply.tree.iter(f"{DAV}response"):
            where = self.absolute(url, part.findtext(f"{DAV}href") or "")
            if where is not None:
                yield where, part

    def listed(self, url: str) -> dict[str, tuple[str, str]] | None:
        """Return what lies in a collection, by path: (address, entity tag) each.

        None where there is no collection.
        """
        found = self.properties(url, "<d:getetag/>", 1)
        return {path_of(where): (where, _tag(part)) for where, part in found} if found else None

    def of_uid(self, url: str, kind: str, uid: str) -> str | None:
        """Return the address of the entry with a UID in a collection; None where there is none, or the server
        cannot say."""
        body = (
            f'<?xml version="1.0"?><c:calendar-query {NAMES}><d:prop><d:getetag/></d:prop><c:filter>'
            f'<c:comp-filter name="VCALENDAR"><c:comp-filter name="{kind}"><c:prop-filter name="UID">'
            "<c:text-match "
            f'collation="i;octet">{uid}</c:text-match></c:prop-filter></c:comp-filter></c:comp-filter>'
            "</c:filter></c:calendar-query>"
        )
        reply = self.ask("REPORT", url, body, {"Depth": "1"})
        return next((where for where, _ in self.responses(url, reply)), None)

    def put(self, url: str, text: str, condition: Mapping[str, str]) -> Reply:
        """Put a text at an address under a condition."""
        return self.ask("PUT", url, text, {"Content-Type": "text/calendar; charset=utf-8", **condition})


DAV = "{DAV:}"
CALDAV = "{urn:ietf:params:xml:ns:caldav}"
NAMES = 'xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"'


def _tag(part: Element) -> str:
    tag = (part.findtext(f".//{DAV}getetag") or "").strip()
    return "" if tag.startswith("W/") else tag
