"""The three verdicts of the review."""

from __future__ import annotations

from typing import Literal

Verdict = Literal["act", "look", "fine"]
VERDICTS: tuple[Verdict, ...] = ("act", "look", "fine")
"""Worst first."""
