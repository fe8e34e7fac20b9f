"""The rota: who takes which occurrences, fairly and with the least change, and how near that is to the best.

Decisions
---------

The rota keeps the eve
    Test and change move apart inside half of their windows, never past each other
    (`rota/items._keep_eves`): of the rescue's 96 tests in 14 weeks 27 came a day or two after a change, now
    3, where nobody has the minutes otherwise.

What is left undone today is nobody's in the published rota
    What is left undone today is nobody's in the published rota, under whatever day it was published: else
    the row of its own day is held the next time, and a rota that is published and made again is another
    one. Random steps found it.

The rota is solved by counting
    Items that are alike (minutes, days, skills, wishes) are one integer variable for each keeper and day,
    so that a week of 100 enclosures has some 6,000. Four steps, each a few lines on a library: a linear
    program of the whole span without windows and whole jobs gives the fairest loads that absences allow,
    and the bound; each week then stays near its part of these loads; rounds are left out one by one, the
    emptiest first, as long as that linear program is not worse for it; and whole items are found near its
    solution. A program with a variable for each round was tried first: after 30 s it had a gap of 10 % and
    more rounds than leaving out finds in 0.2 s. Who is behind in days gets more before (a holiday at the
    end).

What the gap says
    `objective` is the sum of load x load / fair load, in minutes, which is all minutes over Jain's index;
    it is of the whole span, and its bound is of the whole span too, by a relaxation that every rota
    satisfies. It says nothing of the number of rounds, which nobody can bound well.

Half a window to either side
    What is due next counts from when a job is done, so that of an item and the next one the one may not be
    early and the other late by the whole window. The rest of the window is used where nobody has the time
    otherwise. Services of one enclosure keep their three days whatever is chosen.

Classes, after the weeks
    A week's program counts minutes alone. `rota/repair.py` then looks at the whole span: what is left gets
    a place where there is one; else others move within their windows, two in a row and over the borders of
    weeks; else it takes the place of what is less urgent (`care/urgency.py`, then the days for which it is
    open). It goes on until nothing changes, each turn for something more urgent: what comes out is what
    goes in the next time, and a published rota stays as it is. Weights in the program were not taken: to be
    sure that five minutes of food outweigh hours of cleaning they differ by a factor that the solver's
    tolerance swallows. Where a class decided what is left, the bound is that of rotas which leave the same;
    the household leaves a check of 20 minutes for 5 of a daily look.

What is open reaches the first day on which anybody can do it
    What is open reaches the first day on which anybody can do it, up to half way to the next of its kind.
    Where nobody comes until then and its interval counts from when it is done, the next is met by it
    (`items._without_met`), as the plan will say on that day.

What was published is fixed
    What was published is fixed, not made dear: whoever is ill for a day should change that day. It gives
    way only in a week in which something would be left undone by it. Without a record, what was published
    for past days counts as done. What fell due before the record and was published for today or later has
    its day, unless it falls due again by then (`rostering.still_to_come`, for rotas and for syncs without
    keepers).

Who is away
    Who is away by the log (`workflow/rota/away.py`) is so for every rota that is made, published or not, and
    comes back with `undo`; what `--ill` publishes is kept with the rota alone. What such an entry changes is
    told before it is recorded, and published with it.

Fair over the whole log
    Fair over the whole log: everybody's minutes less their share of all minutes since their own first
    entry, so that a newcomer owes nothing. At most half of a fair load is made up for in one rota.

Quarantine
    Quarantine goes to somebody who has no other work that day where that costs the others little
    (`PARTED`), and is last in any case.

Skills
    Jobs ask for skills only once some keeper lists any (`can`): a household that never mentions skills is
    not asked to. From then on a keeper without a list has none. A skill that a job asks for and nobody has
    is a finding of the review, not a mistake: the job stays in the plan, and who shares it out has to know.
"""

from scheduler.rota.builder import assign
from scheduler.rota.model import Assigned, Fairness, Item, Past, Rota, Round, Task, Unfilled
from scheduler.rota.past import LATE_DAYS, past

__all__ = [
    "LATE_DAYS",
    "Assigned",
    "Fairness",
    "Item",
    "Past",
    "Rota",
    "Round",
    "Task",
    "Unfilled",
    "assign",
    "past",
]
