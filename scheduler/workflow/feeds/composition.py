"""The calendars of a site as files."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from scheduler.workflow.plan import Planned

if TYPE_CHECKING:
    from scheduler.calendar import Agenda, Feed, Options
    from scheduler.description.site import Enclosure
    from scheduler.rota import Rota
    from scheduler.workflow.feeds.draft import Draft, View
    from scheduler.workflow.feeds.folder import Memory

Progress = Callable[[int, int], None]


class FeedTarget(Protocol):
    """Where feeds are written to."""

    def draft(self, feed: Feed, view: View) -> Draft:
        """Begin a feed, which goes on from an earlier one of its name."""
        ...

    def finish(self, draft: Draft) -> int:
        """Take a draft as the feed, and return its size in bytes."""
        ...


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export wrote: files with their entries and bytes, and what the keeper should know."""

    files: tuple[tuple[Path, int, int], ...]
    warnings: tuple[str, ...]


def export(
    planned: Planned,
    to: Path,
    options: Options,
    progress: Progress | None = None,
    *,
    keep_starts: bool = False,
    cancel: bool = False,
    rota: Rota | None = None,
    memory: Memory | None = None,
) -> Exported:
    """Write the feed of the site, of each enclosure and, with a rota, of each keeper into the folder `to`;
    all, or none.

    With `keep_starts`, rules that the earlier feeds have already keep the day on which they began there, so
    that a later export changes only what is new. With `cancel` what is gone stays as cancelled for a while.
    What was published is kept in `memory`, else beside the files. WriteError when writing is not possible:
    the old files are whole then.
    """
    from scheduler.workflow.feeds.folder import Folder

    with Folder(to, time.time(), memory) as folder:
        warnings = compose(
            planned,
            folder,
            options,
            progress,
            keep_starts=keep_starts,
            cancel=cancel,
            rota=rota,
        )
        return Exported(folder.publish(), tuple(warnings))


def compose(
    planned: Planned,
    place: FeedTarget,
    options: Options,
    progress: Progress | None = None,
    *,
    keep_starts: bool = False,
    cancel: bool = False,
    rota: Rota | None = None,
) -> list[str]:
    """Write the feeds as `export` does into a place, and return what the keeper should know of them."""
    from scheduler.calendar import Agenda, Feed, Writer
    from scheduler.calendar.feed import LARGE_BYTES
    from scheduler.workflow.feeds.draft import View
    from scheduler.workflow.rota.site_rota import quarantined_in

    site = planned.site
    warnings: list[str] = []
    writer = Writer(site, options)
    agenda = Agenda(
        writer,
        planned.series,
        planned.done,
        planned.first,
        rota=rota,
        quarantined=quarantined_in(site, planned.history),
    )
    view = View(planned.today, planned.first.year, keep_starts, cancel)
    # The site's feed carries full notes while it stays small, and short ones when it would not.
    full = place.draft(Feed(site=site, options=options), view)
    brief = place.draft(Feed(site=site, options=options), view)
    for done, enclosure in enumerate(site.enclosures, start=1):
        draft = place.draft(Feed(site=site, options=options, enclosure=enclosure), view)
        _add_enclosure(agenda, enclosure, draft, full, brief)
        warnings += _finished(place, draft)
        if progress is not None:
            progress(done, len(site.enclosures))
    for drafted, short in ((full, False), (brief, True)):
        if short or drafted.size <= LARGE_BYTES:
            for routine in agenda.routines(None):
                drafted.add(writer, agenda.routine_entries(routine, None, brief=short))
            drafted.put(agenda.round_entries(brief=short))
    if rota is not None:
        for keeper in site.keepers:
            draft = place.draft(Feed(site=site, options=options, keeper=keeper), view)
            draft.put(agenda.keeper_entries(keeper))
            warnings += _finished(place, draft)
    small = full.size <= LARGE_BYTES
    chosen = full if small else brief
    if not small:
        warnings.append(
            f"{chosen.name}: the whole site's notes would be too long for some calendar programs; it "
            "has routine and rounds without their steps, other work without its reason, and no entries "
            "of what was done; the enclosures' own files carry everything"
        )
    warnings += _finished(place, chosen)
    return warnings


def _add_enclosure(agenda: Agenda, enclosure: Enclosure, draft: Draft, full: Draft, brief: Draft) -> None:
    """Write what stands in the feed of an enclosure, and what of it stands in the site's too."""
    from scheduler.calendar.feed import LARGE_BYTES

    writer = agenda.writer
    for routine in agenda.routines(enclosure):
        draft.add(writer, agenda.routine_entries(routine, enclosure))
    for series in agenda.others(enclosure):
        alone = agenda.plan_entries(series, enclosure)
        draft.add(writer, alone)
        if not agenda.is_in_site(series):
            continue
        if full.size <= LARGE_BYTES:
            # Another entry may be the one that rings there.
            full.add(writer, agenda.plan_entries(series, None) if writer.options.alarms else alone)
        brief.add(writer, agenda.plan_entries(series, None, brief=True))
    draft.put(agenda.round_entries(enclosure))
    open_ = agenda.routine_apart(enclosure)
    past = agenda.done_entries(enclosure)
    draft.put([*open_, *past])
    if full.size <= LARGE_BYTES:
        full.put([*open_, *past])
    brief.put(open_)


def _finished(place: FeedTarget, draft: Draft) -> list[str]:
    """Write the draft, and return what the keeper should know of its size."""
    from scheduler.calendar.feed import LARGE_BYTES

    size = place.finish(draft)
    if size <= LARGE_BYTES:
        return []
    return [
        (
            f"{draft.name}: {size // 1000} kB; some calendar programs lose feeds of 1 MB. Subscribe to the "
            "enclosures' own files instead"
        )
    ]
