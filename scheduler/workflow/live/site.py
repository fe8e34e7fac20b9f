"""A site as it is served: its description read again when it changes, its feeds made anew when something is new.

Everything that lasts is in the log: links, and the feeds as they were last served. What an object here holds is only
at hand, so that any number of processes serve the same bytes.
"""

from __future__ import annotations

import datetime as dt
import gzip
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from hashlib import blake2b, sha256
from hmac import compare_digest
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description.site import Keeper
from scheduler.errors import LogError, SchedulerError, clip
from scheduler.history import DONE_DAYS
from scheduler.workflow.clock import now_utc, today_in
from scheduler.workflow.feeds.composition import compose
from scheduler.workflow.feeds.feed_set import FeedSet
from scheduler.workflow.feeds.links import hashed
from scheduler.workflow.live.description import LiveDescription
from scheduler.workflow.lost_names import lost_names
from scheduler.workflow.plan import make_plan, plan_after
from scheduler.workflow.rota.publication import renew
from scheduler.workflow.rota.site_rota import rota_to_export
from scheduler.workflow.site_log import history_in, log_url, open_to_record

if TYPE_CHECKING:
    from scheduler.calendar import Options
    from scheduler.log import Log
    from scheduler.log.feed_cache import Shelved
    from scheduler.log.links import Link, Stand
    from scheduler.rota import Rota
    from scheduler.workflow.live.page_record import Tending
    from scheduler.workflow.live.round_page import Tended
    from scheduler.workflow.plan import Planned
    from scheduler.workflow.rota.site_rota import Rostered

GLANCE_SECONDS = 0.2
"""So long what was seen is taken as still so where nobody's link rests on it: while a feed is made, and for how a server is."""

ANSWER_SECONDS = 5.0
"""So long one waits for somebody else who waits for the log; a database may be there and not answer."""

READ_SECONDS = 20.0
"""So long one waits for a description that somebody else is reading; its disk may be there and not answer."""

FAILED_SECONDS = 1.0
"""A log that did not answer is not asked again for so long."""

FETCHED_HOURS = 1
"""How exactly it is known when a link was last used. House value: a calendar program asks several times a day."""

USE_AGAIN = dt.timedelta(minutes=1)
"""A log that could not be written is not asked again for so long to note that a link was used."""

SERVED_WEEKS = 104
"""How far the single dates of a feed reach, as in an export."""

VERSION = version("pondround")

Talk = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Found:
    """What a secret opens: a link, and whether it was the secret of a page's own calendar."""

    link: Link
    calendar: bool

    @property
    def is_feed(self) -> bool:
        """Return whether it opens a feed, not a page."""
        return self.calendar or self.link.kind != "page"


class BrokenError(SchedulerError):
    """The plan of a site cannot be made, for a reason that is no mistake of the description that anybody knows."""


def _said(error: Exception) -> str:
    return str(error) if isinstance(error, SchedulerError) else f"{type(error).__name__}: {clip(str(error))}"


class LiveSite:
    """One site, served. Safe to use from several threads. LogError where the log cannot be reached."""

    def __init__(self, file: Path, key: bytes, talk: Talk, as_of: dt.date | None = None) -> None:
        """Read the description. DescriptionError when it is wrong; `as_of` counts as today where it is given."""
        self.file, self._key, self._talk, self._as_of = file, key, talk, as_of
        self._lock, self._making, self._tending = threading.Lock(), threading.Lock(), threading.Lock()
        self._sharing = threading.Lock()
        self._description = LiveDescription(file, hashed(key, f"description/{file.absolute()}"), talk)
        self.site, self._told_of = self._description.now.site, ""
        self.today: dt.date = as_of or today_in(self.site)
        self.stand: Stand | None = None
        self.state = ""
        self._log: Log | None = None
        self._log_url = ""
        self._links: dict[str, Found] = {}
        self._links_of = ("", "", 0)
        self._used: dict[int, dt.datetime] = {}
        # By site and form: a description may become that of another site.
        self._feeds: dict[tuple[str, str], tuple[str, dict[str, Shelved]]] = {}
        self._tended: tuple[str, Tended] | None = None
        # With the state of which it is, and the last entry that its plan knows.
        self._shown: tuple[str, Rostered, int] | None = None
        self._fresh_until = 0.0
        self._failure = ""
        self._failed_until = 0.0
        self._broken = ""
        # A log that is away is told by whoever asks for something.
        with suppress(LogError):
            self._tell_lost_names()

    @property
    def problem(self) -> str:
        """Return the first mistake of the description, where an earlier one goes on; empty where it has none."""
        return self._description.problem

    # --- what is new ---

    def is_fresh(self) -> bool:
        """Tell whether somebody looked a moment ago."""
        return time.monotonic() < self._fresh_until

    def look(self, *, now: bool = False) -> None:
        """See what is new in the description and the log, where nobody did so a moment ago; with `now` in any case."""
        self._refuse_if_failed()
        began = time.monotonic()
        while not self._lock.acquire(timeout=ANSWER_SECONDS):
            # A long description takes its time; but where somebody waits for log or disk so long, not everybody has to.
            if not self._description.reads or time.monotonic() - began > READ_SECONDS:
                raise self._failed(LogError("the log, or the disk of the description, does not answer"))
        try:
            if not now and self.is_fresh():
                return
            self._refuse_if_failed()
            try:
                self._look()
            except LogError as error:
                raise self._failed(error) from None
            except Exception as error:
                raise self._failed(LogError(f"it cannot be looked at: {_said(error)}")) from error
            if self._failure:
                self._talk(f"{self.file.name}: the log is within reach again")
            self._failure = ""
        finally:
            self._lock.release()

    def _refuse_if_failed(self) -> None:
        """Raise LogError where the log has failed a moment ago: whoever waited for it does not wait once more."""
        if self._failure and time.monotonic() < self._failed_until:
            raise LogError(self._failure)

    def _failed(self, error: LogError) -> LogError:
        if not self._failure:
            self._talk(f"{self.file.name}: {error}")
        self._failure, self._failed_until = str(error), time.monotonic() + FAILED_SECONDS
        return error

    def _look(self) -> None:
        from scheduler.log.links import links, stand

        self._description.look()
        self.site = self._description.now.site
        log = self.log()
        self._description.agree(log)
        if self.site is not self._description.now.site:
            self.site = self._description.now.site
            log = self.log()
        new = stand(log, self.site.place.id)
        if (self._log_url, self.site.place.id, new.link) != self._links_of:
            self._links = {
                value: Found(link, calendar)
                for link in links(log, self.site.place.id)
                if link.revoked is None
                for value, calendar in ((link.hash, False), (link.calendar_hash, True))
                if value
            }
            self._links_of = (self._log_url, self.site.place.id, new.link)
        self._tell_lost_names()
        # Never blank in between: other threads read this while one looks.
        self.stand, self.today = new, self._as_of or today_in(self.site)
        told = f"{VERSION}/{self._description.now.content}/{self.today}/{new.entry}/{new.rota}"
        self.state = blake2b(told.encode(), digest_size=16).hexdigest()
        self._fresh_until = time.monotonic() + GLANCE_SECONDS

    def _tell_lost_names(self) -> None:
        """Say which names of the log the description has no more, once for each form of the description."""
        content = self._description.now.content
        if content != self._told_of:
            for lost in lost_names(self.file, self.site):
                self._talk(f"{self.file.name}: {lost.words}")
            self._told_of = content

    def log(self) -> Log:
        """Return the log, open to be written."""
        url = self.log_place()
        if self._log is None or self._log_url != url:
            self._log, self._log_url = open_to_record(self.site, self.file), url
        return self._log

    def log_place(self) -> str:
        """Return where the log is."""
        return log_url(self.site, self.file)

    def find(self, secret: str) -> Found | None:
        """Return what a secret opens, as far as was last seen; None where it opens nothing here."""
        own = hashed(self._key, secret)
        found = self._links.get(own)
        if found is None:
            return None
        kept = found.link.calendar_hash if found.calendar else found.link.hash
        return found if compare_digest(kept, own) else None

    # --- feeds ---

    def feed_at_hand(self, found: Found) -> Shelved | None:
        """Return a feed where it is at hand and still of now; None where `feed` has to look."""
        made = self._feeds.get((self.site.place.id, found.link.form))
        if made is None or made[0] != self.state:
            return None
        return made[1].get(self.file_name(found))

    def last_feed(self, found: Found) -> Shelved | None:
        """Return a feed as it was last made, however old; None where it never was."""
        made = self._feeds.get((self.site.place.id, found.link.form))
        return None if made is None else made[1].get(self.file_name(found))

    def feed(self, found: Found) -> Shelved | None:
        """Return a feed as of now, made anew where something is new; None where there is none of it any more."""
        with self._making, self._telling():
            return self._made(found.link.form).get(self.file_name(found))

    @contextmanager
    def _telling(self) -> Iterator[None]:
        """Tell once what a description brings about that nobody has thought of. BrokenError, for this site alone."""
        try:
            yield
        except SchedulerError:
            raise
        except Exception as error:
            said = _said(error)
            if said != self._broken:
                self._talk(f"{self.file.name}: its plan cannot be made: {said}")
            self._broken = said
            raise BrokenError(said) from error

    # --- pages ---

    def tended(self) -> Tended:
        """Return the site as its pages show it now."""
        with self._telling():
            return self._tended_now()

    def _tended_now(self) -> Tended:
        from scheduler.workflow.live.round_page import tended

        self.look(now=True)
        # One after the other: of many who tick at once the last one's page is that of all.
        with self._tending:
            shown = self._rota()
            site, stand, state = self.site, self.stand, self.state
            assert stand is not None
            held = self._tended
            if held is None or held[0] != state:
                before = held[1] if held is not None and held[1].stand.entry <= stand.entry else None
                held = self._tended = (
                    state,
                    tended(self.log(), site, self.today, stand, shown=shown, before=before),
                )
            return held[1]

    def tending(self, tended: Tended, keeper: Keeper | None) -> Tending:
        """Return what records for a page."""
        from scheduler.workflow.live.page_record import Tending

        return Tending(
            file=self.file, site=tended.described, today=tended.today, keeper=keeper, as_of=self._as_of
        )

    def seal(self, secret: str, day: dt.date, seen: str) -> str:
        """Return the seal of a form: who does not know the page cannot make it, nor for another day."""
        return hashed(self._key, f"form/{secret}/{day}/{seen}")[:32]

    def is_use_noted(self, found: Found) -> bool:
        """Tell whether a link's use was noted within the hour."""
        last = self._used.get(found.link.number)
        return last is not None and now_utc() - last < dt.timedelta(hours=FETCHED_HOURS)

    def note_use(self, found: Found) -> None:
        """Note that a link was used, once in an hour. Where the log does not take it, that is tried again in a while."""
        from scheduler.log.links import note_fetched

        now = now_utc()
        last = found.link.fetched
        if last is not None and dt.timedelta(0) <= now - last < dt.timedelta(hours=FETCHED_HOURS):
            self._used[found.link.number] = last
            return
        self._used[found.link.number] = now - dt.timedelta(hours=FETCHED_HOURS) + USE_AGAIN
        try:
            note_fetched(self.log(), self.site.place.id, found.link.number, now)
        except LogError:
            # It is of no use to whoever asked; what they asked for says by itself whether the log is away.
            return
        self._used[found.link.number] = now

    def file_name(self, found: Found) -> str:
        """Return the file name of what a link opens; empty where it is no longer described."""
        from scheduler.calendar import Feed
        from scheduler.workflow.feeds.draft import name_of

        site, link = self.site, found.link
        options = _options(link.form)
        enclosure = (
            next((e for e in site.enclosures if e.id == link.of), None) if link.kind == "enclosure" else None
        )
        keeper = (
            next((k for k in site.keepers if k.id == link.of), None)
            if link.kind in ("rounds", "page")
            else None
        )
        if link.of and enclosure is None and keeper is None:
            return ""
        return name_of(Feed(site=site, options=options, enclosure=enclosure, keeper=keeper))

    def _made(self, form: str) -> dict[str, Shelved]:
        """Return the feeds of a form as of now. Only one thread at a time comes here."""
        from scheduler.log.feed_cache import served_of, shelve, shelved
        from scheduler.log.revisions import revisions_of

        self.look()
        while True:
            state = self.state
            log, site = self.log(), self.site
            here = (site.place.id, form)
            there = self._feeds.get(here)
            if there is not None and there[0] == state:
                return there[1]
            before = served_of(log, site.place.id, form)
            kept = shelved(log, site.place.id, form)
            if before == state:
                self._feeds[here] = (state, kept)
                return kept
            shown = self._rota()
            if state != self.state:
                # A rota was published, which is news for the feeds.
                continue
            known = revisions_of(log, site.place.id, form)
            new, books = self._composed(form, kept, known, shown.rota if shown is not None else None)
            if state != self.state:
                # The description or the log has changed meanwhile: it may be half of the one and half of the other.
                continue
            if shelve(log, site.place.id, form, new, before=before, of=state, books=books):
                self._feeds[here] = (state, new)
                return new
            # Somebody else was faster.
            self.look(now=True)

    def _rota(self) -> Rostered | None:
        """Return the rota that holds, published anew where something is new: what people subscribe to has to hold still."""
        with self._sharing:
            while self.site.keepers:
                state, stand = self.state, self.stand
                if self._shown is not None and self._shown[0] == state:
                    return self._shown[1]
                content, today = self._description.now.content, self.today
                entry = stand.entry if stand is not None else 0
                shown = rota_to_export(self.file, self.site, today, today, self._planned(entry))
                if renew(self.file, self.site, shown, self._as_of):
                    self.look(now=True)
                    known = (self._description.now.content, self.today, self.stand and self.stand.entry)
                    state = self.state if known == (content, today, stand and stand.entry) else state
                self._shown = (state, shown, entry)
                if state == self.state:
                    return shown
            return None

    def _planned(self, entry: int) -> Planned | None:
        """Return the plan of the rota that was shown, brought up to now; None where it has to be made anew."""
        if self._shown is None:
            return None
        _, shown, known = self._shown
        planned = shown.planned
        if planned.described is not self.site or planned.today != self.today or known > entry:
            return None
        return plan_after(self.log(), planned, known)[0]

    def _composed(
        self, form: str, kept: dict[str, Shelved], known: dict[str, bytes], rota: Rota | None
    ) -> tuple[dict[str, Shelved], dict[str, bytes]]:
        """Return the feeds of a form, and what was published of those of which there is news."""
        site, today = self.site, self.today
        history = history_in(self.log(), site, today, today - dt.timedelta(days=DONE_DAYS))
        planned = make_plan(site, today, today, SERVED_WEEKS * 7, history)
        shelf = FeedSet(lambda name: kept[name].body() if name in kept else b"", known)
        with closing(shelf):
            compose(
                planned,
                shelf,
                _options(form),
                keep_starts=True,
                rota=rota,
            )
        now = now_utc()
        made = {name: _shelved(body, kept.get(name), now) for name, body in shelf.feeds.items()}
        return made, {name: book for name, book in shelf.books.items() if known.get(name) != book}


def _options(form: str) -> Options:
    from scheduler.calendar import Options

    whole = True if "all-day" in form else False if "at-hours" in form else None
    return Options(all_day=whole, alarms="alarms" in form, each_job="each-job" in form)


def _shelved(body: bytes, was: Shelved | None, now: dt.datetime) -> Shelved:
    """Return a feed as it is kept. Its time of change only grows, or a calendar program that compares times would be stuck."""
    from scheduler.log.feed_cache import Shelved

    etag = sha256(body).hexdigest()[:32]
    if was is not None and was.etag == etag:
        return was
    modified = now if was is None else max(now, was.modified + dt.timedelta(seconds=1))
    return Shelved(etag, modified, len(body), gzip.compress(body, 6, mtime=0))
