"""A site as it is served: its description read again when it changes, its feeds made anew when something is
new.

Everything that lasts is in the log: links, and the feeds as they were last served. What an object here holds
is only at hand, so that any number of processes serve the same bytes.

Each part has a lock of its own. They are taken in this order: that of the feeds or that of the pages, then
that of the rota, then that of the look (`Freshness`). Nobody takes an earlier one while holding a later one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.description.site import Keeper
from scheduler.errors import LogError, SchedulerError
from scheduler.workflow.clock import today_in
from scheduler.workflow.editing.edit import finish_edit
from scheduler.workflow.editing.journal import journal_of
from scheduler.workflow.feeds.links import hashed
from scheduler.workflow.live.description import LiveDescription
from scheduler.workflow.live.feed_cache import FeedCache, file_name
from scheduler.workflow.live.freshness import Freshness, said_of
from scheduler.workflow.live.link_table import LinkTable, LinkTarget
from scheduler.workflow.live.moment import Moment
from scheduler.workflow.live.page_cache import Made, PageCache
from scheduler.workflow.live.rota_cache import RotaCache
from scheduler.workflow.lost_names import lost_names
from scheduler.workflow.site_log import log_url, open_to_record
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.log.feed_cache import CachedFeed
    from scheduler.log.links import LogState
    from scheduler.workflow.live.page_record import PageRecorder
    from scheduler.workflow.live.round_page import RoundPage
    from scheduler.workflow.rota.site_rota import SiteRota

Talk = Callable[[str], None]


class BrokenError(SchedulerError):
    """The plan of a site cannot be made, for a reason that is no mistake of the description that anybody
    knows."""


class LiveSite:
    """One site, served. Safe to use from several threads. LogError where the log cannot be reached."""

    def __init__(self, file: Path, key: bytes, talk: Talk, as_of: dt.date | None = None) -> None:
        """Read the description. DescriptionError when it is wrong; `as_of` counts as today where it is
        given."""
        self.file, self._key, self._as_of = file, key, as_of
        self._notices = _Notices(file.name, talk)
        self._description = LiveDescription(file, hashed(key, f"description/{file.absolute()}"), talk)
        self._freshness = Freshness(self._notices.tell, lambda: self._description.reads)
        self._links = LinkTable(key)
        self._feeds, self._pages, self._rota = FeedCache(self), PageCache(self), RotaCache(self, file, as_of)
        self._log: tuple[str, Log] | None = None
        site = self._description.now.site
        today = as_of or today_in(site)
        self.moment = Moment(site.on(today), self._description.now.content, today)
        # A log that is away is told by whoever asks for something.
        with suppress(LogError):
            self._tell_lost_names()

    @property
    def problem(self) -> str:
        """Return the first mistake of the description, where an earlier one goes on; empty where it has
        none."""
        return self._description.problem

    @property
    def site(self) -> Site:
        """Return the site as it was last described without a mistake."""
        return self.moment.site

    @property
    def today(self) -> dt.date:
        """Return the day at the site."""
        return self.moment.today

    @property
    def stand(self) -> LogState | None:
        """Return how far the log was; None before it was asked."""
        return self.moment.stand

    @property
    def state(self) -> str:
        """Return what changes whenever a feed or a page may."""
        return self.moment.state

    # --- what is new ---

    def is_fresh(self) -> bool:
        """Tell whether somebody looked a moment ago."""
        return self._freshness.is_fresh()

    def look(self, *, now: bool = False) -> None:
        """See what is new in the description and the log, where nobody did so a moment ago; with `now` in any
        case."""
        with self._freshness.turn(now=now) as is_needed:
            if is_needed:
                self._look()

    def _look(self) -> None:
        from scheduler.log.links import stand

        if journal_of(self.file).exists():
            # Somebody was killed over a change; where it cannot be finished, what was read goes on.
            with suppress(SchedulerError):
                finish_edit(self.file)
        self._description.look()
        log = self._log_of(self._description.now.site)
        self._description.agree(log)
        # The log may have had a newer one.
        read = self._description.now
        log = self._log_of(read.site)
        seen = stand(log, read.site.settings.id)
        self._links.refresh(log, log_url(self.file, read.site), read.site.settings.id, seen.link)
        self._tell_lost_names()
        today = self._as_of or today_in(read.site)
        self.moment = Moment(read.site.on(today), read.content, today, seen)

    def _tell_lost_names(self) -> None:
        """Say which names of the log the description has no more, once for each form of the description."""
        read = self._description.now
        if self._notices.is_new("lost names", read.content):
            for lost in lost_names(self.file, read.site):
                self._notices.tell(lost.words)
            self._notices.told("lost names", read.content)

    def log(self) -> Log:
        """Return the log, open to be written."""
        return self._log_of(self.site)

    def _log_of(self, site: Site) -> Log:
        url = log_url(self.file, site)
        if self._log is None or self._log[0] != url:
            self._log = (url, open_to_record(self.file, site))
        return self._log[1]

    def log_place(self) -> str:
        """Return where the log is."""
        return log_url(self.file, self.site)

    # --- links ---

    def find(self, secret: str) -> LinkTarget | None:
        """Return what a secret opens, as far as was last seen; None where it opens nothing here."""
        return self._links.find(secret)

    def seal(self, secret: str, day: dt.date, seen: str) -> str:
        """Return the seal of a form: who does not know the page cannot make it, nor for another day."""
        return hashed(self._key, f"form/{secret}/{day}/{seen}")[:32]

    def is_use_noted(self, target: LinkTarget) -> bool:
        """Tell whether a link's use was noted within the hour."""
        return self._links.is_use_noted(target)

    def note_use(self, target: LinkTarget) -> None:
        """Note that a link was used, once in an hour."""
        self._links.note_use(target, self.log, self.site.settings.id)

    # --- feeds and pages ---

    def feed_at_hand(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed where it is at hand and still of now; None where `feed` has to look."""
        return self._feeds.at_hand(target)

    def last_feed(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed as it was last made, however old; None where it never was."""
        return self._feeds.last(target)

    def feed(self, target: LinkTarget) -> CachedFeed | None:
        """Return a feed as of now, made anew where something is new; None where there is none of it any
        more."""
        with self._telling():
            return self._feeds.current(target)

    def file_name(self, target: LinkTarget) -> str:
        """Return the file name of what a link opens; empty where it is no longer described."""
        return file_name(self.site, target)

    def rota(self) -> SiteRota | None:
        """Return the rota that holds, published anew where something is new; None where there are no
        keepers."""
        return self._rota.current()

    def tended(self) -> RoundPage:
        """Return the site as its pages show it now."""
        with self._telling():
            return self._pages.current()

    def derived(self, tended: RoundPage, name: str, make: Callable[[], Made]) -> Made:
        """Return what is worked out from what pages show now, made once for all who look."""
        return self._pages.derived(tended, name, make)

    def tending(self, tended: RoundPage, keeper: Keeper | None) -> PageRecorder:
        """Return what records for a page."""
        from scheduler.workflow.live.page_record import PageRecorder

        space = Workspace(self.file, tended.described, tended.today, self._as_of)
        return PageRecorder(space=space, keeper=keeper)

    @contextmanager
    def _telling(self) -> Iterator[None]:
        """Tell once what a description brings about that nobody has thought of.

        BrokenError, for this site alone.
        """
        try:
            yield
        except SchedulerError:
            raise
        except Exception as error:
            said = said_of(error)
            if self._notices.is_new("broken", said):
                self._notices.tell(f"its plan cannot be made: {said}")
            self._notices.told("broken", said)
            raise BrokenError(said) from error


class _Notices:
    """What whoever runs the server is told of a site, each matter once as long as it stays the same."""

    def __init__(self, name: str, talk: Talk) -> None:
        self._name, self._talk = name, talk
        self._told: dict[str, str] = {}

    def tell(self, text: str) -> None:
        """Say something of the site."""
        self._talk(f"{self._name}: {text}")

    def is_new(self, matter: str, state: str) -> bool:
        """Tell whether a matter is not as it was when it was told last."""
        return self._told.get(matter) != state

    def told(self, matter: str, state: str) -> None:
        """Remember that a matter was told as it is."""
        self._told[matter] = state
