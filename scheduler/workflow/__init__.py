"""The shell around the pure parts, one file a use case.

Only here are the clock, the environment and files read, and files written.

Decisions
---------

Time zone data
    Python reads the system's database before the installed package's; the command takes the newer of the
    two, since after a country's change of law an old one is an hour off.

A lost name is told, never guessed at
    A lost name is told, never guessed at (`lost_names.py`). The log holds ids; a corrected name makes
    another id, and nothing in it says that the two are one. Whatever the log first heard of after it last
    heard of the lost one may be its new name, the most alike first. Keepers are looked for in the last
    10,000 entries and in the links: a walk through a million takes a second.
"""

from scheduler.description import Site
from scheduler.history import DONE_DAYS
from scheduler.workflow.clock import machine_zone, now_in, today_in, unsure_zone, use_newest_zones
from scheduler.workflow.editing.edit import Edit, finish_edit, perform
from scheduler.workflow.editing.enclosures import plan_merger, plan_renaming, plan_retirement, plan_set_up
from scheduler.workflow.editing.residents import plan_arrival, plan_departure, plan_move
from scheduler.workflow.editing.whereabouts import Residence, entries_of_resident, residences
from scheduler.workflow.feeds.composition import Exported, Progress, export
from scheduler.workflow.feeds.page_links import page_links
from scheduler.workflow.feeds.revisions import LoggedRevisions
from scheduler.workflow.guide import TOPICS as GUIDE_TOPICS
from scheduler.workflow.guide import guide_page
from scheduler.workflow.kept_answers import forget_answers, keep_answers, kept_answers
from scheduler.workflow.lost_names import lost_names
from scheduler.workflow.name_lookup import day_named, parse_day, parse_span, pick, pick_named, span_named
from scheduler.workflow.new import refuse_taken, sample_text, write_starter
from scheduler.workflow.outlook import MOST_MONTHS, outlook
from scheduler.workflow.plan import MOST_DAYS, MOST_WEEKS, Planned, days_of, entries_for, make_plan
from scheduler.workflow.progress import progress_bar
from scheduler.workflow.record.amendments import ONCE_MINUTES, AmendmentWish, OnceWish, amend, once
from scheduler.workflow.record.done import did
from scheduler.workflow.record.notes import pinned_notes
from scheduler.workflow.record.readings import Ask, read
from scheduler.workflow.record.standing import Recorded, Who
from scheduler.workflow.record.transfer import EntryQuery, entries_of, take_in
from scheduler.workflow.record.undo import undo
from scheduler.workflow.review import changed_site, review, schema_text
from scheduler.workflow.rota.away import AwayPlan, keep_absence, plan_absence, plan_return
from scheduler.workflow.rota.own_day import move_round
from scheduler.workflow.rota.publication import publish as publish_rota
from scheduler.workflow.rota.site_rota import (
    MOST_ROTA_WEEKS,
    SiteRota,
    absences,
    make_rota,
    not_there,
    rota_to_export,
)
from scheduler.workflow.rota.sitter import sit, write_sitter
from scheduler.workflow.rota.swap import SwapRequest, swap
from scheduler.workflow.site_files import read_site, sheets_beside
from scheduler.workflow.site_log import day_there, history_of
from scheduler.workflow.workspace import Workspace, open_workspace

__all__ = [
    "DONE_DAYS",
    "GUIDE_TOPICS",
    "MOST_DAYS",
    "MOST_MONTHS",
    "MOST_ROTA_WEEKS",
    "MOST_WEEKS",
    "ONCE_MINUTES",
    "AmendmentWish",
    "Ask",
    "AwayPlan",
    "Edit",
    "EntryQuery",
    "Exported",
    "LoggedRevisions",
    "OnceWish",
    "Planned",
    "Progress",
    "Recorded",
    "Residence",
    "Site",
    "SiteRota",
    "SwapRequest",
    "Who",
    "Workspace",
    "absences",
    "amend",
    "changed_site",
    "day_named",
    "day_there",
    "days_of",
    "did",
    "entries_for",
    "entries_of",
    "entries_of_resident",
    "export",
    "finish_edit",
    "forget_answers",
    "guide_page",
    "history_of",
    "keep_absence",
    "keep_answers",
    "kept_answers",
    "lost_names",
    "machine_zone",
    "make_plan",
    "make_rota",
    "move_round",
    "not_there",
    "now_in",
    "once",
    "open_workspace",
    "outlook",
    "page_links",
    "parse_day",
    "parse_span",
    "perform",
    "pick",
    "pick_named",
    "pinned_notes",
    "plan_absence",
    "plan_arrival",
    "plan_departure",
    "plan_merger",
    "plan_move",
    "plan_renaming",
    "plan_retirement",
    "plan_return",
    "plan_set_up",
    "progress_bar",
    "publish_rota",
    "read",
    "read_site",
    "refuse_taken",
    "residences",
    "review",
    "rota_to_export",
    "sample_text",
    "schema_text",
    "sheets_beside",
    "sit",
    "span_named",
    "swap",
    "take_in",
    "today_in",
    "undo",
    "unsure_zone",
    "use_newest_zones",
    "write_sitter",
    "write_starter",
]
