"""Calendars of a site: composed, written together or not at all, and opened by links.

Decisions
---------

Two secrets for a keeper
    A page records, a calendar only reads, and calendar addresses end in other people's servers. So the
    calendar's secret follows from the page's by HMAC, and not the other way round: one scan gives both, and
    who has the calendar cannot tick. Of both only a keyed hash is kept; the key lies outside the log.
"""
