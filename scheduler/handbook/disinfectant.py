"""Chlorine and chloramine in tap water: what has to be neutralised, and the ammonia that chloramine frees."""

from __future__ import annotations

from scheduler.sources import Source

LEGAL_CEILING_MG_L = 4.0
"""Most chlorine or chloramine in US drinking water, mg/L as Cl2, as a yearly mean (40 CFR 141.65;
published)."""


CEILING = Source(
    (
        "assumed: chloramine at the legal ceiling of 4.0 mg/L as Cl2 (40 CFR 141.65, restated in COMAR "
        "26.04.01.23)"
    ),
    "published",
)

MOLAR_N, MOLAR_CL2, MOLAR_THIOSULFATE_5H2O = 14.007, 70.906, 248.184
"""Molar masses in g/mol (IUPAC)."""

FREED_N_PER_CL2 = MOLAR_N / MOLAR_CL2
"""mg of ammonia nitrogen that one mg (as Cl2) of monochloramine frees when it is neutralised: one N for each
Cl2."""


THIOSULFATE_MOST = 2 * MOLAR_THIOSULFATE_5H2O / MOLAR_CL2
"""mg of sodium thiosulfate pentahydrate for each mg of chlorine in the worst case, to tetrathionate
(computed)."""


THIOSULFATE_FIELD = 2.98
"""mg of sodium thiosulfate pentahydrate for each mg of chlorine at pH 7, field ratio: AWWA field guide on the
disinfection of pipelines and storage, table 7-2 (1.9 as the anhydrous salt; published)."""


def level_mg_l(disinfectant: str, measured_mg_l: float | None) -> float:
    """Return the mg/L (as Cl2) to reckon with: the utility's figure, else the legal ceiling; 0 for "none"."""
    if disinfectant == "none":
        return 0.0
    return LEGAL_CEILING_MG_L if measured_mg_l is None else measured_mg_l


def chlorine_mg(litres: float, level: float) -> float:
    """Return the mg of chlorine (as Cl2) in a volume of tap water."""
    return litres * level


def freed_ammonia_mg_l(level: float) -> float:
    """Return the mg/L of ammonia nitrogen in new water after its chloramine was neutralised."""
    return level * FREED_N_PER_CL2


def thiosulfate_mg(chlorine: float) -> tuple[float, float]:
    """Return the field and the ceiling dose in mg of sodium thiosulfate *pentahydrate* for so many mg of
    chlorine."""
    return chlorine * THIOSULFATE_FIELD, chlorine * THIOSULFATE_MOST
