"""Whom notes say to call: the people of the description with their numbers, where somebody is to be called."""

from __future__ import annotations

import pytest
from support.care.watching import TANK, case_of, notes, said

from scheduler import care
from scheduler.care import contacts
from scheduler.description.fields import Duty

CALLED = """
[[site.contact]]
name = "Dr. Osei"
phone = "01632 960117"
for = "vet"
[[site.contact]]
name = "Pell Vets, at night"
phone = "+44 1632 960119"
for = ["vet"]
[[site.contact]]
name = "Maud"
phone = "01632 960118 ext 4"
for = ["authority", "electrician"]
[[enclosure]]
"""
NAMED = TANK.replace("[[enclosure]]", CALLED, 1)
BOTH = "Dr. Osei (vet, 01632 960117) or Pell Vets, at night (vet, +44 1632 960119)"


@pytest.mark.parametrize(
    ("duty", "named", "unnamed"),
    [
        ("vet", BOTH, "a vet who knows reptiles"),
        ("electrician", "Maud (electrician, 01632 960118 ext 4)", "a licensed electrician"),
        ("authority", "Maud (authority, 01632 960118 ext 4)", "your authority"),
    ],
)
def test_a_person_is_named_with_what_for_and_the_number(duty: Duty, named: str, unnamed: str) -> None:
    assert contacts.whom(case_of([], NAMED), duty) == named
    assert contacts.whom(case_of([]), duty) == unnamed


def test_a_coordinator_is_told_only_where_there_is_one() -> None:
    assert not [*contacts.tell_coordinator(case_of([], NAMED))]
    told = NAMED.replace('for = "vet"', 'for = ["vet", "coordinator"]')
    assert [*contacts.tell_coordinator(case_of([], told))] == [
        "Tell the coordinator: Dr. Osei, 01632 960117."
    ]


CALLING = (
    ("daily-look/", "vet soon (dr. osei, 01632 960117 or pell"),
    ("daily-look/", "vet today (dr. osei, 01632 960117 or pell"),
    ("vet-check/", f"appointment with {BOTH}"),
    ("weigh-measure/", f"call {BOTH}"),
    ("basking-review/2026-10-20", f"call {BOTH}"),
    ("pre-arrival-check/2026-10-20", "the vet's number (dr. osei, 01632 960117 or"),
    ("rcd-test/", "call maud (electrician, 01632 960118 ext 4)"),
    ("space-review/", "your local code (your authority: maud, 01632 960118 ext 4)"),
)


@pytest.mark.parametrize(("name", "words"), CALLING)
def test_the_number_stands_where_somebody_is_to_be_called(name: str, words: str) -> None:
    assert words.casefold() in notes([], name, NAMED).casefold()
    assert "01632" not in notes([], name)


QUARANTINED = NAMED.replace("arrived = 2026-10-20", "arrived = 2026-10-20, quarantine = true")


@pytest.mark.parametrize("key", ["quarantine-watch", "quarantine-weigh", "faecal-test", "quarantine-release"])
def test_in_quarantine_too(key: str) -> None:
    assert "01632 960117" in notes([], f"{key}/", QUARANTINED)


def test_in_what_an_alarm_says_too() -> None:
    lines = ["2027-01-20 ammonia 1.0"]
    assert f"on call {BOTH}, and feed a third" in " ".join(said(lines, NAMED, today="2027-01-21"))
    lost = ["2026-12-01 weight.wren 300", "2027-01-20 weight.wren 230"]
    assert f"Call {BOTH} today" in notes(lost, "vet-check/weight-wren", NAMED)


@pytest.mark.parametrize(
    ("text", "verdict", "words", "needs"),
    [
        (NAMED, "fine", "The vet to call: Dr. Osei, 01632 960117 or Pell Vets, at night, +44 1632 960119.", ()),
        (TANK, "look", "No vet's number is in the description: find a vet who knows reptiles before you need one, and write "
         'a [[site.contact]] with name, phone and for = "vet". Notes that say to call the vet then give the number.',
         ("site.contact",)),
    ],
)  # fmt: skip
def test_the_review_says_when_the_vets_number_is_missing(
    text: str, verdict: str, words: str, needs: tuple[str, ...]
) -> None:
    (found,) = [f for f in care.review(case_of([], text)).findings if f.key == "vet-check"]
    assert (found.verdict, found.text, found.needs) == (verdict, words, needs)


def test_where_nobody_lives_no_vet_is_asked_for() -> None:
    empty = "\n".join(line for line in TANK.splitlines() if not line.startswith(("resident", "feed")))
    assert not [f for f in care.review(case_of([], empty)).findings if f.key == "vet-check"]


def test_the_older_text_is_whom_a_page_tells_and_calls_nobody() -> None:
    older = TANK.replace('name = "Plover Yard"', 'name = "Plover Yard"\ncontact = "Maud, in the office"')
    place = case_of([], older).site.settings
    assert (place.told_of_mistakes, place.contacts) == ("Maud, in the office", ())
    tables = NAMED.replace('for = "vet"', 'for = ["vet", "coordinator"]')
    assert case_of([], tables).site.settings.told_of_mistakes == "Dr. Osei (01632 960117)"
    assert case_of([], NAMED).site.settings.told_of_mistakes == ""
