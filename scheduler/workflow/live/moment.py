"""What was seen of a site at one look, whole: whoever reads it never has half of an edit."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from importlib.metadata import version
from typing import TYPE_CHECKING, Protocol

from scheduler.description import Site

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.log.links import LogState
    from scheduler.workflow.rota.site_rota import SiteRota

VERSION = version("pondround")


@dataclass(frozen=True)
class Moment:
    """A site as it was seen: its description with a fingerprint of it, the day there, and how far its log
    was.

    `stand` is None before the log was asked for the first time.
    """

    site: Site
    content: str
    today: dt.date
    stand: LogState | None = None

    @property
    def entry(self) -> int:
        """Return the number of the last entry of the log; 0 before it was asked."""
        return self.stand.entry if self.stand is not None else 0

    @cached_property
    def state(self) -> str:
        """What changes whenever a feed or a page may; empty before the log was asked."""
        if self.stand is None:
            return ""
        told = f"{VERSION}/{self.content}/{self.today}/{self.stand.entry}/{self.stand.rota}"
        return blake2b(told.encode(), digest_size=16).hexdigest()


class Observed(Protocol):
    """A site that is looked at, as what is kept of it sees it."""

    @property
    def moment(self) -> Moment:
        """What was seen last."""
        ...

    def look(self, *, now: bool = False) -> None:
        """See what is new, where nobody did so a moment ago; with `now` in any case. LogError."""
        ...

    def log(self) -> Log:
        """Return the log, open to be written. LogError."""
        ...

    def rota(self) -> SiteRota | None:
        """Return the rota that holds; None where there are no keepers. LogError."""
        ...
