"""Care rules: Site to Jobs. One file a subject.

Decisions
---------

All nitrogen of the food ends in the water
    All nitrogen of the food ends in the water, unless the keeper chooses otherwise. For turtles no
    coefficient was found. The one for growing fish is the only published one near it, and it is lower,
    since growing fish keep part; grown turtles keep little, and leftovers rot. An upper bound errs towards
    a change too many. The review prints both peaks.

How often and how much water is changed
    How often and how much water is changed (`care/change_interval.py`, `care/figures/interval.py`). Where a
    filter works (`care/nitrifying.py`) nitrate decides: the limit is `nitrate_look`, or 20 mg/L over the
    tap, a tenth under `nitrate_act` at most, so that a tap of 39 mg/L does not ask for daily changes and
    one of 40 for none. From one mg/L of the tap to the next the interval moves by a day at most (by two
    where the rise is under 0.5 mg/L a day and the tap over 52). On the food, an upper bound, no more often
    than weekly, and to the day; on the tank's own readings as often as they ask, in whole weeks from one
    on, since each reading would move it. On the keeper's weekdays in whole weeks. The share is the smallest
    that holds the limit at that interval, at least what custom changes in as many days, half at most; the
    keeper's own `every` is a cap, the own `share` and `rule` stand. An entry keeps a computed share, since
    it moves (`Job.share`), or that of an alarm's change while one is open.

Where nothing nitrifies ammonia decides
    Where nothing nitrifies ammonia decides: all of the food's nitrogen, against the total whose un-ionised
    part is at `ammonia_act` at the tank's pH and temperature, or the EPA's chronic criterion where that is
    stricter (acid water), less a tenth, so that the routine is no alarm. Never more often than daily; what
    that does not hold is told with what does. An enclosure whose animals come a week or more after its
    set-up is planned as if its tests pass first, since jobs know no today; tests after their arrival that
    do not pass undo that. A description that does not say what is fed is not complete: no filter in it is
    not a filter that is missing.

UV lamps are replaced by hours of burning
    UV lamps are replaced by hours of burning: to 70 % of the baseline on an even decay, or under the lower
    end of the species' zone where the reading tells, by hours a day or by the daylight at the latitude. The
    customary months stay the bound, since the decay is fitted to them. No lamp is planned for less than
    four weeks: it hangs too far away or is too weak, and the review says so.

A note ends with what runs again
    Whatever its steps unplug is plugged in again by its last ones, each thing as it is found when it runs
    (`care/switching.py`): filter flowing, heater under water and at its set point, lamps on at their hours.
    `tests/care/test_followed_blind.py` walks every note of fourteen descriptions and the samples, with and
    without alarms. The notes became longer for it: a round has up to 10,000 characters, where 8,000 were
    enough before.

No rate of warming or cooling was found published
    First aid says so, names the vet first, and gives no rate of its own.

What needs the lamps stands where they have burned long enough
    Watching who basks, the UVI reading and the meal go into the first part of the day of which that is true
    by `on_at` and the hours; the keeper's own `part` stands, and where neither is true the job keeps its
    place and `check` names the hour to write. A lamp without `on_at` tells nothing, but for one that
    follows the daylight, which is held against today's hours.

Measured values take the description's place
    Measured values take the description's place in one pass (`care/measured.py`), so that no rule knows of
    the log. A lamp that was replaced keeps its identity (`id`, filled in by the pass), also when its new
    day is written into the description.

An animal keeps its record by its id
    An animal keeps its record by its id (`care/whereabouts.py`): one pass over the readings puts them where
    the animal lives now, so that no rule knows of moves; the log stays as it was written. Ids of residents
    used to be unique in an enclosure only, so an old log may hold two Ferns under one id. Entries go to the
    one who lives where they were taken, and to one elsewhere only where the days of the places do not
    overlap. Everything else is asked about (`moved_from`) and counts for nobody: two growth curves in one
    would raise or hide the vet's alarm. Visits to the vet and the tests of a quarantine are of an
    enclosure; they count for an animal that was measured there at the time.

An unfed tank has no pass
    Without animals a filter is started on doses (`ammonia-dose`), and each of the two clean tests has to
    follow one of the day before. Where no dose was ever recorded an earlier high reading stands for one:
    who doses without writing it down has that to show.

A pond outdoors has months, not a model of its water
    Cold months come from the latitude; changes of water and the weighing of those that winter there leave
    them out by BYMONTH, which calendars do not agree on, so that these are exported as single dates. Meals
    do so only while nobody reads the water: in a mild winter animals eat.

A job declares its values
    A job declares its values (`Job.asks`, `care/asked.py`): the fields of its sheet and what counts as done
    by its readings come from there. Who records readings by the command may leave some out: nitrate alone
    is a water test. On a sheet that would close a job of which three values are still to come, so where
    what is there would be taken for the whole, the log gets one more entry, `unfinished`, and for that day
    all that the job needs is asked for. A sheet is stored whole or not at all: a value that is wrong is
    said at its field, and what was typed stays there. Its entries have one instant, and are taken back
    together. Of the kit's "as N" or "as the ion" nothing is assumed on a page, since who guesses is up to
    4.4-fold out; zero is zero either way.

Routine is a property of the key
    Routine is a property of the key, not of today's interval (`@job(key, routine=True)`). A top up on most
    days is not routine, a feed every ten days is: where an interval decided, an entry would move between
    two kinds of calendar entry with every change of it, and vanish from the one. What an alarm brings
    (`fixed`) is never routine. A feed that waits for a clean test is the feed still; its short title says
    "see note".

What leads in a title
    What leads in a title (`care/leading.py`) is not what is most urgent: it is what comes seldom and takes
    preparing, so that a month tells the days apart. What an alarm asks for leads in both, before what is
    late. The keeper's own duties stand after the animals' and before the routine, since nothing is known of
    them but a title that five characters need not tell.

Quarantine
    Quarantine is counted by enclosure: all in, all out, and any arrival restarts it. A room shared by
    several quarantine tanks is the keeper's to judge. Its length is `every` of the job quarantine-release,
    never under 30 days.

Life stages
    Size rules where it is known; ages of the sheet move an animal on, but never one that is small for its
    age. Published growth curves are of wild animals and are not used to age anybody.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator
from itertools import chain

from scheduler.care import (
    asked,
    cycling,
    daily_look,
    feeding,
    heat,
    lamp_replacement,
    lamp_timer,
    light,
    quarantine,
    quarantine_jobs,
    safety,
    settling,
    space,
    supplies,
    tank_upkeep,
    vet,
    water_change,
    water_test,
    weighing,
)
from scheduler.care import filter as filter_service
from scheduler.care.checks import check
from scheduler.care.consequences import consequences
from scheduler.care.engine.case import Case
from scheduler.care.engine.figure import Figure
from scheduler.care.engine.job import ByRule, Cadence, Every, Job, Notes, On
from scheduler.care.engine.overrides import extra, once, overridden
from scheduler.care.engine.registry import ROUTINE, RULES
from scheduler.care.figures import KEYS as FIGURE_KEYS
from scheduler.care.figures.feeding import sharing
from scheduler.care.implied import with_implied
from scheduler.care.measured import as_measured
from scheduler.care.review import Review, review
from scheduler.care.urgency import LEAST_URGENT, urgency
from scheduler.care.waiting import cost_of_waiting, must_not_wait
from scheduler.care.watch.registry import Consequence
from scheduler.care.watch.sizes import misfit
from scheduler.care.whereabouts import OF_RESIDENTS, Unclear, follow_residents, linked, unclear
from scheduler.description.site import Site
from scheduler.history import NO_HISTORY, History, Looks
from scheduler.readings import SIGNS

_ROUND = (
    settling,
    cycling,
    daily_look,
    weighing,
    vet,
    space,
    quarantine,
    quarantine_jobs,
    water_test,
    water_change,
    tank_upkeep,
    filter_service,
    heat,
    light,
    lamp_replacement,
    lamp_timer,
    feeding,
    safety,
    supplies,
)
"""The subjects in the order of a round; inside a file the order of its functions."""

_FILES = [subject.__name__ for subject in _ROUND]
_RULES = sorted(RULES.items(), key=lambda item: _FILES.index(item[1].__module__))

KEYS = tuple(key for key, _ in _RULES)
"""The keys of all jobs, in the order of a round.

They are identities: calendar UIDs and the command line use them.
"""


ROUTINE_KEYS = frozenset(ROUTINE)
"""The keys of the routine: what is done on most days, whatever its interval is today."""


def cases(site: Site, today: dt.date | None = None, history: History = NO_HISTORY) -> Iterator[Case]:
    """Yield every enclosure of the site as its record leaves it, in the order of their ids."""
    yield from cases_of(site, as_measured(site, history), history, today=today)


def cases_of(
    site: Site,
    measured: Site,
    history: History,
    enclosures: Collection[str] | None = None,
    *,
    today: dt.date | None = None,
) -> Iterator[Case]:
    """Yield the enclosures of a site, or some, as they were `measured`; in the order of their ids."""
    for enclosure, described in zip(measured.enclosures, site.enclosures, strict=True):
        if enclosures is None or enclosure.id in enclosures:
            yield Case(measured, enclosure, today, history, described)


def jobs(site: Site, history: History = NO_HISTORY) -> Iterator[Job]:
    """Yield the jobs of every enclosure of the site, enclosures in the order of their ids."""
    for case in cases(site, history=history):
        yield from jobs_of(case)


def quarantines(site: Site, history: History = NO_HISTORY) -> dict[str, tuple[dt.date, dt.date]]:
    """Return the first and the last day of the quarantine of each enclosure that has one."""
    found = ((case.enclosure.id, quarantine.span_of(case)) for case in cases(site, history=history))
    return {enclosure: span for enclosure, span in found if span is not None}


_LOOK_DAYS = {
    "nitrate": 130, "ammonia": 130, "nitrite": 130, "ph": 160, "alkalinity": 160, "temperature": 45, "basking": 45,  # noqa: E501
    "uvi": 800, "weight": 400, "length": 800, asked.UNFINISHED: 130, **dict.fromkeys(SIGNS, 400),
}  # fmt: skip
"""Days of readings that the rules look at: somewhat more than the longest of them."""

_LOOK_DONE_DAYS = {
    "ammonia-dose": 130,
    "water-change": 130,
    "media-rinse": 400,
    "water-test": 130,
    "faecal-test": 400,
    "heater-check": 60,
    "quarantine-release": 400,
    "vet-check": 400,
}


def looks(today: dt.date, done_since: dt.date | None = None) -> Looks:
    """Return how far back the rules and the plan see from a day; every done entry only from `done_since`
    on."""
    return Looks(
        done={key: today - dt.timedelta(days=days) for key, days in _LOOK_DONE_DAYS.items()},
        readings={name: today - dt.timedelta(days=days) for name, days in _LOOK_DAYS.items()},
        all_done=done_since,
    )


def jobs_of(case: Case) -> Iterator[Job]:
    """Yield the jobs of one enclosure, in the order of a round."""
    for rank, (key, rule) in enumerate(_RULES):
        own = (job.registered(key, rank, routine=key in ROUTINE) for job in rule(case))
        yield from quarantine.kept_apart(case, overridden(case, own))
    yield from quarantine.kept_apart(case, chain(extra(case), once(case)))


__all__ = [
    "FIGURE_KEYS",
    "KEYS",
    "LEAST_URGENT",
    "OF_RESIDENTS",
    "ROUTINE_KEYS",
    "ByRule",
    "Cadence",
    "Case",
    "Consequence",
    "Every",
    "Figure",
    "Job",
    "Notes",
    "On",
    "Review",
    "Unclear",
    "as_measured",
    "cases",
    "cases_of",
    "check",
    "consequences",
    "cost_of_waiting",
    "follow_residents",
    "jobs",
    "jobs_of",
    "linked",
    "looks",
    "misfit",
    "must_not_wait",
    "quarantines",
    "review",
    "sharing",
    "unclear",
    "urgency",
    "with_implied",
]
