"""Species sheets: what is published about the animals, and what is not."""

from scheduler.species.sheet import Band, GrowthCurve, Sheet, Sheets, Zone, load_sheets, read_sheet

__all__ = ["Band", "GrowthCurve", "Sheet", "Sheets", "Zone", "load_sheets", "read_sheet"]
