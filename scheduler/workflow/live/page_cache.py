"""What the pages of a site show, made once for all who look at them."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar, cast

from scheduler.workflow.live.moment import Observed

if TYPE_CHECKING:
    from scheduler.workflow.live.round_page import RoundPage


Made = TypeVar("Made")


class PageCache:
    """The round of a site as of now. One thread makes it, and others wait for it."""

    def __init__(self, observed: Observed) -> None:
        """Begin without one."""
        self._observed = observed
        self._lock = threading.Lock()
        self._made: tuple[str, RoundPage] | None = None
        self._derived: tuple[RoundPage | None, dict[str, object]] = (None, {})

    def current(self) -> RoundPage:
        """Return what pages show now."""
        from scheduler.workflow.live.round_page import tended

        self._observed.look(now=True)
        # One after the other: of many who tick at once the last one's page is that of all.
        with self._lock:
            shown = self._observed.rota()
            moment, made = self._observed.moment, self._made
            assert moment.stand is not None
            if made is None or made[0] != moment.state:
                before = made[1] if made is not None and made[1].stand.entry <= moment.entry else None
                page = tended(
                    self._observed.log(), moment.site, moment.today, moment.stand, shown=shown, before=before
                )
                made = self._made = (moment.state, page)
            return made[1]

    def derived(self, page: RoundPage, name: str, make: Callable[[], Made]) -> Made:
        """Return what is worked out from a page, made once as long as it is the page of now."""
        of, known = self._derived
        if of is not page:
            of, known = self._derived = (page, {})
        if name not in known:
            # Two who ask at once may both make it: it is the same.
            known[name] = make()
        return cast("Made", known[name])
