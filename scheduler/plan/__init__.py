"""The plan: Jobs to dated occurrences, as rules where they are regular and as single dates where they are
not.

Decisions
---------

Phases never depend on today
    An interval job keeps its interval exactly, so its first day decides its whole future. That day follows
    from the description alone: from `set_up` or `start`, or from a fixed Monday when nothing is dated.
    Otherwise every export would shift the calendar. `today` only decides where the view begins. A `Case`
    has it for figures that grow with time (hours burned, length of day); jobs rest on none of them, and are
    made without it. Enclosures are placed in the order of their set-up, and minutes count in steps of
    doubling: a new enclosure or five minutes more move no other job.

House intervals are whole weeks
    House intervals are whole weeks (28 days for "monthly", 364 for "yearly"): the weekday stays, the rule
    is one that every calendar program reads, and services of one enclosure can be kept apart for ever by
    their weekdays alone.

Spacing
    Jobs are placed heavy ones first, each on the least loaded of the days it may begin: at least three days
    from the other heavy services of the enclosure, on weekdays that a keeper with the skills has. Loads are
    compared over eight weeks, so that the cost is the same for each enclosure. In the first six enclosures
    of a site, by their set-up, a job first looks for the days on which it meets the fewest rare jobs of its
    part of the day (`entries.py`, counted over two years), and only of those for the least loaded: each is
    an entry that somebody reads. Beyond six the minutes alone decide; a day is too full for entries one by
    one. What comes once, or by the year, is not counted and keeps its day. If the days that somebody has do
    not leave room for the biofilter, another day is taken; if the interval never leaves room, the job is
    walked from date to date and exported as single dates. A change under 30 % of the water is not "large"
    and need not keep away; nor does one that comes again in less than six days, since no day is three days
    away from both. An interval in months is planned as the whole weeks that fit into its mean length (1
    month 4, 6 months 26), so that all this holds for it too. A first occurrence may come up to half an
    interval early to find its day, a light one of up to eight weeks up to three quarters, since half of the
    days leave too few free ones; where the interval is the life of a thing (`lasts`, a lamp), at most its
    window.

Water is tested on the eve of a change
    Water is tested on the eve of a change (`Job.eve_of`), where somebody has that day, else on the day
    itself, where it comes first in the round. On the same day the two were 52 of the 58 days of the
    one-tank sample with more than one rare job; a day earlier the reading still says how much to change.

Every 3 or 4 days is twice a week
    Every 3 or 4 days is twice a week for topping up (`Every.by_weekdays`): two weekdays 3 and 4 days apart,
    within its window. A rule of 3 days meets every other job in turn, and no day can be kept free of it.
    With a record it stays on its two weekdays: the next time is the one nearest to the interval. A keeper's
    own `every` is kept to the day.

The record begins with its first entry
    Before it nobody can say what was done: what fell due then counts as done, or a keeper of many years
    would begin with a hundred overdue jobs. From then on everything counts, but for `not_logged`: who never
    records the daily look should not be told every day that it is overdue.

A job that was never done has its place from the description
    `plan.Follow` carries the jobs as they would be without the record; phases come from those. A reading
    that shortens one interval moves that job alone.

`did` moves one calendar entry
    Only the *next* times of the heavy services of an enclosure are kept three days apart: what lies behind
    those moves with what will be done. Looking further ahead would move filter service months away with
    every change of water that is a day early. The shorter interval stays to the day, the longer one moves
    within its window. Light jobs are not spread anew: the next time is done + interval. A keeper who does
    all on its day keeps the days of the description, but a test that a rinse asks for is a test of the
    water too, and takes the weekly one to its weekday.

What a reading asks for at once stands for the plain job
    What a reading asks for at once stands for the plain job that falls due within its window
    (`Following._stands_for_another`), and counts as it when it is done: a tank has not two heater checks on
    one day. What may wait (a second reading of one lamp or one animal) asks for a part alone, and stands
    for nothing.

What is open
    What is open has one entry, on today, however many days were missed; the next time after it is at least
    half an interval away and does not move from day to day. A day that was done early meets the next one,
    within the window and never half way to it; a job that comes once counts when it was done up to four
    weeks before; what follows from a reading never counts early. An occurrence is never open twice.

Bent by hand
    What people bend (`amendments.py`) is an entry of the log, and the plan follows it as it follows what was
    done; nothing of it is in the description. An occurrence that is put off is due on the other day, under
    that day's name: no calendar entry has two days, and a rota holds nobody to the old one. By interval the
    next time moves, and the interval goes on from there; what is done near the day of which it was said, or
    after it was said, has met it. By calendar one day leaves the rule and another one comes beside it, as an
    entry of its own. What is open takes along all that was missed up to the day on which it was said. What
    was said of a day that is none of the series any more, since the description or a reading has changed it,
    changes nothing: better a job on its day than one that nobody can explain. On a day on which it comes
    anyway it cannot be put; the rota does not move it forward.
"""

from scheduler.plan.following import Follow, Phases
from scheduler.plan.moves import Move, Next, moves, next_days
from scheduler.plan.occurrence import Occurrence, State, done_occurrences, occurrences
from scheduler.plan.planner import irregular, places, schedule
from scheduler.plan.series import Open, Series

__all__ = [
    "Follow",
    "Move",
    "Next",
    "Occurrence",
    "Open",
    "Phases",
    "Series",
    "State",
    "done_occurrences",
    "irregular",
    "moves",
    "next_days",
    "occurrences",
    "places",
    "schedule",
]
