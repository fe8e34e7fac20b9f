"""Species sheets: what is published about the animals, and what is not."""

from scheduler.species.sheet import Band, Sheet, Sheets, load_sheets, read_sheet

__all__ = ["Band", "Sheet", "Sheets", "load_sheets", "read_sheet"]
