"""What was recorded of one enclosure plans that one anew, and the plan is the one that planning everything gives."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.depth import examples
from support.recorded import entry

from scheduler import care
from scheduler.description import Site
from scheduler.history import NO_HISTORY, Entry, History
from scheduler.log import Log, open_log
from scheduler.log.links import stand
from scheduler.workflow import read_site
from scheduler.workflow.live.round_page import RoundPage, tended
from scheduler.workflow.plan import Ask, Planned, make_plan, replan

SAMPLES = Path(__file__).parents[2] / "sample_configs"
TODAY = dt.date(2026, 12, 14)


def told(one: RoundPage) -> list[object]:
    """Return everything that a page could show, in plain values."""
    return [
        one.site.enclosures,
        [
            (
                (j := s.job).log_name,
                j.title,
                j.minutes,
                j.notes(),
                s.rule,
                s.first,
                s.dates,
                s.until,
                s.open,
                s.why,
                s.met,
            )
            for s in one.planned.series
        ],
        [(o.day, o.time, o.job.log_name, o.entry) for o in one.planned.done],
        {day: [(t.ref, t.keeper, t.quarantine) for t in turns] for day, turns in one.turns.items()},
        one.done,
        one.stand,
        one.history.begun,
        one.history.last,
        [(one.history.measured(e.id), [*one.history.done(e.id)]) for e in one.site.enclosures],
        [one.history.stays.get(e.id, {}) for e in one.site.enclosures],
    ]


def entries(site: Site) -> st.SearchStrategy[Entry]:
    """Return entries of a site as a keeper could record them, of today and the days before."""
    jobs = [j for j in care.jobs(site) if j.recorded_as is None]
    made = dt.datetime(2026, 12, 14, 9)  # noqa: DTZ001 - UTC, as the log keeps it
    days = st.integers(0, 40).map(lambda n: TODAY - dt.timedelta(days=n))

    def done(job: care.Job, day: dt.date) -> Entry:
        enclosure, name, of = job.log_name
        half = 1.0 if name == "media-rinse" else None
        return Entry(
            kind="done",
            enclosure=enclosure,
            name=name,
            of=of,
            day=day,
            value=half,
            recorded=made,
            title=job.title,
        )

    def read(whose: tuple[str, str], name: str, value: float, day: dt.date) -> Entry:
        of = whose[1] if name in ("weight", "length") else ""
        return Entry(
            kind="reading", enclosure=whose[0], name=name, of=of, day=day, value=value, recorded=made
        )

    living = [(e.id, r.id) for e in site.enclosures for r in e.resident]
    # Where they live, and where they may have lived before.
    residents = living + [(e.id, living[n][1]) for n, e in enumerate(site.enclosures)]
    readings = [("nitrate", 45.0), ("nitrate", 8.0), ("ammonia", 1.0), ("weight", 412.0), ("length", 155.0)]
    return st.builds(done, st.sampled_from(jobs), days) | st.tuples(
        st.sampled_from(residents), st.sampled_from(readings), days
    ).map(lambda r: read(r[0], *r[1], r[2]))


def looked(log: Log, site: Site, before: RoundPage | None = None) -> RoundPage:
    return tended(log, site, TODAY, stand(log, site.settings.id), before=before)


HOUSEHOLD = read_site(SAMPLES / "household.toml")
RESCUE = read_site(SAMPLES / "rescue.toml")


@pytest.mark.parametrize(
    "site",
    [
        pytest.param(HOUSEHOLD, id="household"),
        pytest.param(RESCUE, id="rescue", marks=pytest.mark.slow),
    ],
)
def test_the_plan_after_a_record_is_that_of_the_whole_site(site: Site) -> None:
    @settings(max_examples=examples(12), deadline=None)
    @given(st.lists(st.lists(entries(site), min_size=1, max_size=4) | st.none(), min_size=1, max_size=6))
    def holds(steps: list[list[Entry] | None]) -> None:
        with tempfile.TemporaryDirectory() as folder, open_log(f"sqlite:///{folder}/turtles.db") as log:
            held = looked(log, site)
            for step in steps:
                last = log.latest(site.settings.id)
                if step is not None:
                    log.record(site.settings.id, step)
                elif last is not None:
                    uid = last.uid(site.settings.id)
                    log.void(site.settings.id, uid, keeper="", note="", recorded=last.recorded)
                held = looked(log, site, held)
            assert told(held) == told(looked(log, site))

    holds()


def orders(planned: Planned) -> dict[str, list[str]]:
    """Return what each enclosure's jobs say of ordering the conditioner, of which the whole household takes."""
    return {
        s.job.enclosure.name: [f.how() for f in s.job.notes().worked]
        for s in planned.series
        if s.job.key == "supplies" and s.job.variant == "conditioner"
    }


def test_readings_of_one_tank_move_what_another_orders_of_the_same_bottle() -> None:
    """More nitrate, more changes: the big bottle, which is written down with the den's tank, is empty sooner.

    Before: 424 L + 107 L a week and 55 L a fortnight, and 10.6 L a day topped up, are 90 L or 24 gal a day.
    """
    site = HOUSEHOLD
    tank = next(e.id for e in site.enclosures if e.name == "Opal's tank")
    first = dt.date(2026, 11, 20)
    risen = [entry(f"{first + dt.timedelta(days=n)} nitrate {6 + 9 * n}", tank, n) for n in range(0, 24, 3)]

    def ask(readings: list[Entry]) -> Ask:
        found = History(dt.date(2026, 10, 1), readings=readings)
        return lambda enclosures: found if enclosures is None or tank in enclosures else NO_HISTORY

    before = make_plan(site, TODAY, TODAY, 365, ask(risen[:1])(None))
    after, anew = replan(before, {tank}, ask(risen))
    assert anew == {enclosure.id for enclosure in site.enclosures}
    together = "with Basement tub and Opal's tank"
    assert orders(before) == {
        "Den tank": [f"1200 gal / 53 gal a day {together} = 23 days from 24 October 2026, less 14 days"]
    }
    assert orders(after) == {
        "Den tank": [f"1200 gal / 80 gal a day {together} = 15 days from 24 October 2026, less 14 days"]
    }
    assert orders(after) == orders(make_plan(site, TODAY, TODAY, 365, ask(risen)(None)))
