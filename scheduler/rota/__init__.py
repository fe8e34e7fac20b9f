"""The rota: who takes which occurrences, fairly and with the least change, and how near that is to the best."""

from scheduler.rota.assign import assign
from scheduler.rota.model import Assigned, Fairness, Item, Past, Rota, Round, Task, Unfilled

__all__ = ["Assigned", "Fairness", "Item", "Past", "Rota", "Round", "Task", "Unfilled", "assign"]
