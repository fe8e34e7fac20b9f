"""The address of a CalDAV server as it is given on the command line."""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import unquote, urlsplit

from scheduler.errors import UsageError, clip
from scheduler.hosts import is_this_machine

MOST_LETTERS = 2000

_PORTS = {"http": 80, "https": 443}
_LETTERS = re.compile(r"[!-~]+")


@dataclass(frozen=True, slots=True)
class Address:
    """Where to sync: the URL without who asks, and who asks where the URL says so."""

    url: str
    user: str | None

    @property
    def host(self) -> str:
        """Return the host, with its port where that is not the usual one: what a keeper recognises."""
        return urlsplit(self.url).netloc


def read_address(text: str, *, insecure: bool = False) -> Address:
    """Return the address that a text writes.

    UsageError for what is none, and for what would give a password away.

    Over plain http a password could be read on the way: it is for this machine alone, unless `insecure`.
    """
    if len(text) > MOST_LETTERS or _LETTERS.fullmatch(text) is None or "://" not in text:
        raise UsageError(f"{clip(_shown(text))} is no web address; write it as https://dav.example.org/")
    try:
        parts = urlsplit(text)
        port, host = parts.port, parts.hostname or ""
    except ValueError:
        raise UsageError(f"{clip(_shown(text))} is no web address; check its host and port") from None
    if parts.password is not None:
        # Never repeated: the terminal may be seen by others, and is kept.
        raise UsageError(
            "the address holds a password, which the shell keeps and others can see; leave it out, and set "
            "PONDROUND_CALDAV_PASSWORD or store it with `keyring set pondround USER`"
        )
    if parts.scheme not in _PORTS or not host:
        raise UsageError(f"{clip(text)} is no web address; write it as https://dav.example.org/")
    if parts.query or parts.fragment:
        raise UsageError(f"{clip(text)} goes on after its path; leave out what follows ? or #")
    if parts.scheme == "http" and not insecure and not is_this_machine(host):
        raise UsageError(
            f"{clip(text)} is not encrypted, so that others on the way could read the password; write "
            "https://, or add "
            "--insecure if the way is safe"
        )
    shown = f"[{host}]" if ":" in host else host
    suffix = f":{port}" if port is not None and port != _PORTS[parts.scheme] else ""
    user = unquote(parts.username) if parts.username else None
    return Address(f"{parts.scheme}://{shown}{suffix}{parts.path or '/'}", user)


def _shown(text: str) -> str:
    """Return an address without what may be a password in it."""
    return re.sub(r"//[^/]*@", "//...@", text)


def path_of(url: str) -> str:
    """Return what tells addresses of one server apart: the path, however its letters are escaped."""
    return unquote(urlsplit(url).path)


def same_server(one: str, other: str) -> bool:
    """Tell whether two addresses are of one server, so that what was entrusted to it may be sent to both."""
    a, b = urlsplit(one), urlsplit(other)
    try:
        ports = a.port or _PORTS.get(a.scheme), b.port or _PORTS.get(b.scheme)
    except ValueError:
        return False
    return (a.scheme, a.hostname) == (b.scheme, b.hostname) and ports[0] == ports[1]
