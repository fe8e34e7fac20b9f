"""Doses of ammonia, held against the masses of IUPAC's periodic table (N 14.007, H 1.008, Cl 35.45)."""

from __future__ import annotations

import pytest

from scheduler.handbook import ammonia

DOSES = [
    # L, mg/L as N, mg of NH4Cl, source
    (1.0, 1.0, 53.489 / 14.007, "14.007 + 4 x 1.008 + 35.45 = 53.489 g/mol"),
    (100.0, 2.0, 763.8, "100 x 2 x 3.8188, by hand"),
    (250.0, 4.0, 3818.8, "1000 mg of N x 3.8188, by hand"),
]


@pytest.mark.parametrize(("litres", "dose", "mg", "source"), DOSES)
def test_ammonium_chloride(litres, dose, mg, source):
    assert ammonia.ammonium_chloride_mg(litres, dose) == pytest.approx(mg, rel=1e-4), source


def test_ammonia_solution_of_ten_percent():
    # 0.957 g/mL at 20 degC (handbook tables, from memory): 95.7 mg of NH3, 95.7 x 14.007 / 17.031 = 78.7 mg of N in each mL.
    assert ammonia.ammonia_water_ml(100.0, 2.0) == pytest.approx(200.0 / 78.7, rel=1e-3)
