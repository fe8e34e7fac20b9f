"""Ammonia: how much of it is poisonous, and the ceilings of wild waters."""

from __future__ import annotations

import math

from scheduler.handbook.nitrogen import MOLAR_N, NH3_PER_N
from scheduler.sources import Source

EMERSON = Source(
    "un-ionised ammonia: Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379", "published"
)
EPA_CHRONIC = Source(
    (
        "chronic ammonia criterion for wild waters, no mussels and no early life stages of fish: US EPA "
        "2013, EPA-822-R-13-001"
    ),
    "published",
)
AMMONIA_LIMITS = Source(
    "house limits for un-ionised ammonia, look at 0.02 mg/L and act at 0.05 (as N)", "house value"
)

AMMONIA_LOOK, AMMONIA_ACT = 0.02, 0.05
"""mg/L of un-ionised ammonia, as N. House values, between the limits known for fish."""

AMMONIA_CLEAN = 0.25
"""mg/L of total ammonia, as N: up to it a hobby kit shows nothing. House value."""

CLEAN_SOURCE = Source(
    "ammonia of at most 0.25 mg/L (as N), which a hobby kit shows as nothing", "house value"
)

NH4CL = 53.49
"""g/mol of ammonium chloride: IUPAC atomic masses."""

CHLORIDE = Source(
    f"ammonium chloride: {NH4CL:g} g/mol for {MOLAR_N:g} g of nitrogen, IUPAC atomic masses", "computed"
)

DOSE = 2.0
"""mg/L of total ammonia, as N, that a filter without animals is started on: the lower end of the 2 to 4 mg/L
of extension sheets (SRAC, UF/IFAS), from memory. House value.
"""


DOSE_SOURCE = Source(
    (
        "a filter without animals is started on 2 mg/L of ammonia (as N), again once it is gone: SRAC and "
        "UF/IFAS say 2 to 4, from memory"
    ),
    "house value",
)

AMMONIA_WATER = 0.10
"""Mass of NH3 in a mass of the ammonia solution that doses are told for."""

AMMONIA_WATER_G_ML = 0.957
"""g/mL of ammonia solution of 10 % at 20 degC: handbook tables of density, from memory."""


def ammonium_chloride_mg(volume_l: float, dose_mg_l: float) -> float:
    """Return the mg of pure NH4Cl that bring so many L to a dose in mg/L of total ammonia nitrogen (computed,
    IUPAC masses)."""
    return volume_l * dose_mg_l * NH4CL / MOLAR_N


def ammonia_water_ml(volume_l: float, dose_mg_l: float) -> float:
    """Return the mL of ammonia solution of 10 % NH3 by mass that bring so many L to a dose in mg/L of total
    ammonia nitrogen.

    Computed; its density is from memory, which moves the answer by less than 1 %.
    """
    nitrogen_mg_ml = AMMONIA_WATER * AMMONIA_WATER_G_ML * 1000.0 / NH3_PER_N
    return volume_l * dose_mg_l / nitrogen_mg_ml


def pka(celsius: float) -> float:
    """Return the pKa of ammonium in fresh water, 0 to 50 degC: 0.09018 + 2729.92 / T, T in kelvin.

    Emerson et al. 1975 (published). Here T is degC + 273.15; the paper's own table takes 273.2, which moves a
    share by less than 0.5 %.
    """
    if not 0.0 <= celsius <= 50.0:
        raise ValueError(f"un-ionised ammonia is defined here from 0 to 50 degC, not at {celsius:g}")
    return 0.09018 + 2729.92 / (celsius + 273.15)


def unionised_share(ph: float, celsius: float) -> float:
    """Return the share, 0 to 1, of total ammonia nitrogen that is un-ionised and poisonous: 1 / (1 + 10^(pKa
    - pH)).

    Fresh water of 0 to 50 degC, pH 4 to 11 (the pH range is a house value). Emerson et al. 1975 (published).
    """
    if not 4.0 <= ph <= 11.0:
        raise ValueError(f"un-ionised ammonia is defined here from pH 4 to 11, not at pH {ph:g}")
    return 1.0 / (1.0 + math.pow(10.0, pka(celsius) - ph))


def _criteria_range(ph: float, celsius: float) -> None:
    if not 6.5 <= ph <= 9.0:
        raise ValueError(f"the ammonia criteria are defined here from pH 6.5 to 9, not at pH {ph:g}")
    if not 0.0 <= celsius <= 30.0:
        raise ValueError(f"the ammonia criteria are defined here from 0 to 30 degC, not at {celsius:g}")


def epa_chronic_mg_l(ph: float, celsius: float, mussels: bool = True) -> float:
    """Return the chronic criterion (mean of 30 days) in mg/L of total ammonia nitrogen: US EPA 2013,
    EPA-822-R-13-001 (published).

    pH 6.5 to 9, 0 to 30 degC. It protects wild fish and mussels: a ceiling for a warning, not a target for
    turtles. Without mussels it is the form for waters that hold no early life stages of fish either.
    """
    _criteria_range(ph, celsius)
    bracket = 0.0278 / (1.0 + math.pow(10.0, 7.688 - ph)) + 1.1994 / (1.0 + math.pow(10.0, ph - 7.688))
    warmth = math.pow(10.0, 0.028 * (20.0 - max(7.0, celsius)))
    return (0.8876 * 2.126 if mussels else 0.9405 * 7.547) * bracket * warmth
