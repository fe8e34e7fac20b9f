"""Taking back: the last entry, or the one of a number."""

from __future__ import annotations

from dataclasses import replace

from scheduler.errors import UsageError
from scheduler.history import AHEAD, EDITING, Entry
from scheduler.workflow.editing.edit import take_back
from scheduler.workflow.record.amendments import refuse_chain
from scheduler.workflow.record.standing import (
    Recorded,
    Who,
    keeper_id,
    opened,
    standing_after,
    standing_before,
    what_follows,
)
from scheduler.workflow.site_log import now_as_of, open_to_read
from scheduler.workflow.workspace import Workspace


def undo(space: Workspace, who: Who, number: int | None = None) -> Recorded:
    """Take back the last entry, or the one of a number, and say what follows.

    UsageError when there is none.
    """
    nothing = UsageError("there is nothing to take back: nothing is recorded yet")
    before = standing_before(space)
    there = open_to_read(space.file, space.site)
    if there is None:
        raise nothing
    with there as log:
        if number is None:
            target = log.latest(space.site.settings.id)
        else:
            target = next((e for e in log.entries(space.site.settings.id) if e.number == number), None)
    if target is None:
        raise (
            nothing
            if number is None
            else UsageError(f"the log has no entry {number}; `pondround history` lists what there is")
        )
    if target.kind in EDITING and not target.voided:
        changed = take_back(space, target, who)
        if changed is not None:
            return changed
    with opened(space.file, space.site) as log:
        refuse_chain(log, space.site.settings.id, target)
        taken = log.void(
            space.site.settings.id,
            target.uid(space.site.settings.id),
            keeper=keeper_id(space.site, who.by),
            note=who.note,
            recorded=now_as_of(space.site, who.as_of),
        )
        after = standing_after(log, space.site, space.today)
    told = replace(target, kind="void", voids=taken[0].voids, title=_title(space, target))
    words = (
        ["the log does not know what it changed in the description, which stays as it is"]
        if target.kind in EDITING and not target.voided
        else []
    )
    follows = what_follows(
        before, [(told, taken[1])], after, {target.enclosure}, words, bent=target.kind in AHEAD
    )
    return replace(follows, stored=(taken[0],))


def _title(space: Workspace, target: Entry) -> str:
    """Return what an entry is about: of what bends the plan with its days, which tell it from others."""
    if target.kind not in AHEAD:
        return target.title
    from scheduler.sheets.recorded import as_amended

    return as_amended(space.site, target)
