"""Links: secrets that open a feed or a page, made, listed, renewed and revoked.

Of a secret only a keyed hash is kept.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import hmac
import os
import re
import secrets
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.errors import UsageError, WriteError, clip
from scheduler.workflow.name_lookup import pick, pick_named
from scheduler.workflow.site_log import now_as_of, open_to_read, open_to_record

if TYPE_CHECKING:
    from scheduler.log.links import Link, LinkKind

KEY_VARIABLE = "PONDROUND_KEY"
KEY_FILE = "pondround.key"

SECRET_BYTES = 20
"""160 bits; 128 are asked for."""

SECRET = re.compile(r"[A-Za-z0-9_-]{27}")
"""What a secret looks like: 20 bytes in base64url (RFC 4648, section 5), without padding."""

FORMS = ("all-day", "alarms", "at-hours", "each-job")
"""How a feed may be written, in the order in which they are named."""


@dataclass(frozen=True, slots=True)
class IssuedLink:
    """A link with its secrets, which nobody can tell again: its own, and of a page that of its calendar."""

    link: Link
    secret: str
    calendar: str = ""

    @property
    def page_path(self) -> str:
        """Return where its page is on the server; "" for a feed."""
        if not self.link.is_page:
            return ""
        return f"/round/{self.secret}{'/site' if self.link.kind == 'coordinator' else ''}"

    @property
    def feed_path(self) -> str:
        """Return where its feed is on the server: of a page that of its own calendar."""
        return f"/feeds/{self.calendar or self.secret}.ics"


def key_of(file: Path, *, make: bool) -> bytes:
    """Return the key with which secrets are hashed: PONDROUND_KEY, else of a file beside the description.

    With `make` the file is written where there is none, for its owner alone. UsageError for a key that is too
    short, WriteError where none can be written.
    """
    given = os.environ.get(KEY_VARIABLE)
    if given is not None:
        if len(given.encode()) < 32:
            raise UsageError(
                f"{KEY_VARIABLE} is too short for a key; set it to what `openssl rand -hex 32` prints"
            )
        return given.encode()
    path = file.absolute().parent / KEY_FILE
    try:
        if make and not path.exists():
            _write_key(path)
        text = path.read_bytes().strip()
    except FileNotFoundError:
        raise UsageError(
            f"there is no {KEY_FILE} beside {file.name} yet: make a link first, pondround links "
            f"{file.name} --site"
        ) from None
    except OSError as error:
        raise WriteError(f"{path} cannot be used: {error.strerror}") from None
    if len(text) < 32:
        raise UsageError(f"{path} holds no key; take it away, and make new links")
    return text


def _write_key(path: Path) -> None:
    handle, name = tempfile.mkstemp(prefix=".pondround-", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "w") as stream:
            stream.write(secrets.token_hex(32) + "\n")
            stream.flush()
            os.fsync(stream.fileno())
        # A link, unlike a renaming, never replaces the key that somebody else has just made.
        with suppress(FileExistsError):
            os.link(name, path)
    finally:
        Path(name).unlink()


def hashed(key: bytes, secret: str) -> str:
    """Return the keyed hash of a secret: HMAC-SHA256 (RFC 2104), in hexadecimal."""
    return hmac.digest(key, secret.encode(), "sha256").hex()


def calendar_secret(secret: str) -> str:
    """Return the secret of a page's own feed: who has the page can subscribe, and who has the feed cannot
    open the page."""
    raw = hmac.new(secret.encode(), b"calendar", hashlib.sha256).digest()[:SECRET_BYTES]
    return base64.urlsafe_b64encode(raw).decode().rstrip("=")


def links_of(file: Path, site: Site) -> list[Link]:
    """Return the links of a site that hold, in the order in which they were made."""
    from scheduler.log.links import links

    log = open_to_read(file, site)
    if log is None:
        return []
    with log:
        return [link for link in links(log, site.settings.id) if link.revoked is None]


def is_dead(site: Site, link: Link) -> bool:
    """Tell whether a link opens nothing, since the keeper or the enclosure that it is of is not in the
    description."""
    there = site.enclosures if link.kind == "enclosure" else site.keepers
    return bool(link.of) and all(one.id != link.of for one in there)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkRequest:
    """What a new link opens; `of` names an enclosure or a keeper.

    A page may be `offline`: kept for use without a network.
    """

    kind: LinkKind
    of: str = ""
    name: str = ""
    forms: Sequence[str] = ()
    offline: bool = False


def make_link(file: Path, site: Site, wanted: LinkRequest) -> IssuedLink:
    """Make a link. UsageError for an enclosure or a keeper that is not there, and for a name that another
    link has."""
    from scheduler.log.links import change_links

    kind, of = wanted.kind, ""
    if kind == "enclosure":
        of = pick_named(wanted.of, site.enclosures, "enclosure").id
    elif kind in ("rounds", "coordinator") or (kind == "page" and wanted.of):
        of = pick_named(wanted.of, site.keepers, "keeper").id
    elif kind == "page" and len(site.keepers) > 1:
        raise UsageError(f"say whose page: {', '.join(k.name for k in site.keepers)}")
    key = key_of(file, make=True)
    there = links_of(file, site)
    form = "+".join(form for form in FORMS if form in wanted.forms)
    name = wanted.name or _free("-".join([kind, *([of] if of else [])]), {one.name for one in there})
    if not name.isprintable() or not name.strip():
        raise UsageError(f"{clip(name)} is no name of a link; use letters, digits and spaces")
    if wanted.offline:
        _refuse_offline(kind)
    opened = _new(key, kind, of, name=name, form=form, now=now_as_of(site, None), offline=wanted.offline)
    with open_to_record(file, site) as log:
        change_links(log, site.settings.id, [opened.link], now=opened.link.made)
    return opened


def renew_link(file: Path, site: Site, name: str, *, offline: bool | None = None) -> IssuedLink:
    """Give a link a new secret; the old one opens nothing any more.

    UsageError where there is none of that name.

    Its page may be kept for use without a network as before, or as `offline` says.
    """
    from scheduler.log.links import change_links

    key = key_of(file, make=True)
    old = pick(name, {one.name: one for one in links_of(file, site)}, "link")
    if offline:
        _refuse_offline(old.kind)
    kept = old.offline if offline is None else offline
    opened = _new(
        key, old.kind, old.of, name=old.name, form=old.form, now=now_as_of(site, None), offline=kept
    )
    with open_to_record(file, site) as log:
        change_links(log, site.settings.id, [opened.link], [old.number], now=opened.link.made)
    return opened


def revoke_link(file: Path, site: Site, name: str) -> Link:
    """Revoke a link for good, and return it. UsageError where there is none of that name."""
    from scheduler.log.links import change_links

    old: Link = pick(name, {one.name: one for one in links_of(file, site)}, "link")
    with open_to_record(file, site) as log:
        change_links(log, site.settings.id, (), [old.number], now=now_as_of(site, None))
    return old


def change_link(file: Path, site: Site, name: str, *, offline: bool) -> Link:
    """Let a page be kept for use without a network, or no more, and return its link as it was.

    UsageError where there is none of that name, and for a calendar.
    """
    from scheduler.log.links import set_offline

    old: Link = pick(name, {one.name: one for one in links_of(file, site)}, "link")
    _refuse_offline(old.kind)
    with open_to_record(file, site) as log:
        set_offline(log, site.settings.id, old.number, offline=offline)
    return old


def _refuse_offline(kind: LinkKind) -> None:
    if kind != "page":
        raise UsageError(
            "--offline is for the page of a round, made with --page; a calendar program keeps what it "
            "has by itself, and a coordinator's pages need the network"
        )


def _new(
    key: bytes, kind: LinkKind, of: str, *, name: str, form: str, now: dt.datetime, offline: bool
) -> IssuedLink:
    from scheduler.log.links import Link

    secret = secrets.token_urlsafe(SECRET_BYTES)
    link = Link(
        name=name,
        kind=kind,
        of=of,
        form=form,
        hash=hashed(key, secret),
        made=now,
        offline=offline,
    )
    if not link.is_page:
        return IssuedLink(link, secret)
    calendar = calendar_secret(secret)
    return IssuedLink(replace(link, calendar_hash=hashed(key, calendar)), secret, calendar)


def _free(name: str, taken: set[str]) -> str:
    return next(
        free for n in range(1, len(taken) + 2) if (free := name if n == 1 else f"{name}-{n}") not in taken
    )
