"""The hand-over to a pet sitter: what is left to do while everybody is away, and the sitter's calendar."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.description import Site
from scheduler.description.identity import slug
from scheduler.description.site import Keeper
from scheduler.errors import UsageError, clip
from scheduler.workflow.name_lookup import by_names
from scheduler.workflow.plan import days_of, make_plan
from scheduler.workflow.rota.site_rota import MARGIN_DAYS, known_of, quarantined_in
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.rota.sitter import Sitting

MOST_SPAN_DAYS = 120
MOST_NAME = 60


def sit(space: Workspace, name: str, *, weeks: int, span: tuple[dt.date, dt.date] | None) -> Sitting:
    """Return what a sitter does in a span: the given one, else the first on which all keepers are away.

    UsageError if none is.
    """
    from scheduler.rota.availability import Availability
    from scheduler.rota.sitter import all_away, sitting

    if not name.strip() or len(name) > MOST_NAME or not name.isprintable():
        raise UsageError(f"{clip(name)} is no name for a sitter; write up to {MOST_NAME} letters")
    if name.casefold() in {n.casefold() for n in by_names(space.site.keepers)}:
        raise UsageError(f"{name} is a keeper; name somebody else, or leave the days out of their away")
    known = known_of(space)
    absent = known.not_there if span is None else {keeper.id: [span] for keeper in space.site.keepers}
    availability = Availability(space.site, absent)
    if span is None:
        span = all_away(availability, space.today, space.today + dt.timedelta(days=weeks * 7 - 1))
        if span is None:
            raise UsageError(
                f"in the {weeks} weeks from {space.today} there is no day on which all keepers are away; "
                "write the days: --span 2026-12-20/2026-12-28"
            )
    first, last = span
    if first < space.today:
        raise UsageError(f"the span begins on {first}, before {space.today}")
    if (last - first).days >= MOST_SPAN_DAYS:
        raise UsageError(
            f"the span is longer than {MOST_SPAN_DAYS} days; write [[keeper]] for whoever cares that long"
        )
    planned = make_plan(
        space.site, space.today, space.today, (last - space.today).days + 1 + MARGIN_DAYS, known.history
    )
    late = sorted((o for o in planned.done if o.day < space.today), key=lambda o: o.day)
    sitter = Keeper(name=name.strip(), id=f"sitter-{slug(name)}"[:60])
    return sitting(
        availability,
        [*late, *days_of(planned)],
        span,
        sitter,
        space.today,
        quarantined=quarantined_in(space.site, known.history),
    )


def write_sitter(site: Site, made: Sitting, to: Path, today: dt.date) -> tuple[Path, int, int]:
    """Write the sitter's calendar into a folder; return the file, its entries and its bytes."""
    from scheduler.calendar import Feed, Options, Writer
    from scheduler.calendar.rounds import RoundEntries, visits
    from scheduler.workflow.feeds.draft import View
    from scheduler.workflow.feeds.folder import Folder

    options = Options()
    with Folder(to, time.time()) as folder:
        draft = folder.draft(
            Feed(site=site, options=options, keeper=made.sitter), View(today, made.span[0].year, True)
        )
        draft.put(
            RoundEntries(Writer(site, options)).of(
                visits(made.rounds, (), by_part=True, formats=site.settings.formats)
            )
        )
        folder.finish(draft)
        return folder.publish()[0]
