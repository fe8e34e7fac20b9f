"""What a sync did, as lines for a terminal and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from scheduler.description import Site
from scheduler.quantities import show_date
from scheduler.rota.refusal import Refusal, sentence
from scheduler.sheets.entries import record_of
from scheduler.sheets.recorded import recorded_lines, recorded_object
from scheduler.sheets.terminal import LEAST_WIDTH, safe, wrapped
from scheduler.sync.outcome import Outcome, Remark, RemarkKind, Tally
from scheduler.workflow.record.completions import BeforeSetUp, StillDone

MOST_REMARKS = 20
"""So many remarks are printed; more of them are counted. JSON has them all."""


def outcome_lines(site: Site, outcome: Outcome, width: int) -> Iterator[str]:
    """Yield what was read back and what follows, then a line for each collection."""
    width = max(width, LEAST_WIDTH)
    for one in outcome.recorded:
        yield from recorded_lines(one.site, one.entries, one.next, one.moves, one.consequences, width=width)
    for remark in outcome.remarks[:MOST_REMARKS]:
        yield from wrapped(safe(_said(remark)), width, 0)
    if len(outcome.remarks) > MOST_REMARKS:
        yield (
            f"{len(outcome.remarks) - MOST_REMARKS} more to-dos were not as they had been; --format json "
            "lists them"
        )
    for tally in outcome.tallies:
        yield from wrapped(safe(_counted(tally)), width, 0)


def _said(remark: Remark) -> str:
    if remark.kind == "moved" and remark.to is not None:
        return f"{remark.title}: {show_date(remark.day)} -> {remark.to:%A} {show_date(remark.to)}"
    why = _why(remark)
    told = _SAID[remark.kind] + (f": {why}" if why else "")
    return f"{remark.title}, {remark.day:%A} {show_date(remark.day)}: {told}"


_SAID: dict[RemarkKind, str] = {
    "stays": "stays on its day",
    "put back": "was deleted or cancelled there, and is put back: a job is not done by deleting it",
    "reopened": "is still to do, and open there again: the log has nothing that counts for it",
    "still done": "stays done",
    "not recorded": "is not recorded as done",
    "left alone": "is left alone",
    "mended": "could not be read there, and is written anew",
}


def _why(remark: Remark) -> str:
    why = remark.why
    if isinstance(why, BeforeSetUp):
        return f"{why.enclosure} was set up on {show_date(why.set_up)}, after {show_date(why.day)}"
    if isinstance(why, Refusal):
        return sentence(why)
    if isinstance(why, StillDone):
        return why.value
    return why or ""


def _counted(tally: Tally) -> str:
    return (
        f"{tally.name}: {tally.put} put, {tally.changed} changed, {tally.removed} taken away, "
        f"{tally.unchanged} unchanged"
    )


def outcome_object(site: Site, outcome: Outcome) -> str:
    """Return the same as one JSON object: what was recorded and follows as `did` prints it, then what came of
    each to-do."""
    together: dict[str, list[Any]] = {"recorded": [], "consequences": [], "moved": []}
    for one in outcome.recorded:
        records = [
            record_of(site.settings.id, entry, {k.id: k.name for k in site.keepers}) for entry in one.stored
        ]
        for key, values in json.loads(recorded_object(records, one.moves, one.consequences)).items():
            together[key] += values
    return json.dumps(
        {
            **together,
            "to_dos": [
                {
                    "what": remark.kind,
                    "keeper": remark.keeper,
                    "enclosure": remark.enclosure,
                    "job": remark.job,
                    "title": remark.title,
                    "due": remark.due.isoformat() if remark.due else None,
                    "date": remark.day.isoformat(),
                    "to": remark.to.isoformat() if remark.to else None,
                    "why": _why(remark),
                }
                for remark in outcome.remarks
            ],
            "collections": [
                {
                    "name": tally.name,
                    "url": tally.url,
                    "keeper": tally.keeper,
                    "put": tally.put,
                    "changed": tally.changed,
                    "removed": tally.removed,
                    "unchanged": tally.unchanged,
                }
                for tally in outcome.tallies
            ],
            "failures": outcome.failures,
        },
        ensure_ascii=False,
    )
