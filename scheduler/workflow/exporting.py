"""The calendars of a site as files."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from scheduler.workflow.planning import Planned

if TYPE_CHECKING:
    from scheduler.calendar import Feed, Options
    from scheduler.plan import Occurrence
    from scheduler.rota import Rota
    from scheduler.workflow.publish import Draft, Memory, View

Progress = Callable[[int, int], None]


class Place(Protocol):
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
    by_job: bool = False,
    memory: Memory | None = None,
) -> Exported:
    """Write the feed of the site, of each enclosure and, with a rota, of each keeper into the folder `to`; all, or none.

    With `keep_starts`, rules that the earlier feeds have already keep the day on which they began there, so that a
    later export changes only what is new. With `cancel` what is gone stays as cancelled for a while. What was published is
    kept in `memory`, else beside the files. WriteError when writing is not possible: the old files are whole then.
    """
    from scheduler.workflow.publish import Folder

    with Folder(to, time.time(), memory) as folder:
        warnings = compose(
            planned,
            folder,
            options,
            progress,
            keep_starts=keep_starts,
            cancel=cancel,
            rota=rota,
            by_job=by_job,
        )
        return Exported(folder.publish(), tuple(warnings))


def compose(
    planned: Planned,
    place: Place,
    options: Options,
    progress: Progress | None = None,
    *,
    keep_starts: bool = False,
    cancel: bool = False,
    rota: Rota | None = None,
    by_job: bool = False,
) -> list[str]:
    """Write the feeds as `export` does into a place, and return what the keeper should know of them."""
    from scheduler.calendar import Feed, Writer
    from scheduler.calendar.feed import LARGE_BYTES
    from scheduler.calendar.rounds import done_entries, job_entries, round_entries
    from scheduler.workflow.publish import View

    site = planned.site
    warnings: list[str] = []
    writer = Writer(site, options)
    view = View(planned.today, planned.first.year, keep_starts, cancel)
    # The site's feed carries full notes while it stays small, and the steps alone when it would not.
    full = place.draft(Feed(site=site, options=options), view)
    brief = place.draft(Feed(site=site, options=options), view)
    batches = {key: tuple(batch) for key, batch in groupby(planned.series, key=lambda s: s.job.enclosure.id)}
    done_there: dict[str, list[Occurrence]] = {}
    for occurrence in planned.done:
        done_there.setdefault(occurrence.job.enclosure.id, []).append(occurrence)
    for done, enclosure in enumerate(site.enclosures, start=1):
        draft = place.draft(Feed(site=site, options=options, enclosure=enclosure), view)
        for series in batches.pop(enclosure.id, ()):
            notes = series.job.notes()
            everything = writer.tail(series.job, notes.text())
            draft.add(writer, series, everything)
            if full.size <= LARGE_BYTES:
                full.add(writer, series, everything)
            brief.add(writer, series, writer.tail(series.job, notes.brief()))
            still_open = writer.open_entry(series, notes.text())
            if still_open is not None:
                draft.put([still_open])
                full.put([still_open])
                brief.put([still_open])
        past = [writer.done_entry(occurrence) for occurrence in done_there.get(enclosure.id, ())]
        draft.put(past)
        if full.size <= LARGE_BYTES:
            full.put(past)
        warnings += _finished(place, draft)
        if progress is not None:
            progress(done, len(site.enclosures))
    if rota is not None:
        whole = list(round_entries(writer, rota.rounds, names=True))
        full.put(whole)
        brief.put(whole)
        for keeper in site.keepers:
            draft = place.draft(Feed(site=site, options=options, keeper=keeper), view)
            own = [one for one in rota.rounds if one.keeper.id == keeper.id]
            draft.put(job_entries(writer, own) if by_job else round_entries(writer, own))
            draft.put(done_entries(writer, keeper, planned.done))
            warnings += _finished(place, draft)
    small = full.size <= LARGE_BYTES
    chosen = full if small else brief
    if not small:
        warnings.append(
            f"{chosen.name}: the whole site's notes would be too long for some calendar programs; it carries the steps alone, and nothing that is done; the enclosures' own files carry everything"
        )
    warnings += _finished(place, chosen)
    return warnings


def _finished(place: Place, draft: Draft) -> list[str]:
    """Write the draft, and return what the keeper should know of its size."""
    from scheduler.calendar.feed import LARGE_BYTES

    size = place.finish(draft)
    if size <= LARGE_BYTES:
        return []
    return [
        f"{draft.name}: {size // 1000} kB; some calendar programs lose feeds of 1 MB. Subscribe to the enclosures' own files instead"
    ]
