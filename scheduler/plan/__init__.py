"""The plan: Jobs to dated occurrences, as rules where they are regular and as single dates where they are not."""

from scheduler.plan.days import can_take
from scheduler.plan.occurrence import Occurrence, occurrences
from scheduler.plan.planner import irregular, schedule
from scheduler.plan.series import Series

__all__ = ["Occurrence", "Series", "can_take", "irregular", "occurrences", "schedule"]
