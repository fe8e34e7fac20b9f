"""A change of the description thought through, told, and carried out."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scheduler.description import Site
from scheduler.description.patches import patch_of, reverse
from scheduler.errors import DescriptionError, UsageError
from scheduler.history import EDITING, NO_HISTORY, Entry
from scheduler.workflow.editing.journal import DescriptionChange, carry_out, finish
from scheduler.workflow.record.standing import (
    Recorded,
    Standing,
    Who,
    keeper_id,
    opened,
    standing_after,
    what_follows,
)
from scheduler.workflow.site_files import read_text, site_of
from scheduler.workflow.site_log import history_in, now_as_of, open_to_read, open_to_record
from scheduler.workflow.workspace import Workspace


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """A change of a description: its text before and after, the entries that say so, the main one first, the
    enclosures that it concerns, and words to know."""

    before: str
    after: str
    entries: tuple[Entry, ...]
    enclosures: frozenset[str]
    words: tuple[str, ...] = ()


def finish_edit(file: Path) -> None:
    """Carry out the rest of a change over which somebody was killed. SchedulerError where the world
    refuses."""
    finish(file, lambda: open_to_record(file, site_of(read_text(file), file)))


def perform(space: Workspace, edit: Edit, *, dry: bool = False) -> Recorded:
    """Change the description and record it, and say what differs; with `dry`, say it and change nothing.

    UsageError where the description would not be one any more, or was changed meanwhile.
    """
    from scheduler.log.edits import with_turns

    site = _described(space, edit.after)
    before = _standing(space, space.site)
    if dry:
        done = [(entry, True) for entry in edit.entries]
        return _told(before, done, _standing(space, site), edit)
    with opened(space.file, space.site) as log:
        name = space.site.settings.id
        change = DescriptionChange(
            site=name,
            before=edit.before,
            after=edit.after,
            entries=tuple(with_turns(log, name, edit.entries)),
            patch=patch_of(edit.before, edit.after),
        )
        done = carry_out(space.file, change, log)
        after = standing_after(log, site, space.today)
    return _told(before, done, after, edit)


def _told(before: Standing, done: Sequence[tuple[Entry, bool]], after: Standing, edit: Edit) -> Recorded:
    found = what_follows(before, done, after, set(edit.enclosures), edit.words, bent=True)
    return replace(found, edited=edit.enclosures)


def take_back(space: Workspace, target: Entry, who: Who) -> Recorded | None:
    """Take back an entry that changed the description, and change it back; None where the log does not know
    what it changed.

    UsageError where what it changed does not stand in the description any more.
    """
    from scheduler.log.edits import edit_of

    name = space.site.settings.id
    log_there = open_to_read(space.file, space.site)
    assert log_there is not None
    with log_there:
        recorded = edit_of(log_there, name, target.uid(name))
        if recorded is None:
            return None
        entries, text = recorded.entries, read_text(space.file)
        back = reverse(text, recorded.patch)
        since = list(log_there.entries(name, after=target.number, voided=False)) if back is None else []
        further = next((e for e in since if _is_further(e, target, entries.values())), None)
    if further is not None:
        raise UsageError(
            f"entry {further.number} has changed it further since; take that back first: undo --entry "
            f"{further.number}"
        )
    if back is None:
        raise UsageError(
            "what this entry changed does not stand in the description as it was written any more; change it "
            "in an editor, or by the command that does the opposite"
        )
    site = _described(space, back)
    before = _standing(space, space.site)
    taking = Entry(
        kind="void",
        enclosure=target.enclosure,
        name=target.name,
        of=target.of,
        day=target.day,
        keeper=keeper_id(space.site, who.by),
        note=who.note,
        recorded=now_as_of(space.site, who.as_of),
        voids=next(iter(entries)),
    )
    change = DescriptionChange(
        site=name,
        before=text,
        after=back,
        entries=(taking,),
        patch=patch_of(text, back),
        voids=tuple(entries),
    )
    with opened(space.file, space.site) as log:
        taken = carry_out(space.file, change, log)
        after = standing_after(log, site, space.today)
    from scheduler.sheets.recorded import as_edited

    # What is told is what the entry said, and that no longer.
    told = [
        (replace(e, title=as_edited(before.site, entries[e.voids]), enclosure="", given=e.title), new)
        for e, new in taken
    ]
    there = {e.id for one in (before.site, after.site) for e in one.enclosures}
    about = {place for e in entries.values() for place in (e.enclosure, e.given)} & there
    follows = what_follows(before, told, after, about, bent=True)
    return replace(follows, stored=tuple(entry for entry, _ in taken), edited=frozenset(about))


def _is_further(entry: Entry, target: Entry, own: Collection[Entry]) -> bool:
    """Tell whether a later entry has changed what another one, of a change with others, is about."""
    return (
        entry.kind in EDITING
        and entry not in own
        and bool({entry.name, entry.enclosure} & ({target.name, target.enclosure} - {""}))
    )


def _described(space: Workspace, text: str) -> Site:
    """Return the site that a changed text describes, as of today. UsageError where it is none."""
    try:
        site = site_of(text, space.file)
    except DescriptionError as error:
        lines = [
            ": ".join(filter(None, [one.where, one.message])) + (f"; {one.hint}" if one.hint else "")
            for one in error.problems
        ]
        raise UsageError("\n".join(["the description would not be right with it:", *lines])) from None
    return site.on(space.today).in_plain_formats()


def _standing(space: Workspace, site: Site) -> Standing:
    """Return how a site stands by the record that there is; the record begins today where there is none."""
    log = open_to_read(space.file, site)
    if log is None:
        return Standing(site, NO_HISTORY.amending((), space.today), space.today)
    with log:
        found = history_in(log, site, space.today)
        return Standing(site, found.amending((), space.today), space.today)


def entry(
    space: Workspace,
    who: Who,
    kind: str,
    *,
    enclosure: str,
    name: str = "",
    of: str = "",
    title: str,
    given: str = "",
) -> Entry:
    """Return an entry of a change: of the day that somebody names, else of today."""
    return Entry(
        kind=kind,  # type: ignore[arg-type]
        enclosure=enclosure,
        name=name,
        of=of,
        day=who.on or space.today,
        given=given,
        keeper=keeper_id(space.site, who.by),
        title=title,
        note=who.note,
        recorded=now_as_of(space.site, who.as_of),
    )
