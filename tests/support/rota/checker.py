"""A checker of rotas that shares nothing with what makes them: the rules again, from the words in which they were asked for.

Of the rota's own code it takes the plain data. Days, windows, skills, minutes and measures are worked out from the site
and the jobs.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence

from scheduler.description import Site
from scheduler.plan import Occurrence
from scheduler.rota import Assigned, Past, Rota
from support.rota.checked import Checked, Spans
from support.rota.measures import loads_are_the_sums, measures_are_right, the_bound_is_one
from support.rota.rules_of_rounds import (
    each_series_in_order,
    in_order,
    keepers_are_the_sites,
    nothing_lost_nothing_doubled,
    on_its_own_weekdays,
    one_round_a_day_and_no_more_than_agreed,
    quarantine_last_and_rooms_in_one_go,
    services_apart,
    somebody_who_can,
    somebody_who_is_there,
    the_job_is_the_plans,
    two_where_one_is_not_enough,
    within_the_minutes,
    within_the_window,
)
from support.rota.rules_of_what_is_left import (
    nothing_urgent_is_left_for_something_less_so,
    what_is_left_nobody_could_take,
    what_is_left_says_why,
    what_is_overdue_comes_as_soon_as_it_can,
)

RULES: tuple[Callable[[Checked], Iterator[str]], ...] = (
    nothing_lost_nothing_doubled,
    the_job_is_the_plans,
    keepers_are_the_sites,
    within_the_window,
    on_its_own_weekdays,
    somebody_who_is_there,
    somebody_who_can,
    within_the_minutes,
    one_round_a_day_and_no_more_than_agreed,
    quarantine_last_and_rooms_in_one_go,
    services_apart,
    each_series_in_order,
    two_where_one_is_not_enough,
    loads_are_the_sums,
    what_is_left_says_why,
    what_is_left_nobody_could_take,
    nothing_urgent_is_left_for_something_less_so,
    what_is_overdue_comes_as_soon_as_it_can,
    measures_are_right,
    the_bound_is_one,
    in_order,
)


def check(
    made: Rota,
    site: Site,
    occurrences: Sequence[Occurrence],
    *,
    quarantined: Callable[[str, dt.date], bool],
    absent: Spans | None = None,
    past: Past | None = None,
    published: Sequence[Assigned] = (),
    first: dt.date | None = None,
    last: dt.date | None = None,
) -> list[str]:
    """Return every rule that a rota breaks, a sentence each; nothing where it is right."""
    checked = Checked(
        made,
        site,
        list(occurrences),
        quarantined,
        absent or {},
        past or Past(),
        published,
        first or made.first,
        last or made.last,
    )
    return [sentence for rule in RULES for sentence in rule(checked)]
