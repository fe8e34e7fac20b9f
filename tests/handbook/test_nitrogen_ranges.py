"""The ranges in which nitrogen and ammonia are defined, what is refused outside, and what their sources are worth."""

import itertools
import math

import pytest

from scheduler.handbook import ammonia, nitrogen
from scheduler.handbook.nitrogen import Change

# --- What is refused --------------------------------------------------------------------------------------------

REFUSED = [
    (lambda: ammonia.unionised_share(8, 61), "un-ionised ammonia is defined here from 0 to 50 degC, not at 61"),
    (lambda: ammonia.unionised_share(8, -0.1), "un-ionised ammonia is defined here from 0 to 50 degC, not at -0.1"),
    (lambda: ammonia.pka(math.nan), "un-ionised ammonia is defined here from 0 to 50 degC, not at nan"),
    (lambda: ammonia.unionised_share(3.9, 25), "un-ionised ammonia is defined here from pH 4 to 11, not at pH 3.9"),
    (lambda: ammonia.unionised_share(11.1, 25), "un-ionised ammonia is defined here from pH 4 to 11, not at pH 11.1"),
    (lambda: ammonia.unionised_share(math.nan, 25), "un-ionised ammonia is defined here from pH 4 to 11, not at pH nan"),
    (lambda: ammonia.epa_chronic_mg_l(6.4, 20), "the ammonia criteria are defined here from pH 6.5 to 9, not at pH 6.4"),
    (lambda: ammonia.epa_chronic_mg_l(9.1, 20), "the ammonia criteria are defined here from pH 6.5 to 9, not at pH 9.1"),
    (lambda: ammonia.epa_chronic_mg_l(8, 30.1), "the ammonia criteria are defined here from 0 to 30 degC, not at 30.1"),
    (lambda: ammonia.epa_chronic_mg_l(8, -1), "the ammonia criteria are defined here from 0 to 30 degC, not at -1"),
    (lambda: nitrogen.fish_tan_g(-1, 0.4), "feed must be 0 or more, not -1"),
    (lambda: nitrogen.feed_nitrogen_g(math.inf, 0.4), "feed must be 0 or more, not inf"),
    (lambda: nitrogen.fish_tan_g(5, 40), "protein is a share of the feed from 0 to 1, not 40"),
    (lambda: nitrogen.feed_nitrogen_g(5, -0.4), "protein is a share of the feed from 0 to 1, not -0.4"),
    (lambda: nitrogen.nitrate_rise_mg_l(0.2, 0), "nitrate needs water to rise in: more than 0 L, not 0"),
    (lambda: nitrogen.nitrate_rise_mg_l(-0.2, 100), "nitrogen must be 0 or more, not -0.2"),
    (lambda: nitrogen.peak_mg_l(10, 0), "a change replaces more than none and at most all of the water, not a share of 0"),
    (lambda: nitrogen.trough_mg_l(10, 1.01), "a change replaces more than none and at most all of the water, not a share of 1.01"),
    (lambda: nitrogen.changes_to_steady(-0.5), "a change replaces more than none and at most all of the water, not a share of -0.5"),
    (lambda: nitrogen.cycle_mg_l(1, [Change(7, math.nan)]), "a change replaces more than none and at most all of the water, not a share of nan"),
    (lambda: nitrogen.peak_mg_l(-10, 0.25), "the rise of nitrate must be 0 or more, not -10"),
    (lambda: nitrogen.trough_mg_l(10, 0.25, -5), "nitrate in tap water must be 0 or more, not -5"),
    (lambda: nitrogen.changes_to_steady(0.25, 0), "how near to the steady value is a share between 0 and 1, not 0"),
    (lambda: nitrogen.changes_to_steady(0.25, 1), "how near to the steady value is a share between 0 and 1, not 1"),
    (lambda: nitrogen.share_needed(10, 40, 40), "the tap water brings 40 mg/L of nitrate: no change of water holds it at 40 mg/L"),
    (lambda: nitrogen.interval_days(1, 0.25, 40, 45), "the tap water brings 45 mg/L of nitrate: no change of water holds it at 40 mg/L"),
    (lambda: nitrogen.interval_days(0, 0.25, 40, 45), "the tap water brings 45 mg/L of nitrate: no change of water holds it at 40 mg/L"),
    (lambda: nitrogen.interval_days(math.nan, 0.25, 40), "the rise of nitrate must be 0 or more, not nan"),
    (lambda: nitrogen.cycle_mg_l(1, []), "nitrate is steady only with changes over more than 0 days"),
    (lambda: nitrogen.cycle_mg_l(1, [Change(0, 0.5)]), "nitrate is steady only with changes over more than 0 days"),
    (lambda: nitrogen.cycle_mg_l(1, [Change(-1, 0.5)]), "days between changes must be 0 or more, not -1"),
    (lambda: nitrogen.alkalinity_used_g(-1), "nitrogen must be 0 or more, not -1"),
    (lambda: nitrogen.bicarbonate_g(-10, 100), "the rise of alkalinity must be 0 or more, not -10"),
    (lambda: nitrogen.bicarbonate_g(10, -100), "the water in litres must be 0 or more, not -100"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("call", "message"), REFUSED, ids=[f"{i}-{message}" for i, (_, message) in enumerate(REFUSED)]
)
def test_the_impossible_is_refused_in_a_sentence(call, message):
    with pytest.raises(ValueError) as refused:
        call()
    assert str(refused.value) == message


def test_the_ends_of_the_ranges_are_inside():
    for ph, celsius in itertools.product((4, 11), (0, 50)):
        assert 0 < ammonia.unionised_share(ph, celsius) < 1
    for ph, celsius in itertools.product((6.5, 9), (0, 30)):
        assert ammonia.epa_chronic_mg_l(ph, celsius) > 0


# --- Sources and house values -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "status", "named"),
    [
        (nitrogen.FISH, "from memory", "Timmons & Ebeling"),
        (nitrogen.UPPER_BOUND, "house value", "upper bound"),
        (nitrogen.STEADY_STATE, "computed", "tap + rise / share"),
        (ammonia.EMERSON, "published", "32:2379"),
        (nitrogen.ALKALINITY, "computed", "7.14 g"),
        (nitrogen.NITRATE_LIMITS, "house value", f"{nitrogen.NITRATE_LOOK:g} mg/L and act at {nitrogen.NITRATE_ACT:g}"),
        (ammonia.AMMONIA_LIMITS, "house value", f"{ammonia.AMMONIA_LOOK:g} mg/L and act at {ammonia.AMMONIA_ACT:g}"),
    ],
)  # fmt: skip
def test_a_source_says_what_it_is_worth(source, status, named):
    assert source.status == status
    assert named in source.text


def test_house_limits_of_nitrate_sit_just_under_drinking_water():
    # 10 mg/L of nitrate-N (US EPA) is 44.3 mg/L of nitrate; 50 mg/L of nitrate (WHO). Values from memory.
    assert nitrogen.NITRATE_LOOK < 10 * nitrogen.NO3_PER_N < 50 < nitrogen.NITRATE_ACT
    # Harm to fish from about 0.05 mg/L of ammonia-N (UF/IFAS FA16; value from memory).
    assert ammonia.AMMONIA_LOOK < ammonia.AMMONIA_ACT <= 0.05
