"""What the subjects of the care rules stand on: an enclosure as they see it, jobs and figures, and where they are registered."""
