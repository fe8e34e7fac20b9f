"""Signs of illness that were recorded: whom to call, how soon, and until when they stand.

Which signs are of which list: veterinary page; the days are house values. That is no diagnosis: the vet decides.
"""

from __future__ import annotations

import pytest
from support.care.watching import TANK, case_of, follows, notes, said

from scheduler import care
from scheduler.care.signs import soon, today
from scheduler.readings import SIGNS

VET = TANK.replace(
    "[[enclosure]]", '[[site.contact]]\nname = "Dr. Osei"\nphone = "01632 960117"\nfor = "vet"\n[[enclosure]]'
)


def of_signs(lines, text=TANK):
    return [line for line in said(lines, text) if " showed on " in line]


def test_a_sign_of_the_second_list_calls_the_vet_at_once():
    lines = ["2026-12-03 sign.gasping.wren 1"]
    assert of_signs(lines, VET) == [
        "act: Wren showed on 3 December 2026: gasping. A vet sees that on the same day. Call Dr. Osei (vet, 01632 960117) at once. That is "
        "due, and its note says how."
    ]
    assert follows(lines, VET) == {"vet-check/sign-wren": ["2026-12-03"]}
    text = notes(lines, "vet-check/sign-wren", VET)
    assert text.startswith(
        "1. Wren showed on 3 December 2026: gasping. Call Dr. Osei (vet, 01632 960117) at once."
    )
    (job,) = [j for j in care.jobs_of(case_of(lines, VET)) if j.variant == "sign-wren"]
    assert care.urgency(job) == 1 and job.notes().order == "Call the vet at once about Wren"


@pytest.mark.parametrize("name", SIGNS)
def test_every_sign_means_something(name):
    label, at_once = SIGNS[name]
    (line,) = of_signs([f"2026-12-03 {name}.wren 1"])
    assert line.startswith(f"{'act' if at_once else 'look'}: Wren showed on 3 December 2026: {label}.")
    words = case_of([])
    assert label in (today(words) if at_once else soon(words))


SOON = "2026-12-03 sign.shut-eyes.wren 1"
STANDS = [
    # further lines, verdict (None: it stands no longer)
    ([], "look"),
    (["2026-12-04 sign.shut-eyes.wren 1"], "act"),  # seen again on the next day
    (["2026-12-03 sign.shut-eyes.wren 0"], "look"),  # of the same day it is not gone
    (["2026-12-04 sign.shut-eyes.wren 0"], None),
    (["2026-12-04 sign.nose.wren 0"], "look"),  # another one
    (["2026-12-05 did vet-check"], None),
    (["2026-12-02 did vet-check"], "look"),
    (
        ["2026-12-05 did vet-check", "2026-12-08 sign.shut-eyes.wren 1"],
        "look",
    ),  # after the vet it begins anew
    (["2026-12-04 sign.fits.wren 1"], "act"),
]


@pytest.mark.parametrize(("more", "verdict"), STANDS)
def test_how_long_a_sign_stands(more, verdict):
    found = of_signs([SOON, *more])
    assert [line.split(":")[0] for line in found] == ([verdict] if verdict else [])


def test_a_sign_of_the_first_list_gives_days():
    assert of_signs([SOON]) == [
        "look: Wren showed on 3 December 2026: swollen or shut eyes. A vet sees that within 3 days. Call a vet who knows reptiles by "
        "6 December 2026, and look again tomorrow: seen again, call at once; gone, record that too. That is due, and its note says how."
    ]
    (job,) = [j for j in care.jobs_of(case_of([SOON])) if j.variant == "sign-wren"]
    assert job.window == 3


WEIGHTS = ["2026-11-20 weight.wren 300", "2026-11-27 weight.wren 300", "2026-12-02 weight.wren 282"]


def test_a_loss_of_weight_with_a_sign_is_not_waited_for():
    alone = said(WEIGHTS)
    assert any("6 % under its best" in line and line.startswith("look") for line in alone)
    both = [line for line in said([*WEIGHTS, SOON]) if "under its best" in line]
    assert len(both) == 1 and both[0].startswith("act")
    assert (
        "With a sign of illness (swollen or shut eyes) a loss is not waited for. A visit to the vet is due at once."
        in both[0]
    )


def test_without_a_sign_nothing_is_said():
    assert of_signs([]) == [] and not [k for k in follows([]) if "sign" in k]
