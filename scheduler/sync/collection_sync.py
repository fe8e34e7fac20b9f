"""One collection in a sync: surveyed, agreed on, merged, written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from scheduler.calendar import Writer
from scheduler.description.site import Keeper
from scheduler.progress import Tell, nobody, told
from scheduler.sync.apply import Executor
from scheduler.sync.bases import Bases
from scheduler.sync.discovery import Collection
from scheduler.sync.done_work import DoneWork
from scheduler.sync.ledger import Ledger
from scheduler.sync.merge import NOTHING_SEEN, Merge, RemoteChange
from scheduler.sync.outcome import Outcome, Tally
from scheduler.sync.resource import Local
from scheduler.sync.survey import survey

if TYPE_CHECKING:
    from scheduler.sync.session import Session


class CollectionSync:
    """A collection of one keeper, or of everybody.

    Of a keeper who `left` nothing is wanted any more: what was ticked is read, and what is still to be done
    goes.
    """

    def __init__(
        self,
        session: Session,
        ledger: Ledger,
        collection: Collection,
        keeper: Keeper | None,
        *,
        writer: Writer,
        today: dt.date,
        left: bool = False,
    ) -> None:
        """Read what the log has; nothing is asked of the server yet."""
        self._session, self._collection, self._writer, self._today = session, collection, writer, today
        self.keeper, self.left = keeper, left
        self.tally = Tally(collection.name, collection.url, keeper.id if keeper else "")
        self.bases = Bases(writer, ledger, collection.url, today)
        self._executor = Executor(session, collection, self.bases, self.tally, writer=writer, today=today)
        self._remote, self._rewrite = NOTHING_SEEN, dict[str, str]()

    @property
    def changed_meanwhile(self) -> bool:
        """Tell whether others changed something since the last look, which is to be looked at next."""
        return self._executor.changed_meanwhile

    def look(self) -> list[RemoteChange]:
        """Return what is not as it was agreed. SyncError where the collection cannot be read."""
        self._executor.changed_meanwhile = False
        self._rewrite = {}
        self._remote, changes = survey(self._session, self._collection, self.bases.by_uid, self._writer)
        return changes

    def write_again(self, change: RemoteChange) -> None:
        """Have the server's text replaced by ours, whatever is in it and wherever it is now."""
        stored = change.base.stored
        self._rewrite[stored.uid] = change.verdict
        if change.url != stored.href:
            self.bases.keep(stored.uid, change.url, stored.etag, stored.body)

    def write(
        self, local: Mapping[str, Local], done: DoneWork, outcome: Outcome, tell: Tell = nobody
    ) -> None:
        """Bring the collection to what is wanted, by UID, and to what the log says is done.

        It tells how many entries it went through.

        SyncError where the server refuses.
        """
        self.tally.unchanged = 0
        merge = Merge(
            url=self._collection.url,
            bases=dict(self.bases.by_uid),
            remote=self._remote,
            local=local,
            rewrite=self._rewrite,
            done=done,
            writer=self._writer,
            today=self._today,
        )
        for step in told(list(merge.steps()), tell):
            if step.remark is not None and step.base is not None:
                outcome.remark(step.remark, self.tally.keeper, step.base, why=step.why)
            self._executor.do(step.action, self._remote)
