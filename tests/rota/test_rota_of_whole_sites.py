"""The rota of a sample, of a tank as it is described, of days on which nothing falls due, and of nobody."""

from __future__ import annotations

import pytest
from support.rota.in_short import SEDGE, job, keeper, made
from support.rota.small_sites import MONDAY, case, duties, loaded, sample, shown

from scheduler.errors import UsageError


def test_nothing_falls_due():
    some = duties(keeper("Noor") + keeper("Ivo") + SEDGE + job("sweep", 28))
    assert shown(made(some)) == "minutes: ivo 0, noor 0"


def test_without_keepers_there_is_no_rota():
    with pytest.raises(UsageError) as refused:
        duties(SEDGE + job("sweep", 7)).rota()
    assert str(refused.value) == (
        "the description has no keepers, so that everything is yours; write [[keeper]] with a name for each person"
    )


@pytest.mark.parametrize(
    ("name", "weeks"), [("household", 4), pytest.param("rescue", 4, marks=pytest.mark.slow)]
)
def test_the_samples_keep_every_rule(name, weeks):
    some = sample(name, weeks)
    found = made(some)
    assert len(found.tasks()) > 200
    assert sum(left.item.job.minutes for left in found.unfilled) <= {"household": 20, "rescue": 0}[name]


def test_a_real_quarantine_is_tended_last():
    some = sample("rescue", 2)
    found = made(some)
    sick = [o for o in some.occurrences if some.quarantined(o.job.enclosure.id, o.day)]
    assert {o.job.enclosure.id for o in sick} >= {"causeway", "jetty"}
    mixed = [
        r
        for r in found.rounds
        if len({some.quarantined(t.item.job.enclosure.id, r.day) for t in r.tasks}) == 2
    ]
    assert len(mixed) <= len(found.rounds) // 10


def test_a_description_as_it_is_written():
    """A tank with all that the care rules ask for, shared by two for a week."""
    site = loaded(
        keeper("Noor", minutes=240)
        + keeper("Ivo", minutes=240)
        + SEDGE
        + 'length = "100 cm"\nwidth = "50 cm"\nheight = "50 cm"\nwater_depth = "40 cm"\ncovered = true\ncycled = true\n'
        + '[enclosure.filter]\nkind = "canister"\n[[enclosure.resident]]\nname = "Fern"\nspecies = "Trachemys scripta"\n'
        + 'carapace = "14 cm"\n'
    )
    found = made(case(site, MONDAY, 7))
    assert not found.unfilled
    assert len(found.tasks()) >= 14
    assert found.fairness.spread <= 0.35
