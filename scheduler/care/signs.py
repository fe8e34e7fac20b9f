"""The signs of illness that a keeper watches for."""

from __future__ import annotations

from scheduler.sources import Source

SIGNS = Source("signs of illness: veterinary page; day counts are house values", "house value")
SIGNS_SOON = "Vet soon: swollen or shut eyes, nose discharge, soft shell or foul spots, listless, not eating for 7 days (a hatchling 3)."
SIGNS_TODAY = "Vet today: open-mouth breathing, gasping, one side high in the water, bleeding or red skin, straining, prolapse, fits, a burn, a cracked shell."
