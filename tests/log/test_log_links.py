"""Links and served feeds in the log: what is kept of them, and that two who change the same thing do not both win."""

from __future__ import annotations

import datetime as dt
import gzip
from dataclasses import replace

import pytest
from support.logged import DAY, NOW, SITE, done

from scheduler.errors import LogError, UsageError
from scheduler.log import Log, open_log
from scheduler.log.feed_cache import CachedFeed, cache_feeds, cached_state, shelved
from scheduler.log.links import Link, LogState, change_links, links, note_fetched, set_offline, stand
from scheduler.log.rotas import Published

HASH = "0123456789abcdef" * 4


def link(name: str, **more: object) -> Link:
    return Link(**{"name": name, "kind": "site", "hash": name.ljust(64, "0"), "made": NOW, **more})  # type: ignore[arg-type]


def names(log: Log, site: str = SITE) -> list[tuple[str, bool]]:
    return [(one.name, one.revoked is not None) for one in links(log, site)]


def test_a_link_is_kept_as_it_was_made(url: str) -> None:
    page = link("sam", kind="page", of="sam", form="all-day+alarms", calendar_hash=HASH)
    with open_log(url) as log:
        change_links(log, SITE, [link("site"), page], now=NOW)
        change_links(log, "other-site", [link("site", hash=HASH)], now=NOW)
        assert [replace(one, number=0) for one in links(log, SITE)] == [link("site"), page]
        assert [one.number for one in links(log, SITE)] == sorted({one.number for one in links(log, SITE)})
        assert names(log, "other-site") == [("site", False)]


def test_what_is_revoked_stays_so(url: str) -> None:
    later = NOW + dt.timedelta(days=1)
    with open_log(url) as log:
        change_links(log, SITE, [link("a"), link("b")], now=NOW)
        first = links(log, SITE)[0].number
        change_links(log, SITE, revoke=[first], now=NOW)
        change_links(log, SITE, revoke=[first], now=later)
        assert links(log, SITE)[0].revoked == NOW
        # Of another site nothing is revoked by a number of this one.
        change_links(log, "other-site", revoke=[links(log, SITE)[1].number], now=NOW)
        assert names(log) == [("a", True), ("b", False)]


def test_whether_a_page_may_be_kept_is_changed_for_links_that_hold(url: str) -> None:
    with open_log(url) as log:
        change_links(log, SITE, [link("a", offline=True), link("b"), link("c")], now=NOW)
        a, b, c = (one.number for one in links(log, SITE))
        change_links(log, SITE, revoke=[c], now=NOW)
        for number in (b, c):
            set_offline(log, SITE, number, offline=True)
        set_offline(log, SITE, a, offline=False)
        # A number of this site is none of another one.
        set_offline(log, "other-site", b, offline=False)
        assert [(one.name, one.offline) for one in links(log, SITE)] == [
            ("a", False),
            ("b", True),
            ("c", False),
        ]


def test_all_or_nothing(url: str) -> None:
    with open_log(url) as log:
        change_links(log, SITE, [link("a")], now=NOW)
        number = links(log, SITE)[0].number
        with pytest.raises(UsageError):
            change_links(log, SITE, [link("b"), link("c" * 1000)], [number], now=NOW)
        assert names(log) == [("a", False)]


def test_the_stand_moves_with_whatever_is_added_or_changed(url: str) -> None:
    with open_log(url) as log:
        seen = [stand(log, SITE)]
        assert seen == [LogState(0, 0, 0)]

        def moved(part: str) -> bool:
            """Tell whether a part of the stand, and no other, has grown."""
            seen.append(stand(log, SITE))
            was, now = seen[-2:]
            grown = {name for name in ("entry", "rota", "link") if getattr(now, name) > getattr(was, name)}
            return grown == {part} and replace(now, **{part: getattr(was, part)}) == was

        [(entry, _)] = log.record(SITE, [done()])
        assert moved("entry")
        log.void(SITE, entry.uid(SITE), keeper="", note="", recorded=NOW)
        assert moved("entry")
        change_links(log, SITE, [link("a"), link("b")], now=NOW)
        assert moved("link")
        change_links(log, SITE, revoke=[links(log, SITE)[0].number], now=NOW)
        assert moved("link")
        # Of two links the later one is revoked as well: no number of a link grows, and it shows all the same.
        change_links(log, SITE, revoke=[links(log, SITE)[1].number], now=NOW)
        assert moved("link")
        change_links(log, SITE, [link("c"), link("d", offline=True)], now=NOW)
        assert moved("link")
        c, d = (one.number for one in links(log, SITE)[2:])
        # On and off again, and one on where another goes off: each is news.
        for number, offline in ((c, True), (c, False), (c, True), (d, False)):
            set_offline(log, SITE, number, offline=offline)
            assert moved("link")
        log.publish(SITE, Published(DAY, DAY, NOW, ()))
        assert moved("rota")
        # What is known already, what another site does, and a fetch are no news.
        log.record("other-site", [done()])
        note_fetched(log, SITE, links(log, SITE)[0].number, NOW)
        set_offline(log, SITE, c, offline=True)
        assert stand(log, SITE) == seen[-1]
        assert links(log, SITE)[0].fetched == NOW


def test_there_is_nothing_without_a_log(tmp_path) -> None:
    with open_log(f"sqlite:///{tmp_path}/none.db", create=False) as log:
        assert stand(log, SITE) == LogState(0, 0, 0)
        assert (links(log, SITE), cached_state(log, SITE, ""), shelved(log, SITE, "")) == ([], "", {})
    assert list(tmp_path.iterdir()) == []


def feed(text: str, second: int = 0) -> CachedFeed:
    body = text.encode()
    return CachedFeed(
        text.ljust(32, "0"),
        NOW.replace(microsecond=0) + dt.timedelta(seconds=second),
        len(body),
        gzip.compress(body),
    )


def test_feeds_are_replaced_where_they_are_as_they_were_seen(url: str) -> None:
    one, two, three = (
        {"a.ics": feed("a"), "b.ics": feed("b")},
        {"a.ics": feed("a"), "b.ics": feed("B", 9)},
        {"a.ics": feed("x")},
    )
    with open_log(url) as log, open_log(url) as other:
        assert cache_feeds(log, SITE, "alarms", one, before="", of="s1")
        assert shelved(other, SITE, "alarms") == one
        assert cached_state(other, SITE, "alarms") == "s1"
        # Two saw s1; the one that comes second did not see what the first has made of it.
        assert cache_feeds(other, SITE, "alarms", two, before="s1", of="s2")
        assert not cache_feeds(log, SITE, "alarms", three, before="s1", of="s3")
        assert shelved(log, SITE, "alarms") == two
        assert cached_state(log, SITE, "alarms") == "s2"
        # What is not among the new ones is gone; other forms and other sites are not touched.
        assert cache_feeds(log, SITE, "", one, before="", of="s2")
        assert cache_feeds(log, "other-site", "alarms", one, before="", of="s1")
        assert cache_feeds(log, SITE, "alarms", three, before="s2", of="s3")
        assert shelved(log, SITE, "alarms") == three
        assert shelved(log, SITE, "") == shelved(log, "other-site", "alarms") == one
        assert shelved(log, SITE, "")["b.ics"].body() == b"b"


@pytest.mark.parametrize(
    "rubbish",
    [b"", b"no gzip", gzip.compress(b"a", mtime=0)[:-9], b"\x1f\x8b\x08" + b"\0" * 7 + b"\xff" * 20],
    ids=["empty", "no gzip", "cut off", "a head alone"],
)
def test_a_damaged_feed_is_told(url: str, rubbish: bytes) -> None:
    import sqlalchemy as sa

    with open_log(url) as log:
        cache_feeds(log, SITE, "", {"a.ics": feed("a")}, before="", of="s1")
        assert log._engine is not None
        with log._engine.begin() as connection:
            connection.execute(sa.text("UPDATE feed SET body = :body"), {"body": rubbish})
        (found,) = shelved(log, SITE, "").values()
        with pytest.raises(LogError, match="feeds that the log keeps are damaged"):
            found.body()
