"""Series to iCalendar (RFC 5545, RFC 7986): one feed for the site and one for each enclosure."""

from scheduler.calendar.agenda import Agenda
from scheduler.calendar.component import Options, Writer
from scheduler.calendar.feed import Feed
from scheduler.calendar.identity import uid_of
from scheduler.calendar.verify import FeedError, referee, verify
from scheduler.calendar.zones import UTC_NAMES

__all__ = ["UTC_NAMES", "Agenda", "Feed", "FeedError", "Options", "Writer", "referee", "uid_of", "verify"]
