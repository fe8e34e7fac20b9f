"""Where an entry leads: to the page of whoever has the calendar, opened at the tank."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

from scheduler.calendar.component import Options


def link_of(options: Options, enclosure_id: str = "") -> str:
    """Return the address of an entry: that of the page, at the tank of the enclosure where one is named;
    nothing without a page.

    The page has a place of that name for each enclosure of its site, on every day.
    """
    if not options.link:
        return ""
    return f"{options.link}#tank-{quote(enclosure_id, safe='')}" if enclosure_id else options.link


def for_keeper(options: Options, keeper_id: str) -> Options:
    """Return the options of a keeper's own calendar: the link is theirs, or none; never another's."""
    own = dict(options.keeper_links).get(keeper_id, "")
    return options if options.link == own else replace(options, link=own)
