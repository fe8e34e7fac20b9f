"""The plan of a site for a view, and its days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler import care, plan
from scheduler.care import Job
from scheduler.description import Site
from scheduler.description.fields import LAST_DAY
from scheduler.description.site import Keeper
from scheduler.history import DONE_DAYS, NO_HISTORY, History
from scheduler.plan import Occurrence, Series
from scheduler.workflow.name_lookup import pick_named
from scheduler.workflow.record.job_words import is_meant
from scheduler.workflow.site_log import history_in

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.rota import Rota
    from scheduler.rota.availability import Absences

Ask = Callable[[Collection[str] | None], History]

MOST_DAYS = 3660
MOST_WEEKS = 1040


@dataclass(frozen=True, slots=True)
class Basis:
    """What a plan with a record rests on: the site as described, its jobs and their places; and the
    record."""

    site: Site
    jobs: tuple[Job, ...]
    phases: plan.Phases
    history: History


@dataclass(frozen=True, slots=True)
class Planned:
    """The series of a site for a view, and what was done in it or shortly before.

    `site` is as the record leaves it, with the newest measured values. `basis` is None where there is no
    record.
    """

    site: Site
    today: dt.date
    first: dt.date
    horizon: dt.date
    series: tuple[Series, ...]
    done: tuple[Occurrence, ...] = ()
    basis: Basis | None = None

    @property
    def described(self) -> Site:
        """Return the site as it is described."""
        return self.site if self.basis is None else self.basis.site

    @property
    def history(self) -> History:
        """Return the record that it follows."""
        return NO_HISTORY if self.basis is None else self.basis.history


def make_plan(
    site: Site, today: dt.date, first: dt.date, days: int, history: History = NO_HISTORY
) -> Planned:
    """Return the plan of a site from `first` on; single dates reach `days` days.

    With a history it goes on from there.
    """
    horizon = min(first + dt.timedelta(days=days - 1), LAST_DAY)
    site = site.on(today)
    base = tuple(care.jobs(site))
    if history.begun is None:
        return Planned(site, today, first, horizon, tuple(plan.schedule(site, base, first, horizon)))
    basis = Basis(site, base, plan.places(site, base, horizon), history)
    return _followed(Planned(site, today, first, horizon, (), (), basis), None)


def replan(planned: Planned, changed: Collection[str], ask: Ask) -> tuple[Planned, set[str]]:
    """Return a plan for the same view after something was recorded of some enclosures, and which ones are
    planned anew.

    It is the plan that `make_plan` would make, with less work: only what was recorded of these enclosures,
    and of those that share their supplies, is asked for, and only they are planned anew. `ask` gives the
    history of some enclosures, of all for None.
    """
    site, basis = planned.site, planned.basis
    if basis is not None and (site.settings.start is None or site.settings.start <= planned.today):
        # Who moved takes along what was recorded where it was.
        moved = {
            home
            for home, stays in basis.history.stays.items()
            if any(stay.enclosure in changed for some in stays.values() for stay in some)
        }
        together = care.sharing(basis.site, {*changed, *moved})
        history = ask(together)
        if history.begun == basis.history.begun:
            history = basis.history.with_those_of(together, history)
            return _followed(replace(planned, basis=replace(basis, history=history)), together), together
    days = (planned.horizon - planned.first).days + 1
    whole = make_plan(planned.described, planned.today, planned.first, days, ask(None))
    return whole, {enclosure.id for enclosure in planned.described.enclosures}


def plan_after(log: Log, planned: Planned, entry: int) -> tuple[Planned, set[str]]:
    """Return a plan brought up to what was recorded after the entry of a number, and which enclosures are
    planned anew."""
    described = planned.described

    def ask(enclosures: Collection[str] | None) -> History:
        since = planned.today - dt.timedelta(days=DONE_DAYS)
        return history_in(log, described, planned.today, since, enclosures)

    # Entries are only ever added.
    new = {(e.enclosure, e.of) for e in log.entries(described.settings.id, after=entry)}
    touched = care.linked(described, new, {enclosure for enclosure, _ in new})
    return replan(planned, touched, ask)


def _followed(planned: Planned, enclosures: Collection[str] | None) -> Planned:
    """Return a plan that follows the history of its basis; with `enclosures` only they are planned anew."""
    basis, today, first, horizon = planned.basis, planned.today, planned.first, planned.horizon
    assert basis is not None
    history = care.with_implied(basis.site, basis.history, enclosures)
    measured = care.as_measured(basis.site, history)
    jobs = [
        job for case in care.cases_of(basis.site, measured, history, enclosures) for job in care.jobs_of(case)
    ]
    follow = plan.Follow(history=history, today=today, base=basis.jobs, phases=basis.phases)
    series = tuple(plan.schedule(basis.site, jobs, first, horizon, follow))
    own = [e.id for e in basis.site.enclosures if enclosures is None or e.id in enclosures]
    entries = (entry for enclosure in own for entry in history.done(enclosure))
    begin = min(first, today - dt.timedelta(days=DONE_DAYS))
    done = tuple(plan.done_occurrences(measured, series, entries, begin, today))
    if enclosures is not None:
        order = {e.id: number for number, e in enumerate(measured.enclosures)}
        series_kept = (s for s in planned.series if s.job.enclosure.id not in enclosures)
        done_kept = (o for o in planned.done if o.job.enclosure.id not in enclosures)
        series = tuple(sorted((*series_kept, *series), key=lambda s: order[s.job.enclosure.id]))
        done = tuple(sorted((*done_kept, *done), key=lambda o: order[o.job.enclosure.id]))
    return replace(planned, site=measured, series=series, done=done)


def days_of(
    planned: Planned,
    enclosure: str | None = None,
    keeper: str | None = None,
    job: str | None = None,
    *,
    absent: Absences | None = None,
) -> Iterator[Occurrence]:
    """Return the occurrences of the view, narrowed to an enclosure, a job, and what a keeper can take.

    `absent` is who cannot come when besides what the description says. UsageError at once.
    """
    site = planned.site
    series, done = planned.series, planned.done
    if enclosure is not None:
        wanted = pick_named(enclosure, site.enclosures, "enclosure")
        series = tuple(s for s in series if s.job.enclosure.id == wanted.id)
        done = tuple(o for o in done if o.job.enclosure.id == wanted.id)
    if job is not None:
        # Also what comes once, which is not described.
        there = {s.job.key for s in series} | {extra.key for e in site.enclosures for extra in e.extra_job}
        keys = [*care.KEYS, *sorted(there.difference(care.KEYS))]
        is_wanted = is_meant(job, [*(s.job for s in series), *(o.job for o in done)], keys)
        series = tuple(s for s in series if is_wanted(s.job))
        done = tuple(o for o in done if is_wanted(o.job))
    person = pick_named(keeper, site.keepers, "keeper") if keeper is not None else None
    found = plan.occurrences(site, series, planned.first, planned.horizon, done)
    return found if person is None else _of_person(site, person, found, absent)


def _of_person(
    site: Site, person: Keeper, found: Iterator[Occurrence], absent: Absences | None
) -> Iterator[Occurrence]:
    """Yield what a keeper did, or could take."""
    from scheduler.rota.availability import Availability
    from scheduler.rota.eligibility import could_do

    availability = Availability(site, absent)
    for o in found:
        if (
            o.entry.keeper == person.id
            if o.entry is not None
            else could_do(availability, person, o.job, o.day)
        ):
            yield o


def entries_for(planned: Planned, rota: Rota | None) -> Callable[[Occurrence], tuple[str, dt.time]]:
    """Return the function that names the calendar entry in which an occurrence stands, and its hour, as an
    export has them."""
    from scheduler.calendar import Agenda, Options, Writer

    writer = Writer(planned.site, Options())
    return Agenda(writer, planned.series, planned.done, planned.first, rota=rota).entry_of
