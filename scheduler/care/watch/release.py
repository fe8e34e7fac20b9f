"""A release from quarantine that was recorded before the tests of all animals were."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import quarantine
from scheduler.care.engine.case import Case
from scheduler.care.watch.registry import Consequence, watch


@watch
def too_early(case: Case) -> Iterator[Consequence]:
    """Say that the end of a quarantine is in the record and tests are not."""
    q = quarantine.quarantine(case)
    if q is None:
        return
    released = [e.day for e in case.done("quarantine-release") if e.day >= q.restart]
    missing = quarantine.untested(case, q)
    if not released or not missing:
        return
    yield Consequence(
        key="quarantine-release",
        verdict="act",
        reading=(
            f"The end of the quarantine was recorded on {case.date(released[-1])}; of the faecal tests the "
            f"record has {'; '.join(missing)}."
        ),
        rule="Animals are released when the tests of all of them are recorded and clean.",
        source=quarantine.PRACTICE,
        plan=(
            "Keep them apart as before, have the rest tested, and ask the vet. If the tests were done, "
            "record them with their days."
        ),
        gist="a quarantine ended without its tests",
    )
