"""What is coming in the months ahead, from the plan of a site."""

from __future__ import annotations

import datetime as dt

from dateutil.relativedelta import relativedelta

from scheduler import care
from scheduler.care.outlook import Outlook
from scheduler.care.outlook import outlook as _outlook
from scheduler.description import Site
from scheduler.description.fields import LAST_DAY
from scheduler.history import NO_HISTORY, History
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.plan import make_plan

MOST_MONTHS = 36


def outlook(
    site: Site, today: dt.date, months: int, history: History = NO_HISTORY, enclosure: str | None = None
) -> Outlook:
    """Return the outlook of a site from today on, or of one enclosure by name: to the day before the same
    day, months later.

    UsageError when there is no enclosure of that name.
    """
    one = pick_named(enclosure, site.enclosures, "enclosure").id if enclosure is not None else None
    last = max(today, min(today + relativedelta(months=months) - dt.timedelta(days=1), LAST_DAY))
    planned = make_plan(site, today, today, (last - today).days + 1, history)
    cases = list(care.cases(site, today, care.with_implied(site, history)))
    # Not as occurrences in the order of days, of which a large site has a million: an outlook sorts its few
    # lines.
    found = ((day, s.job) for s in planned.series for day in s.between(today, last))
    return _outlook(cases, found, today, last, one)
