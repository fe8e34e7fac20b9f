"""Feeds in memory, each going on from an earlier one."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping

from scheduler.calendar.feed import Feed
from scheduler.calendar.revisions import read_book, write_book
from scheduler.workflow.feeds.draft import Draft, View, earlier_feed, name_of


class FeedSet:
    """Feeds in memory, each going on from an earlier one.

    To be closed: of a site's feed two are begun, and one is chosen.
    """

    def __init__(self, earlier: Callable[[str], bytes], books: Mapping[str, bytes]) -> None:
        """Take what returns the bytes of an earlier feed by its file name, or none, and what is known of
        each."""
        self._earlier, self._known = earlier, books
        self._drafts: list[Draft] = []
        self.feeds: dict[str, bytes] = {}
        self.books: dict[str, bytes] = {}

    def draft(self, feed: Feed, view: View) -> Draft:
        """Begin a feed."""
        name = name_of(feed)
        before = self._earlier(name)
        known = read_book(self._known.get(name, b""))
        earlier = earlier_feed(feed.options.kind, lambda: before, before.startswith, known)
        draft = Draft(feed, view, earlier)
        self._drafts.append(draft)
        return draft

    def finish(self, draft: Draft) -> int:
        """Keep a draft as a feed, and return its size."""
        stream = io.BytesIO()
        size = draft.write(stream, parse=not self.feeds)
        self.feeds[draft.name] = stream.getvalue()
        self.books[draft.name] = write_book(draft.book())
        draft.drop()
        return size

    def close(self) -> None:
        """Let go of what was begun."""
        for draft in self._drafts:
            draft.drop()
