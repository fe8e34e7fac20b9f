"""The rota that holds, published anew where something is new: what people subscribe to has to hold still."""

from __future__ import annotations

import datetime as dt
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.workflow.live.moment import Moment, Observed
from scheduler.workflow.plan import plan_after
from scheduler.workflow.rota.publication import renew
from scheduler.workflow.rota.site_rota import rota_to_export
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.workflow.plan import Planned
    from scheduler.workflow.rota.site_rota import SiteRota


@dataclass(frozen=True, slots=True)
class _Shown:
    """A rota, the state of which it is, and the last entry that its plan knows."""

    state: str
    rota: SiteRota
    entry: int


class RotaCache:
    """The rota of a site as of now. One thread makes it, and others wait for it."""

    def __init__(self, observed: Observed, file: Path, as_of: dt.date | None) -> None:
        """Begin without one; `as_of` counts as today where it is given."""
        self._observed, self._file, self._as_of = observed, file, as_of
        self._lock = threading.Lock()
        self._shown: _Shown | None = None

    def current(self) -> SiteRota | None:
        """Return the rota that holds; None where there are no keepers."""
        with self._lock:
            while (moment := self._observed.moment).site.keepers:
                state = moment.state
                if self._shown is not None and self._shown.state == state:
                    return self._shown.rota
                shown = rota_to_export(
                    Workspace(self._file, moment.site, moment.today), moment.today, self._plan_of(moment)
                )
                if renew(Workspace(self._file, moment.site, moment.today, self._as_of), shown):
                    state = self._after_publication(moment)
                self._shown = _Shown(state, shown, moment.entry)
                if state == self._observed.moment.state:
                    return shown
            return None

    def _after_publication(self, before: Moment) -> str:
        """Return of which state a rota is that was just published: the one after it, unless something else is
        new too."""
        self._observed.look(now=True)
        now = self._observed.moment
        same = (now.content, now.today, now.entry) == (before.content, before.today, before.entry)
        return now.state if same else before.state

    def _plan_of(self, moment: Moment) -> Planned | None:
        """Return the plan of the rota that was shown, brought up to now; None where it has to be made
        anew."""
        if self._shown is None:
            return None
        planned = self._shown.rota.planned
        if (
            planned.described is not moment.site
            or planned.today != moment.today
            or self._shown.entry > moment.entry
        ):
            return None
        return plan_after(self._observed.log(), planned, self._shown.entry)[0]
