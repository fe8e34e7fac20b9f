"""The feeds of a site as they were last made: taken from the log where another process made them, else made
and kept there."""

from __future__ import annotations

import datetime as dt
import gzip
import threading
from contextlib import closing
from hashlib import sha256
from typing import TYPE_CHECKING

from scheduler.history import DONE_DAYS
from scheduler.workflow.clock import now_utc
from scheduler.workflow.feeds.composition import compose
from scheduler.workflow.feeds.feed_set import FeedSet
from scheduler.workflow.live.link_table import LinkTarget
from scheduler.workflow.live.moment import Moment, Observed
from scheduler.workflow.plan import make_plan
from scheduler.workflow.site_log import history_in

if TYPE_CHECKING:
    from scheduler.calendar import Options
    from scheduler.description import Site
    from scheduler.log import Log
    from scheduler.log.feed_cache import CachedFeed
    from scheduler.rota import Rota

SERVED_WEEKS = 104
"""How far the single dates of a feed reach, as in an export."""

Feeds = dict[str, "CachedFeed"]
"""Feeds by their file names."""


class FeedCache:
    """Feeds by the forms in which links ask for them. One thread makes them, and others wait for it."""

    def __init__(self, observed: Observed) -> None:
        """Begin with none."""
        self._observed = observed
        self._lock = threading.Lock()
        # By site and form: a description may become that of another site.
        self._made: dict[tuple[str, str], tuple[str, Feeds]] = {}

    def at_hand(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed where it is at hand and still of now; None where `current` has to look."""
        moment = self._observed.moment
        made = self._made.get((moment.site.settings.id, target.link.form))
        if made is None or made[0] != moment.state:
            return None
        return made[1].get(file_name(moment.site, target))

    def last(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed as it was last made, however old; None where it never was."""
        site = self._observed.moment.site
        made = self._made.get((site.settings.id, target.link.form))
        return None if made is None else made[1].get(file_name(site, target))

    def current(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed as of now, made anew where something is new; None where there is none of it any
        more."""
        with self._lock:
            feeds = self._current(target.link.form)
            return feeds.get(file_name(self._observed.moment.site, target))

    def _current(self, form: str) -> Feeds:
        from scheduler.log.feed_cache import cache_feeds, cached_state, shelved
        from scheduler.log.revisions import revisions_of

        observed = self._observed
        observed.look()
        while True:
            moment, log = observed.moment, observed.log()
            state, site = moment.state, moment.site
            here = (site.settings.id, form)
            there = self._made.get(here)
            if there is not None and there[0] == state:
                return there[1]
            before = cached_state(log, site.settings.id, form)
            kept = shelved(log, site.settings.id, form)
            if before == state:
                self._made[here] = (state, kept)
                return kept
            shown = observed.rota()
            if state != observed.moment.state:
                # A rota was published, which is news for the feeds.
                continue
            known = revisions_of(log, site.settings.id, form)
            new, books = _composed(moment, log, form, kept, known=known, rota=shown.rota if shown else None)
            if state != observed.moment.state:
                # The description or the log has changed meanwhile: it may be half of the one and half of the
                # other.
                continue
            if cache_feeds(log, site.settings.id, form, new, before=before, of=state, books=books):
                self._made[here] = (state, new)
                return new
            # Somebody else was faster.
            observed.look(now=True)


def file_name(site: Site, target: LinkTarget) -> str:
    """Return the file name of what a link opens; empty where it is no longer described."""
    from scheduler.calendar import Feed
    from scheduler.workflow.feeds.draft import name_of

    link = target.link
    enclosure = keeper = None
    if link.kind == "enclosure":
        enclosure = next((e for e in site.enclosures if e.id == link.of), None)
    if link.kind == "rounds" or link.is_page:
        keeper = next((k for k in site.keepers if k.id == link.of), None)
    if link.of and enclosure is None and keeper is None:
        return ""
    return name_of(Feed(site=site, options=_options(link.form), enclosure=enclosure, keeper=keeper))


def _options(form: str) -> Options:
    from scheduler.calendar import Options

    whole = True if "all-day" in form else False if "at-hours" in form else None
    return Options(all_day=whole, alarms="alarms" in form, each_job="each-job" in form)


def _composed(
    moment: Moment, log: Log, form: str, kept: Feeds, *, known: dict[str, bytes], rota: Rota | None
) -> tuple[Feeds, dict[str, bytes]]:
    """Return the feeds of a form, and what was published of those of which there is news."""
    site, today = moment.site, moment.today
    history = history_in(log, site, today, today - dt.timedelta(days=DONE_DAYS))
    planned = make_plan(site, today, today, SERVED_WEEKS * 7, history)
    feeds = FeedSet(lambda name: kept[name].body() if name in kept else b"", known)
    with closing(feeds):
        compose(planned, feeds, _options(form), keep_starts=True, rota=rota)
    now = now_utc()
    made = {name: _packed(body, kept.get(name), now) for name, body in feeds.feeds.items()}
    return made, {name: book for name, book in feeds.books.items() if known.get(name) != book}


def _packed(body: bytes, was: CachedFeed | None, now: dt.datetime) -> CachedFeed:
    """Return a feed as it is kept.

    Its time of change only grows, or a calendar program that compares times would be stuck.
    """
    from scheduler.log.feed_cache import CachedFeed

    etag = sha256(body).hexdigest()[:32]
    if was is not None and was.etag == etag:
        return was
    modified = now if was is None else max(now, was.modified + dt.timedelta(seconds=1))
    return CachedFeed(etag, modified, len(body), gzip.compress(body, 6, mtime=0))
