"""The rota: who takes which occurrences, fairly and with the least change, and how near that is to the best."""

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
