"""The plan: Jobs to dated occurrences, as rules where they are regular and as single dates where they are not."""

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
