"""What is fair over the whole span, given who is there when: a linear program without days of windows and
whole jobs.

Every rota of the span is a solution of it, so that what it costs is less than any rota can. Its loads are the
targets of the weeks: who will be away for the last fortnight does more before.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.rota.availability import Availability
from scheduler.rota.grouping import Groups
from scheduler.rota.solver import INFINITY, Program

UNFILLED = 1000.0
"""What a minute of work that nobody does costs, in minutes: more than any unfairness."""

STEEP = 200.0
"""The most that a minute more of somebody can cost, however small the share: less than a minute that nobody
does."""


TANGENTS = (
    0.0, 0.25, 0.5, 0.7, 0.8, 0.88, 0.94, 0.97, 0.985, 1.0, 1.015, 1.03, 1.06, 1.12, 1.2, 1.35, 1.6, 2.0, 3.0, 5.0, 10.0,  # noqa: E501
    25.0, STEEP / 2.0,
)  # fmt: skip
"""Multiples of the fair load at which the square is touched by a line."""


@dataclass(frozen=True, slots=True)
class Targets:
    """The loads that are nearest to fair, in minutes of the span, and what no rota of it can cost less
    than."""

    loads: Sequence[float]
    bound: float


def cost(loads: Sequence[float], fair: Sequence[float], unfilled: float) -> float:
    """Return what loads cost: the sum of load x load/fair load, in minutes, and what is unfilled.

    It is the sum of all minutes where loads are fair, and that over Jain's index where they are not. From a
    slope of `STEEP` on it goes straight, so for whoever has no share from the first minute.
    """
    return UNFILLED * unfilled + sum(map(_cost, loads, fair))


def _cost(load: float, fair: float) -> float:
    bend = STEEP / 2.0 * fair
    return load * load / fair if load < bend else STEEP * (load - bend / 2.0)


def solve_targets(
    availability: Availability,
    spans: Sequence[tuple[Sequence[float], Groups]],
    credit: Sequence[float],
    fair: Sequence[float],
) -> Targets:
    """Return the fairest loads. `credit` are minutes that count already, `fair` those that would be fair at
    the end.

    Each of the spans, weeks or all of them together, has the minutes of each keeper in it and its items.
    """
    program = Program()
    terms: dict[int, list[tuple[int, float]]] = {k: [] for k in range(len(availability.keepers))}
    for room, groups in spans:
        _span(program, availability, room, groups, terms)
    for keeper, own in terms.items():
        _square(program, own, credit[keeper], fair[keeper])
    solved = program.relaxed().run()
    loads = [sum(solved.values[one] for one, _ in own) for own in terms.values()]
    return Targets(loads, solved.objective)


def _span(
    program: Program,
    availability: Availability,
    room: Sequence[float],
    groups: Groups,
    terms: Mapping[int, list[tuple[int, float]]],
) -> None:
    fixed: dict[tuple[dt.date, tuple[int, ...]], int] = {}
    loose: dict[tuple[int, ...], int] = {}
    for kind, some in groups.items():
        minutes = kind.minutes * len(some)
        # Who never has so many minutes on a day cannot take any of it.
        able = tuple(
            k
            for k in kind.able
            if any(availability.minutes(availability.keepers[k], day) >= kind.minutes for day in kind.days)
        )
        if len(kind.days) == 1:
            fixed[kind.days[0], able] = fixed.get((kind.days[0], able), 0) + minutes
        else:
            loose[able] = loose.get(able, 0) + minutes
    on_day: dict[tuple[int, dt.date], list[tuple[int, float]]] = {}
    in_span: dict[int, list[tuple[int, float]]] = {}
    for (day, able), minutes in fixed.items():
        own = [(program.variable(UNFILLED), 1.0)]
        for keeper in able:
            one = (program.variable(), 1.0)
            own.append(one)
            on_day.setdefault((keeper, day), []).append(one)
            in_span.setdefault(keeper, []).append(one)
        program.row(minutes, minutes, own)
    for able, minutes in loose.items():
        own = [(program.variable(UNFILLED), 1.0)]
        for keeper in able:
            one = (program.variable(), 1.0)
            own.append(one)
            in_span.setdefault(keeper, []).append(one)
        program.row(minutes, minutes, own)
    for (keeper, day), own in on_day.items():
        program.row(0.0, availability.minutes(availability.keepers[keeper], day), own)
    for keeper, own in in_span.items():
        program.row(0.0, room[keeper], own)
        terms[keeper].extend(own)


def _square(program: Program, own: Sequence[tuple[int, float]], credit: float, fair: float) -> None:
    """Let a load cost its square over the fair load, from below: by the lines that touch it."""
    costs = program.variable(1.0)
    for multiple in TANGENTS:
        # x^2 / f lies above 2 m x - m^2 f, which touches it at x = m f.
        slope = 2.0 * multiple
        constant = slope * credit - multiple * multiple * fair
        program.row(constant, INFINITY, [(costs, 1.0), *((one, -slope) for one, _ in own)])
