"""The plan of a site that keeps a record: what was done moves what comes next, and what was not done stays.

An interval counts from the day on which the job was last done. What fell due since the record began and was
not done is open: it is shown today, whatever day it is, and says since when. Nothing is open twice: of
several days that were missed one occurrence is left.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scheduler.care import Every, Job, On
from scheduler.history import Amendment, History, JobRef
from scheduler.plan import matching
from scheduler.plan.amendments import amendments_of, bend, bent, bent_days, standing
from scheduler.plan.days import ALL_DAYS, Days, weekday_of
from scheduler.plan.series import Open, Series, every
from scheduler.plan.spacing import APART_DAYS, Phase, Wish, twice_a_week, walk, why_irregular

SEEN_DAYS = 90
"""So far back single days are matched with what was done. Calendars show done occurrences for less."""

Phases = Mapping[JobRef, Phase]


@dataclass(frozen=True, slots=True, kw_only=True)
class Follow:
    """What a plan follows: the record, the day of today, and the jobs and their places as they were without
    it.

    Without the record the jobs have their places from the description alone; so the place of a job that was
    never done does not move when a reading changes the interval of another.
    """

    history: History
    today: dt.date
    base: Sequence[Job]
    phases: Phases


@dataclass(slots=True)
class Following:
    """Follows the jobs of one enclosure, heavy services first: those keep apart from each other."""

    follow: Follow
    days: Days
    phases: Phases
    base: Mapping[JobRef, Job]
    begun: dt.date
    horizon: dt.date
    heavy: list[int] = field(default_factory=list)
    stood_for: Mapping[JobRef, Job] = field(default_factory=dict)
    """The jobs, by the names that the log has for them, for which another one is open today that a reading
    asks for, and that one.
    """

    def intervals(self, jobs: Sequence[Job]) -> dict[int, Series | None]:
        """Return the series of the enclosure's interval jobs, by the position of the job."""
        self.stood_for = {job.log_name: job for job in jobs if self._stands_for_another(job)}
        found: dict[int, Series | None] = {}
        placed = [(i, job, job.cadence) for i, job in enumerate(jobs) if isinstance(job.cadence, Every)]
        placed.sort(key=lambda p: (not p[1].heavy, p[2].span.interval_days, p[1].rank, p[1].variant))
        for i, job, cadence in placed:
            found[i] = self._interval(job, cadence)
        return found

    def _stands_for_another(self, job: Job) -> bool:
        """Tell whether a job is one that a reading asks for at once, and is open today; what may wait asks
        for a part alone."""
        if job.recorded_as is None or job.window or not isinstance(job.cadence, On):
            return False
        if job.met_on is not None:
            return not job.met_on
        last = self.follow.history.last.get(job.log_name)
        return any(day <= self.follow.today and (last is None or day > last) for day in job.cadence.days)

    def is_answered(self, job: Job) -> bool:
        """Tell whether another job that is open today stands for this one, so that the two do not come side
        by side."""
        return job.recorded_as is None and job.log_name in self.stood_for

    def _is_answered_by(self, job: Job, due: dt.date) -> bool:
        """Tell whether what is open today stands for a job that is due on a day.

        A change of water begins a new interval by its share; what else a reading asks for is the next one
        done early, no more than the window.
        """
        if not self.is_answered(job):
            return False
        other = self.stood_for[job.log_name]
        return other.met_on is not None or (due - self.follow.today).days <= job.window

    # --- by interval ---

    def _interval(self, job: Job, cadence: Every) -> Series | None:
        today, period = self.follow.today, cadence.span.interval_days
        allowed = self.days.allowed(job) if period >= 7 or job.weekdays is not None else ALL_DAYS
        twice = self._twice(job)
        if twice:
            # It stays on its two weekdays, whatever day it is done on: no entry moves.
            allowed = twice
        due = self._bent(job, self._due(job, cadence, period, allowed), period, allowed)
        until = cadence.until
        if until is not None and (due.date > until or until < today):
            return None
        open_ = None
        start = due.date.toordinal()
        answered = self._is_answered_by(job, due.date)
        later = self._still_to_come(job, start, allowed) if due.date < today and not answered else None
        if later is not None:
            start = later
        elif due.date < today or answered:
            if not answered:
                open_ = Open(day=today, since=due.date, overdue=(today - due.date).days > job.window)
            # The next time after that counts from the day on which it is done. Until then it stays where it
            # was, at least half an interval away, so that calendars do not move with every day that passes.
            ahead = today.toordinal() + (period + 1) // 2 - start
            start += max(0, -(-ahead // period)) * period
        chosen = {due.date: due.chosen} if due.chosen is not None and open_ is None else {}
        if twice:
            if chosen and weekday_of(start) not in twice:
                # It comes on the day that was chosen, and goes on with its own two weekdays.
                start += (period + 1) // 2
            start = next(d for d in range(start, start + 7) if weekday_of(d) in twice)
            phase = Phase(first=start, second=next(n for n in range(1, 7) if weekday_of(start + n) in twice))
        else:
            phase = self._phase(job, period, start, allowed, due, exact=bool(chosen))
        if job.heavy and open_ is None:
            self.heavy.append(phase.days[0] if phase.why and phase.days else phase.first or start)
        if phase.why:
            end = min(self.horizon, until) if until else self.horizon
            dates = tuple(d for d in map(_day, phase.days) if today <= d <= end)
            made = Series(job=job, dates=dates, why=phase.why, open=open_, moves=True, chosen=chosen)
            return made if dates or open_ else None
        first = _day(phase.first)
        rule = every(period, first, phase.second)
        return Series(job=job, rule=rule, first=first, until=until, open=open_, moves=True, chosen=chosen)

    def _bent(self, job: Job, due: _Due, period: int, allowed: Sequence[int]) -> _Due:
        """Return the day on which a job is due next after what somebody said of it."""
        history = self.follow.history
        said = amendments_of(history, job.ref)
        one = standing(said, history.last.get(job.log_name), period) if said else None
        if one is None:
            return due
        if one.to is not None:
            return _Due(one.to, True, due.phase, chosen=one)
        return _Due(_snap(one.due.toordinal() + period, allowed, job.window, period), True, due.phase)

    def _twice(self, job: Job) -> tuple[int, ...]:
        """Return the two weekdays of a job that comes twice a week, as they are without the record; none for
        others."""
        phase, as_planned = self._planned(job)
        if phase is None or not phase.second or not as_planned or not twice_a_week(job):
            return ()
        return weekday_of(phase.first), weekday_of(phase.first + phase.second)

    def _phase(
        self, job: Job, period: int, start: int, allowed: Sequence[int], due: _Due, *, exact: bool
    ) -> Phase:
        """Return where the job goes on: on its day, or on the nearest in its window that keeps clear of other
        services.

        An `exact` one comes on its day whatever else does: somebody chose it.
        Only the next time of each service is held against the next of the others: what lies behind those
        moves with what will be done, and until then calendars need not change.
        """
        if due.phase is not None and due.phase.why and not due.moved:
            return Phase(days=[d for d in due.phase.days if d >= start], why=due.phase.why)
        day = start
        if job.heavy and not exact and not self._clear(start):
            window = min(job.window, period - 1)
            first = max(start - window, self.follow.today.toordinal())
            near = sorted(range(first, start + window + 1), key=lambda d: (abs(d - start), d))
            # A day that nobody has, but that leaves the biofilter alone, beats a disturbed biofilter.
            wanted = [d for d in near if weekday_of(d) in allowed] + (near if job.weekdays is None else [])
            day = next((d for d in wanted if self._clear(d)), start)
        wish = Wish(job, period, _day(day - period), False, tuple(allowed), [])
        why = why_irregular(wish)
        if why:
            found = walk(wish, self.horizon.toordinal() + period + 2 * job.window, why)
            if exact:
                found = replace(found, days=[start, *(d for d in found.days if d > start + period // 2)])
            return found
        return Phase(first=day)

    def _still_to_come(self, job: Job, due: int, allowed: Sequence[int]) -> int | None:
        """Return the day for which a heavy service that is due keeps off another one; None where it is to be
        done now."""
        today = self.follow.today.toordinal()
        if not job.heavy or self._clear(today):
            return None
        ahead = range(today + 1, due + job.window + 1)
        return next((d for d in ahead if self._clear(d) and weekday_of(d) in allowed), None)

    def _clear(self, day: int) -> bool:
        return all(abs(day - other) >= APART_DAYS for other in self.heavy)

    def _due(self, job: Job, cadence: Every, period: int, allowed: Sequence[int]) -> _Due:
        """Return the day on which the job is due next, whether what was done has moved it, and its place
        without that."""
        last = self.follow.history.last.get(job.log_name)
        phase, as_planned = self._planned(job)
        anchor = cadence.anchor
        if cadence.lasts and anchor is not None:
            # The life of a thing counts from its installation; what was done at its end belongs to the next
            # one.
            due = anchor.toordinal() + period
            if as_planned and phase is not None and not phase.why:
                due = phase.first
            while due < self.begun.toordinal():
                due += period
            if last is not None and last.toordinal() > due - period // 2:
                due += period
                return _Due(_snap(due, allowed, job.window, period), True, phase)
            return _Due(_snap(due, allowed, job.window, period), not as_planned, phase)
        if last is not None and (anchor is None or last >= anchor):
            return _Due(_snap(last.toordinal() + period, allowed, job.window, period), True, phase)
        if phase is None:
            due = max(anchor or self.begun, self.begun).toordinal() + period
            return _Due(_snap(due, allowed, job.window, period), True, None)
        since = max(self.begun, anchor) if anchor else self.begun
        return _Due(_first_from(phase, self._base_period(job), since), not as_planned, phase)

    def _planned(self, job: Job) -> tuple[Phase | None, bool]:
        """Return the place of a job without the record, and whether its cadence is still the same as
        there."""
        base = self.base.get(job.ref)
        return self.phases.get(job.ref), base is not None and base.cadence == job.cadence

    def _base_period(self, job: Job) -> int:
        cadence = self.base[job.ref].cadence
        assert isinstance(cadence, Every)
        return cadence.span.interval_days


@dataclass(frozen=True, slots=True)
class _Due:
    date: dt.date
    moved: bool
    phase: Phase | None
    chosen: Amendment | None = None


def _day(ordinal: int) -> dt.date:
    return dt.date.fromordinal(ordinal)


def _snap(due: int, allowed: Sequence[int], window: int, period: int) -> dt.date:
    """Return the nearest day to a due one on which somebody can do it: in the window, else before it, else
    the day itself."""
    near = sorted(range(due - window, due + window + 1), key=lambda d: (abs(d - due), d))
    before = range(due - 1, due - period, -1)
    return _day(next((d for d in [*near, *before] if weekday_of(d) in allowed), due))


def _first_from(phase: Phase, period: int, since: dt.date) -> dt.date:
    """Return the first planned day from `since` on."""
    start = since.toordinal()
    if phase.why:
        return _day(next((d for d in phase.days if d >= start), start + period))
    if phase.second:
        begin = max(start, phase.first)
        return _day(begin + min((phase.first + n - begin) % 7 for n in (0, phase.second)))
    return _day(phase.first + max(0, -(-(start - phase.first) // period)) * period)


# --- by calendar, and on single days ---


def followed(
    series: Series,
    follow: Follow,
    begun: dt.date,
    instances: Sequence[dt.date],
    comes: Callable[[dt.date], bool],
    *,
    answered: bool = False,
) -> Series | None:
    """Return a series by calendar, or of single days, as the record leaves it.

    `instances` are its days from SEEN_DAYS before today, or from the last before that, to a window after
    today; `comes` tells whether any day is one of the series. One that is `answered` by another job does not
    come today. None when nothing is left.
    """
    job, today = series.job, follow.today
    if said := amendments_of(follow.history, job.ref):
        out, chosen = bend(said, comes)
        instances = bent_days(instances, out, chosen)
        series = bent(series, out, chosen, today)
    until = series.until
    early = matching.early_days(job, instances)
    if job.met_on is not None:
        last = max(job.met_on, default=None)
        done = list(job.met_on)
    else:
        last = follow.history.last.get(job.log_name)
        done = [e.day for e in follow.history.done(job.enclosure.id, job.key) if e.of == job.log_name[2]]
        if last is not None:
            done.append(last)
    met = matching.met(instances, done, early)
    left = matching.missed([d for d in instances if d < today], begun, last, early)
    over = until is not None and until < today
    open_ = None
    if answered and today in instances:
        met = {**met, today: today}
    elif left and not over and not answered:
        own = today in instances and today not in met.values()
        open_ = Open(
            day=today,
            since=left[0],
            overdue=(today - left[0]).days > job.window,
            own=own,
            of=left[-1] if isinstance(job.cadence, On) and not own else None,
        )
    if series.rule is None:
        gone = set(met.values())
        dates = tuple(d for d in series.dates if d >= today and d not in gone)
        if not dates and open_ is None and not met:
            return None
        return replace(series, dates=dates, open=open_, met=met)
    return replace(series, open=open_, met=met)


def seen(days: Iterator[dt.date], today: dt.date) -> list[dt.date]:
    """Return of a series' days, in order and ending after today, those that are matched with what was done.

    From SEEN_DAYS before today on; where there is none between then and today, the last one before.
    """
    found: list[dt.date] = []
    for day in days:
        if found and found[-1] <= today - dt.timedelta(days=SEEN_DAYS) and day <= today:
            found.clear()
        found.append(day)
    return found
