"""Growth: the length that a wild curve gives, how soon a limit is outgrown, and the mass that goes with a
length.

The curves are of wild animals. They serve to plan space ahead and to catch a wrong measurement, never to tell
an age.
"""

from __future__ import annotations

import math

from scheduler.sources import Source

CAPTIVE = Source(
    "captive animals are reckoned to grow up to three times as fast as the wild curve; young sliders grew "
    "3.2 times "
    "as fast on shrimp as on duckweed (Bouchard & Bjorndal 2006)",
    "house value",
)

CAPTIVE_FACTOR = 3.0
"""How many times faster than the wild curve a captive animal may grow. House value, see CAPTIVE."""

MASS_G_PER_CM3 = 0.15
"""g for each cm3 of a cube as long as the carapace.

House value; the ellipsoids of the 24 female shells give 0.152.
"""


MASS_SPREAD = 0.25
"""Share by which the real mass may differ from the estimate. House value."""

FEMALE_SHELLS_MM = (98.0, 177.0)
"""Shortest and longest carapace in mm behind `female_shell_cm3`: 24 painted turtles, Jolicoeur & Mosimann
1960, Growth 24:339."""


def _curve(asymptote_cm: float, k: float) -> None:
    """Refuse a curve that is none."""
    if not 0.0 < asymptote_cm < math.inf:
        raise ValueError(f"the final length of a growth curve must be above 0 cm, not {asymptote_cm:g}")
    if not 0.0 < k < math.inf:
        raise ValueError(f"the rate k of a growth curve must be above 0 a year, not {k:g}")


def _length(cm: float) -> None:
    """Refuse a length that is none."""
    if not 0.0 <= cm < math.inf:
        raise ValueError(f"a length must be 0 cm or more, not {cm:g}")


def size_after(cm: float, years: float, asymptote_cm: float, k: float) -> float:
    """Return the length in cm, `years` after it was `cm`: A - (A - L) exp(-k t), k per year.

    Solves dL/dt = k (A - L). An animal that is as long as A or longer keeps its length: turtles do not shrink
    to a mean. ValueError for a negative time or length, or a curve that is none.
    """
    _curve(asymptote_cm, k)
    _length(cm)
    if not years >= 0.0:
        raise ValueError(f"the years of growth must be 0 or more, not {years:g}")
    if cm >= asymptote_cm:
        return cm
    # With expm1 no time at all adds exactly nothing.
    return cm - (asymptote_cm - cm) * math.expm1(-k * years)


def years_to(cm_now: float, cm_then: float, asymptote_cm: float, k: float) -> float:
    """Return the years to grow from one length to another: ln((A - now) / (A - then)) / k; inf when never, 0
    when there."""
    _curve(asymptote_cm, k)
    _length(cm_now)
    _length(cm_then)
    if cm_then <= cm_now:
        return 0.0
    if cm_then >= asymptote_cm:
        return math.inf
    return math.log((asymptote_cm - cm_now) / (asymptote_cm - cm_then)) / k


def rate_cm_year(cm: float, asymptote_cm: float, k: float) -> float:
    """Return the growth in cm a year at a length: k (A - L); 0 from the final length on."""
    _curve(asymptote_cm, k)
    _length(cm)
    return max(0.0, k * (asymptote_cm - cm))


def outgrown_in_years(now: float, limit: float, asymptote: float, k: float) -> tuple[float, float]:
    """Return after how many years an animal of `now` cm reaches `limit` cm: the earliest, at 3 k, and by the
    wild curve.

    Both are 0 when it is there, and inf when the final length of the curve lies no higher than the limit;
    that length is of wild animals, so "never" is no promise for a captive one.
    """
    return years_to(now, limit, asymptote, CAPTIVE_FACTOR * k), years_to(now, limit, asymptote, k)


def mass_g(carapace_cm: float) -> float:
    """Return the mass in g to expect at a straight carapace length in cm: 0.15 L3, give or take a quarter.

    A house value for pond turtles, of the order of magnitude only: no regression with coefficients was found.
    """
    _length(carapace_cm)
    return MASS_G_PER_CM3 * carapace_cm**3


def mass_from_volume_g(shell_cm3: float) -> float:
    """Return the mass in g of an animal whose shell takes up so many cm3, at the density of water (house
    value)."""
    if not 0.0 <= shell_cm3 < math.inf:
        raise ValueError(f"the volume of a shell must be 0 cm3 or more, not {shell_cm3:g}")
    return shell_cm3


def female_shell_cm3(cl_mm: float) -> float:
    """Return the volume in cm3 of a female painted turtle's shell, as an ellipsoid, from the carapace length
    in mm.

    log10 V = -3.1915 + 2.7053 log10 L, fitted by least squares to pi/6 x length x width x height of 24
    females (Jolicoeur & Mosimann 1960), none of which it misses by more than a tenth. Valid over their
    lengths, 98 to 177 mm; ValueError outside.
    """
    low, high = FEMALE_SHELLS_MM
    if not low <= cl_mm <= high:
        raise ValueError(
            f"the volume of a female shell is defined here from {low:g} to {high:g} mm, not at {cl_mm:g}"
        )
    return float(10.0 ** (-3.1915 + 2.7053 * math.log10(cl_mm)))
