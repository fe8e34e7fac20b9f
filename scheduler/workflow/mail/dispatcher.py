"""Mails while a site is served: one thread that looks every few seconds whether any are due, and sends them.

It is in no request's way, and outlives a mail server that cannot be reached: that is said once, and tried
again later.
"""

from __future__ import annotations

import datetime as dt
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field

from scheduler.errors import SchedulerError, clip
from scheduler.mail.submission import MailError, Submission
from scheduler.workflow.clock import now_in
from scheduler.workflow.live.site import LiveSite, Talk
from scheduler.workflow.live.sites import Sites
from scheduler.workflow.mail.reminders import PostOffice, asks, deliver

LOOK_SECONDS = 5.0
"""So often it is looked: what changes at eight is in the mailbox well before a minute is over."""

FIRST_WAIT = 10.0
LONGEST_WAIT = 600.0
"""So many seconds what failed is left alone at first; each time it fails again twice as long, and no longer
than the other."""


@dataclass(slots=True)
class _Put:
    """Something that failed: until when it is put off, how long that was, and what was said of it."""

    until: float
    seconds: float
    said: str


@dataclass(slots=True)
class MailDispatcher:
    """Sends the mails of some sites. `as_of` counts as today."""

    sites: Sites
    post: PostOffice
    talk: Talk
    as_of: dt.date | None = None
    _put_off: dict[str, _Put] = field(default_factory=dict)

    def start(self) -> None:
        """Begin, in a thread that ends with the process: a mail in hand is sent by whoever looks next."""
        threading.Thread(target=self._run, name="mails", daemon=True).start()

    def _run(self) -> None:
        while True:
            self.look()
            time.sleep(LOOK_SECONDS)

    def look(self) -> None:
        """Send what is due, once."""
        if self._waits(SERVER):
            return
        # Whose log is away has said so; the others go on.
        with suppress(SchedulerError):
            self.sites.look()
        for live in self.sites:
            try:
                self._look_at(live)
            except MailError as error:
                self._fails(SERVER, str(error))
                return
            except SchedulerError:
                # The site has said what is wrong with it.
                continue
            except Exception as error:
                # One site must not cost the others their mails, whatever it is.
                self._fails(
                    f"{live.file}/", f"{live.file.name}: no mails: {type(error).__name__}: {clip(str(error))}"
                )

    def _look_at(self, live: LiveSite) -> None:
        site = live.site
        if not asks(site) or self._waits(f"{live.file}/"):
            return
        shown = live.tended()
        now = now_in(site, self.as_of)
        if shown.today != now.date():
            # It is midnight; the next look is of the new day.
            return
        waiting = [keeper.id for keeper in site.keepers if self._waits(f"{live.file}/{keeper.id}")]
        with Submission(self.post.server, self.post.sender) as submission:
            for one in deliver(live.log(), shown, submission, now, waiting):
                if self._put_off.pop(SERVER, None) is not None:
                    self.talk(f"{self.post.server.name} takes mails again")
                whose = f"{live.file}/{one.keeper.id}"
                if not one.failure:
                    self._put_off.pop(whose, None)
                elif one.refused:
                    # The log knows it; it is told once for each day.
                    self.talk(f"{live.file.name}: {one.keeper.name}: {one.failure}")
                else:
                    self._fails(whose, f"{live.file.name}: {one.keeper.name}: {one.failure}")

    def _waits(self, what: str) -> bool:
        put = self._put_off.get(what)
        return put is not None and time.monotonic() < put.until

    def _fails(self, what: str, said: str) -> None:
        """Put something off that failed, and say so where it was not said already."""
        before = self._put_off.get(what)
        if before is None or before.said != said:
            self.talk(said)
        seconds = FIRST_WAIT if before is None else min(2 * before.seconds, LONGEST_WAIT)
        self._put_off[what] = _Put(time.monotonic() + seconds, seconds, said)


SERVER = ""
"""What names the mail server among what is put off."""
