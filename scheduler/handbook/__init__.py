"""The handbook: pure formulas of husbandry, one file a subject, each value with its source and status.

Decisions
---------

astral at run time, scipy, iapws and ephem in the tests
    The length of a day comes from astral, which is small and plain Python. The heat balance is integrated
    and solved here by a few lines (fixed nodes, false position); a solver, the steam tables and an
    ephemeris of another origin referee them in the tests.

A tube is a line of light with two ends
    The inverse distance held for tubes without end: from 30 to 45 cm a T8 of 18 W has 0.54 of its UVI left,
    not 0.67. The length follows from the power of a standard tube, or is written; where neither is known
    the inverse distance stands.

A pail is judged by ISO 11228-1, in one hand
    It has a multiplier for one hand (0.6) and for each of two people (0.85), which the older equation of
    the same form has not. HSE's assessment charts (INDG383) have no limit to plan by: their scores do not
    relate to action levels. HSE's guideline weights are for both hands close to the body; the limit for
    both hands (10.2 kg) is held against them in the tests.

numpy without scipy at run time
    scipy takes half a second to load. The fit is numpy's; Student's t is a finite sum for whole degrees of
    freedom, held against scipy in the tests.
"""
