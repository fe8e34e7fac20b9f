"""Species sheets: what is published about the animals, and what is not."""

from scheduler.species.sheet import Sheet, Sheets, load_sheets, read_sheet

__all__ = ["Sheet", "Sheets", "load_sheets", "read_sheet"]
