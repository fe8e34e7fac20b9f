"""Calendars of a site: composed, written together or not at all, and opened by links."""
