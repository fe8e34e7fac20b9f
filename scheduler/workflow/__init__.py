"""The shell around the pure parts, one file a use case. Only here are the clock, the environment and files read, and files written."""

from scheduler.workflow.exporting import Exported, Progress, export
from scheduler.workflow.machine import machine_zone, today_in, use_newest_zones
from scheduler.workflow.naming import by_names, parse_day, pick
from scheduler.workflow.planning import MOST_DAYS, MOST_WEEKS, Planned, days_of, make_plan, uid_for
from scheduler.workflow.reading import read_site, sheets_beside
from scheduler.workflow.reviewing import changed_site, review, schema_text
from scheduler.workflow.starting import refuse_taken, write_starter

__all__ = [
    "MOST_DAYS",
    "MOST_WEEKS",
    "Exported",
    "Planned",
    "Progress",
    "by_names",
    "changed_site",
    "days_of",
    "export",
    "machine_zone",
    "make_plan",
    "parse_day",
    "pick",
    "read_site",
    "refuse_taken",
    "review",
    "schema_text",
    "sheets_beside",
    "today_in",
    "uid_for",
    "use_newest_zones",
    "write_starter",
]
