"""What a keeper reads first after a test: for each combination of readings the verdict, and the first sentence, which is an order."""

from __future__ import annotations

import pytest
from support.care.watching import NEW, TANK, meaning

CHLORAMINE = TANK.replace(
    "[[enclosure]]",
    '[site.tap_water]\ndisinfectant = "chloramine"\ndisinfectant_level = "2.1 mg/L"\n[[enclosure]]',
    1,
)
MUCH_NITRATE = TANK.replace("[[enclosure]]", '[site.tap_water]\nnitrate = "75 mg/L"\n[[enclosure]]', 1)

# Limits count at the value. Ammonia and nitrite as N, clean up to 0.25 and under 0.1; un-ionised ammonia from 0.02 and 0.05;
# nitrite from 0.1 and 0.5; nitrate from 40 and 80; pH from 6 down and 9 up: house values. Of the ammonia 1.76 % is
# un-ionised at pH 7.5 and 25 degC, 5.37 % at pH 8, 15.2 % at pH 8.5 (Emerson et al. 1975). From 5.8 mg/L in all at pH 6.5 on it
# is acted on too: US EPA 2013, chronic criterion without mussels and early life stages.
TABLE = [
    (TANK, ["2026-12-01 ammonia 0"], "", ""),
    (TANK, ["2026-12-01 ammonia 0.25"], "", ""),
    (TANK, ["2026-12-01 ph 7.5", "2026-12-01 ammonia 0.3"], "look", "Change 25 % of the water now."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 0.5"], "look", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 1"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 4"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 8.5", "2026-12-01 ammonia 0.25"], "look", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 9", "2026-12-01 ammonia 0.25"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 6.5", "2026-12-01 ammonia 1"], "look", "Bind the ammonia in the tank first, with a conditioner that binds ammonia, by its label: under pH 7 little of it harms, but new water lifts the pH, and that part with it."),
    (TANK, ["2026-12-01 ph 6.5", "2026-12-01 ammonia 8"], "act", "Bind the ammonia in the tank first, with a conditioner that binds ammonia, by its label: under pH 7 little of it harms, but new water lifts the pH, and that part with it."),
    (TANK, ["2026-12-01 ph 5.5", "2026-12-01 ammonia 1"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
    (TANK, ["2026-12-01 ph 9.6", "2026-12-01 ammonia 1"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 9.6"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
    (TANK, ["2026-12-01 ph 9"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
    (TANK, ["2026-12-01 ph 8.9"], "", ""),
    (TANK, ["2026-12-01 ph 6"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
    (TANK, ["2026-12-01 ph 6.1"], "", ""),
    (TANK, ["2026-12-01 nitrite 0"], "", ""),
    (TANK, ["2026-12-01 nitrite 0.05"], "", ""),
    (TANK, ["2026-12-01 nitrite 0.1"], "look", "Change 25 % of the water now."),
    (TANK, ["2026-12-01 nitrite 0.3"], "look", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 nitrite 0.5"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 nitrite 5"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 6.5", "2026-12-01 nitrite 1"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 5.5", "2026-12-01 nitrite 1"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 1", "2026-12-01 nitrite 0.2"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 6.5", "2026-12-01 ammonia 1", "2026-12-01 nitrite 1"], "act", "Bind the ammonia first, with a conditioner that binds ammonia, by its label; then change 50 % of the water now."),
    (TANK, ["2026-12-01 ammonia 0", "2026-12-01 nitrite 0"], "", ""),
    (CHLORAMINE, ["2026-12-01 ph 7.5", "2026-12-01 ammonia 0.5"], "look", "Bind the ammonia in the tank with a conditioner that binds ammonia, by its label, and so in all new water; or take water without chloramine."),
    (CHLORAMINE, ["2026-12-01 ph 7.5", "2026-12-01 ammonia 2"], "look", "Change 50 % of the water now."),
    (CHLORAMINE, ["2026-12-01 ph 8", "2026-12-01 ammonia 0.5", "2026-12-01 nitrite 1"], "act", "Bind the ammonia first, with a conditioner that binds ammonia, by its label; then change 50 % of the water now."),
    (TANK, ["2026-12-01 nitrate 39"], "", ""),
    (TANK, ["2026-12-01 nitrate 40"], "look", "Test nitrate each week: one reading moves nothing, 3 over 14 days tell the tank's own rate."),
    (TANK, ["2026-12-01 nitrate 79"], "look", "Test nitrate each week: one reading moves nothing, 3 over 14 days tell the tank's own rate."),
    (TANK, ["2026-12-01 nitrate 80"], "act", "Measure nitrate again tomorrow, in a fresh sample: a second reading as high brings an extra change."),
    (TANK, ["2026-12-01 nitrate 85", "2026-12-02 nitrate 80"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 nitrate 85", "2026-12-02 nitrate 79"], "look", "Test nitrate each week: one reading moves nothing, 3 over 14 days tell the tank's own rate."),
    (MUCH_NITRATE, ["2026-12-01 nitrate 85", "2026-12-02 nitrate 90"], "act", "Take other water for changes (rain, reverse osmosis): the tap brings as much nitrate as the limit."),
    (TANK, ["2026-12-01 nitrate 85", "2026-12-01 nitrite 1", "2026-12-02 nitrate 90"], "act", "Change 50 % of the water now."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 1", "2026-12-01 did water-change 0.5"], "act", "Test the water again on 2 December 2026, 3 December 2026 and 5 December 2026, until two tests are clean."),
    (TANK, ["2026-12-01 ph 8", "2026-12-01 ammonia 1", "2026-12-02 ammonia 0", "2026-12-03 ammonia 0"], "fine", "Ammonia was clean in the tests of two days, the second on 3 December 2026."),
    (NEW, ["2026-12-01 nitrite 1"], "act", "Change 50 % of the water now."),
    (NEW, ["2026-12-01 ph 8", "2026-12-01 ammonia 1"], "act", "Change 50 % of the water now."),
    (NEW, ["2026-12-01 ammonia 0", "2026-12-01 nitrite 0", "2026-12-01 nitrate 10"], "look", "Go on with the daily cycle test."),
    (TANK, ["2026-12-01 ph 8", "2026-12-02 ph 6.4"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
    (TANK, ["2026-12-01 ph 7.5", "2026-12-01 ammonia 2", "2026-12-01 did water-change 0.25"], "look", "Change another 35 % of the water now: the change of 1 December 2026 was less than the 50 % that it takes."),
    (TANK, ["2026-12-01 ph 7.5", "2026-12-01 ammonia 1", "2026-12-02 ph 5.5"], "act", "Measure again now, with a fresh sample and another kit where there is one."),
]  # fmt: skip


@pytest.mark.parametrize(("text", "lines", "verdict", "first"), TABLE)
def test_the_first_sentence_is_what_to_do(text, lines, verdict, first):
    found = meaning(lines, text, "2026-12-03")
    assert ([found[0].verdict] if found else []) == ([verdict] if verdict else [])
    assert not found or found[0].text.startswith(first)
    # What is fine does not stand beside what is not.
    assert len({c.verdict == "fine" for c in found}) <= 1
    # One word on how much to change: the largest, and none that asks for less beside it.
    orders = {
        part
        for c in found
        for part in ("20 %", "25 %")
        if f"change {part} of the water today" in c.text.lower()
    }
    assert not orders or not any(c.key == "water-change" for c in found)
