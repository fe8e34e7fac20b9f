"""The handbook: pure formulas of husbandry, one file a subject, each value with its source and status."""
