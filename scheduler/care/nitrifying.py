"""Whether bacteria turn the ammonia of an enclosure into nitrate: then nitrate is planned by, else
ammonia."""

from __future__ import annotations

import datetime as dt

from scheduler.care.engine.case import Case

LEAST_CYCLE_DAYS = 7
"""A biofilter takes a week at least (1 to 6: FAO aquaponics glossary): animals that come sooner live without
one."""


def nitrifies(case: Case) -> bool:
    """Tell whether nitrate is to be planned by: a filter that works, or a pond outdoors, whose own surfaces
    do the work.

    An enclosure whose filter is still being started before its animals come is planned as it will be: they
    come once the tests have passed. Where they came within the first week, or tests after their arrival have
    not passed, they live without a filter.
    """
    e = case.enclosure
    if e.cycled is False:
        return not _inhabited_early(case)
    # A description that does not say what is fed is not complete: what it leaves out need not be missing.
    return e.filter is not None or e.outdoors or e.feed.grams is None


def _inhabited_early(case: Case) -> bool:
    e = case.enclosure
    if not e.resident:
        return False
    since = [r.here_from for r in e.resident]
    if e.set_up is None or None in since:
        return True
    first = min(filter(None, since))
    if first < e.set_up + dt.timedelta(days=LEAST_CYCLE_DAYS):
        return True
    tested = [*case.readings("ammonia"), *case.readings("nitrite")]
    return any(entry.day > first for entry in tested)
