"""Where somebody lands after taking something back: at the job that is open again."""

from __future__ import annotations

from urllib.parse import quote

from scheduler.errors import SchedulerError
from scheduler.history import Entry
from scheduler.web.sheet import make_sheet
from scheduler.web.visit import PageVisit


def after_undo(visit: PageVisit, entry: Entry) -> str:
    """Return the end of the address: the row of the job, which says so; the work as a whole where it is not
    of today."""
    try:
        sheet = make_sheet(visit.live.tended(), visit.keeper)
    except SchedulerError:
        # It is taken back, whether that can be shown or not.
        return "#round"
    row = next((row for row in sheet.rows() if row.job.log_name == entry.job and not row.lends), None)
    return f"#again-{quote(row.anchor)}" if row is not None else "#round"
