"""The collections of a server: found (RFC 6764, RFC 5397, RFC 4791 section 6.2.1), chosen, made."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urljoin
from xml.sax.saxutils import escape

from scheduler.errors import UsageError, clip
from scheduler.sheets.terminal import safe
from scheduler.sync.address import path_of
from scheduler.sync.errors import SyncError

if TYPE_CHECKING:
    from scheduler.sync.session import Session

WELL_KNOWN = "/.well-known/caldav"
MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Collection:
    """A calendar collection: its address, its name, and the kinds of entries it takes (empty: the server does
    not say)."""

    url: str
    name: str
    kinds: frozenset[str] = frozenset()

    @property
    def last(self) -> str:
        """Return the last part of its address."""
        return safe(path_of(self.url).rstrip("/").rpartition("/")[2])

    def takes(self, kind: str) -> bool:
        """Tell whether entries of a kind may be put there."""
        return not self.kinds or kind in self.kinds


@dataclass(frozen=True, slots=True)
class ServerHome:
    """What an address leads to: the home of somebody's collections, or one collection."""

    home: str
    one: Collection | None = None


_ABOUT = (
    "<d:resourcetype/><d:displayname/><d:current-user-principal/><c:calendar-home-set/>"
    "<c:supported-calendar-component-set/>"
)


def find(connection: Session) -> ServerHome:
    """Return what the address of a connection leads to. SyncError where there is no CalDAV."""
    url = connection.address.url
    for start in (url, urljoin(url, WELL_KNOWN)):
        found = connection.properties(start, _ABOUT)
        if not found:
            continue
        where, about = found[0]
        home = _href(connection, where, about, "calendar-home-set")
        principal = _href(connection, where, about, "current-user-principal")
        if home is None and principal is not None:
            own = connection.properties(principal, "<c:calendar-home-set/>")
            home = _href(connection, principal, own[0][1], "calendar-home-set") if own else None
        if home is not None:
            return ServerHome(_folder(home), _collection(where, about) if start == url else None)
    raise SyncError(
        f"{clip(url, 200)} is no CalDAV server, or nothing is there for this user; write the URL that "
        "your calendar program has"
    )


def collections_in(connection: Session, home: str) -> list[Collection]:
    """Return the calendar collections of a home, in the order of their addresses."""
    wanted = "<d:resourcetype/><d:displayname/><c:supported-calendar-component-set/>"
    found = (_collection(where, about) for where, about in connection.properties(home, wanted, 1))
    return sorted((one for one in found if one is not None), key=lambda one: one.url)


def named(collections: list[Collection], name: str) -> Collection:
    """Return the collection of a name: the one that it shows, or the last part of its address.

    UsageError where it is not one.
    """
    low = name.casefold()
    found = [one for one in collections if one.name.casefold() == low]
    found = found or [one for one in collections if one.last.casefold() == low]
    if len(found) == 1:
        return found[0]
    if found:
        parts = ", ".join(clip(one.last) for one in found[:MOST_NAMED])
        raise UsageError(
            f"several collections are called {clip(name)}; write the last part of the address: {parts}"
        )
    there = ", ".join(clip(one.name) for one in collections[:MOST_NAMED]) or "none"
    raise UsageError(
        f"there is no collection {clip(name)}; there are: {there}. Without --collection one is made for "
        "each keeper"
    )


def left_over(
    place: ServerHome, there: list[Collection], known: list[str], name: str, used: Iterable[Collection]
) -> list[Collection]:
    """Return the collections that were made for a site under `name`, are `known` to its log, and are used no
    more.

    They are those of keepers who left, or of everybody before there were keepers.
    """
    prefix, paths = path_of(urljoin(place.home, quote(name))), {path_of(one.url) for one in used}
    ours = [one for one in there if one.url in known and path_of(one.url) not in paths]
    return [
        one
        for one in ours
        if path_of(one.url).rstrip("/") == prefix or path_of(one.url).startswith(f"{prefix}-")
    ]


def own(
    connection: Session, place: ServerHome, there: list[Collection], name: str, *, title: str, kind: str
) -> Collection:
    """Return the collection of a name of ours in a home, made where it is not there (RFC 4791, section
    5.3.1)."""
    url = urljoin(place.home, quote(name) + "/")
    for one in there:
        if path_of(one.url) == path_of(url):
            return one
    body = (
        '<?xml version="1.0"?><c:mkcalendar xmlns:d="DAV:" '
        'xmlns:c="urn:ietf:params:xml:ns:caldav"><d:set><d:prop>'
        f"<d:displayname>{escape(safe(title))}</d:displayname><c:supported-calendar-component-set>"
        f'<c:comp name="{kind}"/></c:supported-calendar-component-set></d:prop></d:set></c:mkcalendar>'
    )
    reply = connection.ask("MKCALENDAR", url, body)
    if not reply.good and not reply.says("resource-must-be-null"):
        raise SyncError(
            f"{connection.address.host} does not make the collection {name} (status {reply.status}); make "
            "one there and name "
            "it with --collection"
        )
    return Collection(url, title, frozenset({kind}))


def _collection(where: str, about: Any) -> Collection | None:
    kind = about.find(".//{DAV:}resourcetype")
    if kind is None or kind.find("{urn:ietf:params:xml:ns:caldav}calendar") is None:
        return None
    kinds = {part.get("name", "") for part in about.iter("{urn:ietf:params:xml:ns:caldav}comp")}
    url = _folder(where)
    name = safe((about.findtext(".//{DAV:}displayname") or "").strip())
    made = Collection(url, name, frozenset(kinds))
    return made if name else Collection(url, made.last, made.kinds)


def _href(connection: Session, base: str, about: Any, name: str) -> str | None:
    """Return the address that a property holds. SyncError where it is of another server."""
    for part in about.iter(f"{{*}}{name}"):
        text = (part.findtext("{DAV:}href") or "").strip()
        if text:
            found = connection.absolute(base, text)
            if found is None:
                raise SyncError(
                    f"the collections are at {clip(text, 200)}, which is another server; write that "
                    "address if you trust it"
                )
            return found
    return None


def _folder(url: str) -> str:
    return url if url.endswith("/") else url + "/"
