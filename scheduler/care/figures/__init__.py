"""The figures of an enclosure, one file a subject. Importing this registers them."""

from scheduler.care.engine.figure import FIGURES
from scheduler.care.figures import (
    ammonia,
    change,
    cycling,
    feeding,
    filter,
    heat,
    interval,
    light,
    nitrogen,
    space,
    volume,
)

_FILES = [
    subject.__name__
    for subject in (volume, filter, heat, nitrogen, ammonia, interval, cycling, change, light, space, feeding)
]

KEYS = tuple(sorted(FIGURES, key=lambda key: _FILES.index(FIGURES[key][0].__module__)))
"""The keys of all figures, in the order of the review."""
