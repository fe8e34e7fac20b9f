"""What readings mean: each rule says what was read, what rule it meets, and what it does to the plan.

Nothing here is stored: consequences follow from the readings every time, so that taking a reading back takes
all of them back.

Decisions
---------

Nothing that follows is stored
    Alarms, rates, extra jobs are computed from the readings every time. So `undo` takes all of it back, a
    better rule applies to old readings too, and both databases cannot disagree about anything but entries.

A loss of weight is judged by all weighings
    One weighing scatters by 2 or 3 %, and the best of a year is one that erred upwards: by the best against
    the last, 42 % of healthy adults and 75 % of growing hatchlings with a scatter of 3 % were sent to the
    vet within a year or 16 weeks. A local level with the animal's own scatter (`handbook/weighing.py`), a
    line that falls for sure, and a second weighing within 3 days make that 5 % and 1 %; of animals that
    lose 3 % a month 99 % are called by day 115 where half a year is known, at most at 11.5 %. Where nothing
    is known before, 79 % are, and none is later than at 14.7 %: the first weighing is then all there is to
    hold them against. A hatchling that does not grow for 16 weeks is called in 28 % of cases, which is left
    so. A grown female is held against her middle weight, since eggs come and go. All in one run:
    `tests/benchmarks/bench_weights.py`.

A sign is a reading
    A sign is a reading, `sign.NAME` of an animal as `weight` is, worth 1 or 0: history, export, sync and
    undo need no word about it.

Alarms
    Alarms are of un-ionised ammonia at the pH and temperature of the day; where nobody measured them the
    safe side is taken, and said. The last high reading counts; two clean days end it. A quarter to half of
    the water is changed, since more at once is a shock. A test is clean for the start-up of a filter
    exactly where it raises no alarm, so nitrite has to be under `nitrite_look`.

An extra change is answered by what was changed after its reading
    An extra change is answered by what was changed after its reading: by the hour where both have one, else
    in the order of recording, and by share, multiplied. The rule knows that, not the plan: `Job.met_on` has
    the days, and while it is empty the regular change keeps half an interval away, as from one that is
    open. Ticking it records its own share (`Job.share`).

Where a change does not help, ammonia is bound
    New water with chloramine brings 0.1975 mg of nitrogen for each mg of Cl2; where that is more than half
    of what stands in the tank (`HELPS`) no change is asked for. A tap that nobody knows counts as free of
    it here, since a change that may help is better than none; once changes have not ended the alarm, a test
    of new water is asked for. Under pH 7 new water lifts the pH, and the harmful part with it: bound first,
    a fifth a day.

One noisy reading moves nothing
    The nitrate rate is filtered reading by reading on a grid of levels and rates
    (`handbook/nitrate_rate.py`; Kitagawa 1987): it starts from the food's, drifts and may jump; colours of
    a chart are ranges, a reading may be wild, a change may be short or made and not written down. What all
    readings of a kit have in common no record tells: it widens the rate. The cadence follows two readings
    in a row, never beyond the customary or the keeper's interval; which quantiles it asks is chosen on
    simulated tanks and said beside them (`care/measured_nitrate.py`, `tests/benchmarks/bench_nitrate.py`).
"""

from __future__ import annotations

from scheduler.care.verdicts import VERDICTS
from scheduler.care.watch.registry import RULES, Consequence

__all__ = ["RULES", "VERDICTS", "Consequence"]
