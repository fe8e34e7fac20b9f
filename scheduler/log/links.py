"""Links: who may fetch which feed, or open which page.

The secret itself is nowhere, only keyed hashes of it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

import sqlalchemy as sa

from scheduler.errors import UsageError, clip
from scheduler.log.rows import TEXT_LENGTH, check_text, unreadable
from scheduler.log.store import Log
from scheduler.log.tables import entry, link, rota

LinkKind = Literal["site", "enclosure", "rounds", "page", "coordinator"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What a secret opens: the feed of the site, of an enclosure, of a keeper's rounds, a keeper's page, or
    the pages of a keeper who answers for the whole site.

    `of` is the enclosure's or keeper's id; a page without one is of the whole site. `form` says how a feed is
    written. `hash` is that of the secret, `calendar_hash` that of the secret of a page's own feed, else
    empty. Times are UTC, without zone; `fetched` is known to the hour. A page that is `offline` may be kept
    for use without a network. The log gives the number.
    """

    name: str
    kind: LinkKind
    of: str = ""
    form: str = ""
    hash: str
    calendar_hash: str = ""
    made: dt.datetime
    revoked: dt.datetime | None = None
    fetched: dt.datetime | None = None
    offline: bool = False
    number: int = 0

    @property
    def is_page(self) -> bool:
        """Tell whether it opens a page, not a feed."""
        return self.kind in ("page", "coordinator")


@dataclass(frozen=True, slots=True)
class LogState:
    """How far the log of a site is: numbers that grow with everything that is added or changed."""

    entry: int
    rota: int
    link: int


_site: sa.BindParameter[str] = sa.bindparam("site")
# Made once: it is asked at every request. What is revoked moves the count, since a link is never un-revoked;
# so does a change.
_NUMBERS = sa.select(
    *(
        sa.select(sa.func.coalesce(sa.func.max(t.c.number), 0)).where(t.c.site == _site).scalar_subquery()
        for t in (entry, rota, link)
    ),
    sa.select(sa.func.count(link.c.revoked) + sa.func.coalesce(sa.func.sum(link.c.changes), 0))
    .where(link.c.site == _site)
    .scalar_subquery(),
)


def stand(log: Log, site: str) -> LogState:
    """Return how far the log of a site is; cheap, so that it can be asked all the time."""
    with log.reading() as connection:
        if connection is None:
            return LogState(0, 0, 0)
        found = connection.execute(_NUMBERS, {"site": site}).one()
        return LogState(found[0], found[1], found[2] + found[3])


def links(log: Log, site: str) -> list[Link]:
    """Return all links of a site in the order in which they were made, revoked ones too."""
    with log.reading() as connection:
        if connection is None:
            return []
        with unreadable():
            rows = connection.execute(sa.select(link).where(link.c.site == site).order_by(link.c.number))
            return [
                Link(
                    name=r.name,
                    kind=cast("LinkKind", r.kind),
                    of=r.of_,
                    form=r.form,
                    hash=r.hash,
                    calendar_hash=r.calendar_hash,
                    made=r.made,
                    revoked=r.revoked,
                    fetched=r.fetched,
                    offline=r.offline,
                    number=r.number,
                )
                for r in rows
            ]


def change_links(
    log: Log, site: str, add: Sequence[Link] = (), revoke: Sequence[int] = (), *, now: dt.datetime
) -> None:
    """Revoke links by number and add others, all or nothing.

    UsageError for texts that are too long or no text, and for a name that a link that holds has already.
    """
    for one in add:
        check_text("name", one.name, TEXT_LENGTH)
    with log.writing(site) as connection:
        if revoke:
            connection.execute(
                sa.update(link)
                .where(link.c.site == site, link.c.number.in_(revoke), link.c.revoked.is_(None))
                .values(revoked=now)
            )
        held = sa.select(link.c.name).where(link.c.site == site, link.c.revoked.is_(None))
        names = set(connection.execute(held).scalars())
        for one in add:
            if one.name in names:
                raise UsageError(
                    f"there is a link {clip(one.name)} already; --renew gives it a new secret, --name "
                    "another name"
                )
            connection.execute(
                sa.insert(link).values(
                    site=site,
                    name=one.name,
                    kind=one.kind,
                    of_=one.of,
                    form=one.form,
                    hash=one.hash,
                    calendar_hash=one.calendar_hash,
                    made=one.made,
                    offline=one.offline,
                )
            )


def set_offline(log: Log, site: str, number: int, *, offline: bool) -> None:
    """Let the page of a link that holds be kept for use without a network, or no more; every process sees
    that."""
    with log.writing(site) as connection:
        connection.execute(
            sa.update(link)
            .where(link.c.site == site, link.c.number == number, link.c.revoked.is_(None))
            .where(link.c.offline != offline)
            .values(offline=offline, changes=link.c.changes + 1)
        )


def note_fetched(log: Log, site: str, number: int, when: dt.datetime) -> None:
    """Note that something was fetched by a link."""
    with log.writing(site) as connection:
        connection.execute(sa.update(link).where(link.c.number == number).values(fetched=when))
