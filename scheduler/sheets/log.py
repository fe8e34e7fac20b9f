"""The log as a table for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from scheduler.description import Site
from scheduler.history import EDITING, Entry
from scheduler.sheets.recorded import described
from scheduler.sheets.terminal import LEAST_WIDTH, pad, safe, wrapped

_INDENT = 28
"""Columns before what was done: the number, the day and the hour."""


def log_lines(site: Site, entries: Iterable[Entry], width: int) -> Iterator[str]:
    """Yield the lines of entries in a width: number, day, hour, enclosure, what, by whom; the note below.

    An entry that was taken back says so, and so does the one that takes it back.
    """
    width = max(width, LEAST_WIDTH)
    names = {e.id: e.name for e in site.all_enclosures}
    keepers = {k.id: k.name for k in site.keepers}
    many = len(site.all_enclosures) > 1
    for entry in entries:
        time = f"{entry.time:%H:%M}" if entry.time else ""
        lead = f"{entry.number:>7}  {entry.day.isoformat()}  {time:<5}  "
        where = names.get(entry.enclosure, entry.enclosure)
        what = (
            f"{where}: {described(site, entry)}"
            if where and entry.kind not in EDITING and (many or entry.enclosure not in names)
            else described(site, entry)
        )
        if entry.kind == "done" and entry.name == "water-change" and entry.value is not None:
            what += f", {entry.value * 100:.0f} %"
        if entry.kind == "done" and entry.name == "media-rinse" and entry.value is not None:
            what += f", half {entry.value:.0f}"
        if entry.kind == "void":
            what = f"taken back: {what}"
        elif entry.voided:
            what += " (taken back)"
        if entry.keeper:
            what += f", {keepers.get(entry.keeper, entry.keeper)}"
        yield from wrapped(safe(what), width, _INDENT, pad(lead, _INDENT))
        if entry.note:
            yield from wrapped(safe(" ".join(entry.note.split())), width, _INDENT + 2)
