"""Species sheets: what is published about the animals, and what is not."""

from scheduler.species.sheet import (
    Band,
    GrowthCurve,
    Sheet,
    Sheets,
    SpeciesNote,
    Subject,
    Zone,
    read_sheet,
)
from scheduler.species.shipped import load_sheets

__all__ = [
    "Band",
    "GrowthCurve",
    "Sheet",
    "Sheets",
    "SpeciesNote",
    "Subject",
    "Zone",
    "load_sheets",
    "read_sheet",
]
