"""What follows from a description: figures and findings; what would follow from a changed one; and the
schema."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from scheduler import care, plan
from scheduler.care.findings import Finding
from scheduler.care.review import Review
from scheduler.description import Enclosure, Site
from scheduler.description.fields import LAST_DAY
from scheduler.errors import DescriptionError
from scheduler.history import NO_HISTORY, Entry, History
from scheduler.quantities import show_date
from scheduler.sources import KEEPER, Source
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.site_files import read_text, site_of

PORTABLE = Source("RFC 5545, the rules that calendar programs agree on", "published")


def schema_text() -> str:
    """Return the JSON Schema of the description as the package ships it."""
    import json

    from scheduler.description.schema import schema

    return json.dumps(schema(care.KEYS), indent=1, ensure_ascii=False) + "\n"


def review(
    site: Site,
    today: dt.date,
    enclosure: str | None = None,
    history: History = NO_HISTORY,
    *,
    pinned: Sequence[Entry] = (),
) -> list[Review]:
    """Return the review of each enclosure, or of the one that is named: figures with their sources, and
    findings.

    With a history it is of the enclosures as their record leaves them, and says what follows from the
    readings. `pinned` are notes for the vet.
    """
    wanted = {e.id for e in site.enclosures}
    if enclosure is not None:
        wanted = {pick_named(enclosure, site.enclosures, "enclosure").id}
    every = care.cases(site, today, care.with_implied(site, history))
    cases = [case for case in every if case.enclosure.id in wanted]
    site = care.as_measured(site, history)
    jobs = [list(care.jobs_of(case)) for case in cases]
    horizon = min(today + dt.timedelta(days=366), LAST_DAY)
    single: dict[str, list[tuple[care.Job, str]]] = {}
    for job, why in plan.irregular(site, [job for some in jobs for job in some], today, horizon):
        single.setdefault(job.enclosure.id, []).append((job, why))
    return [
        care.review(
            case,
            [
                *_for_the_vet(case, pinned),
                *_of_the_record(case),
                *_of_the_plan(site, case.enclosure, own, single.get(case.enclosure.id, [])),
            ],
        )
        for case, own in zip(cases, jobs, strict=True)
    ]


def changed_site(file: Path, site: Site, changes: Sequence[str], enclosure: str | None = None) -> Site:
    """Return the site that the file would describe with the changes made.

    UsageError for a change that names nothing; DescriptionError for values that do not fit, without lines:
    they do not stand in the file.
    """
    import tomllib

    import tomli_w

    from scheduler.description.changing import changed

    data = tomllib.loads(read_text(file).removeprefix("\ufeff"))
    name = None if enclosure is None else pick_named(enclosure, site.enclosures, "enclosure").name
    text = tomli_w.dumps(changed(data, changes, lambda table: name is None or _same(table.get("name"), name)))
    try:
        return site_of(text, file).in_plain_formats()
    except DescriptionError as error:
        raise DescriptionError(replace(problem, line=None) for problem in error.problems) from None


def _same(written: object, name: str) -> bool:
    """Tell whether a name as it stands in the file is one as it was read."""
    return isinstance(written, str) and " ".join(written.split()) == name


def _for_the_vet(case: care.Case, pinned: Sequence[Entry]) -> Iterator[Finding]:
    """Yield what was pinned for the vet at a tank, the oldest first."""
    names = {k.id: k.name for k in case.site.keepers}
    for note in sorted(pinned, key=lambda e: e.moment):
        if note.enclosure == case.enclosure.id:
            who = f" ({names.get(note.keeper, note.keeper)})" if note.keeper else ""
            text = f"For the vet, {show_date(note.day)}{who}: {note.note}"
            yield Finding("vet-check", "look", text, KEEPER, gist="a note for the vet")


def _of_the_record(case: care.Case) -> Iterator[Finding]:
    """Yield what follows from the readings, and those of which it is not clear whose they are."""
    for found in care.consequences(case):
        yield Finding(found.key, found.verdict, found.text, found.source, gist=found.gist, measured=True)
    places = {e.id: e.name for e in case.site.enclosures}
    for one in care.unclear(case.site, case.history):
        own = [r for e, r in one.candidates if e.id == case.enclosure.id]
        for resident in own:
            days = show_date(one.first) + (f" to {show_date(one.last)}" if one.last != one.first else "")
            text = (
                f'Weights or lengths of "{one.of}", recorded in {places.get(one.enclosure, one.enclosure)} '
                f"({days}), may be of "
                f"{resident.name} before it moved here, or of another animal of that name, and count for "
                "neither: write "
                f'moved_from = ["{one.enclosure}"] under {resident.name} if it lived there, moved_from = [] '
                "if it did not."
            )
            yield Finding(
                "weigh-measure", "look", text, KEEPER, gist="it is not clear whose a weight or length is"
            )


def _of_the_plan(
    site: Site, enclosure: Enclosure, jobs: list[care.Job], single: list[tuple[care.Job, str]]
) -> Iterator[Finding]:
    """Yield what a keeper may not expect of the jobs.

    Jobs that become single dates, overrides that have nothing to change, jobs that ask for a skill that
    nobody has.
    """
    for job, why in single:
        text = f"{job.title}: exported as single dates, not as a rule: {why}."
        yield Finding(
            job.key, "look", text, PORTABLE, gist="a job is exported as single dates, not as a rule"
        )
    present = {job.key for job in jobs}
    for key, override in enclosure.job.items():
        if key not in present and not override.off:
            text = f"[enclosure.job.{key}] changes nothing: the job does not apply to this enclosure."
            yield Finding(key, "look", text, KEEPER, gist="an override of a job that does not apply")
    if site.skills_are_used:
        have = {skill for keeper in site.keepers for skill in keeper.can or ()}
        lacking: dict[str, list[str]] = {}
        for job in jobs:
            for skill in set(job.skills) - have:
                lacking.setdefault(skill, []).append(job.key)
        for skill, keys in sorted(lacking.items()):
            names = ", ".join(dict.fromkeys(keys))
            text = f'No keeper can "{skill}", which {names} ask for: add it to the `can` of a keeper.'
            yield Finding(keys[0], "look", text, KEEPER, gist="a skill that jobs ask for, and nobody has")
