"""The fitting-out review of an enclosure: what is fine, what wants a look, what wants acting on, what is not
known.

Decisions
---------

Codes and advice are kept apart in the space review
    A code is law somewhere and judges: all missed is *act*, some missed is *look*, with the number of each.
    What care sheets and practices say is reported beside it and judges nothing. Where a code does not say
    something, the review says that it does not.

A finding about the plan needs the plan only sometimes
    `check` wants to say which jobs become single dates. Where every interval is a rule whatever days the
    jobs take (whole weeks, or every day free), no place is looked for: `plan.irregular` tells the same as
    `plan.schedule`, and a test holds one against the other.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case, join
from scheduler.care.engine.figure import EXTRA, LABELS, NotKnown
from scheduler.care.figures import KEYS
from scheduler.care.findings import (
    ammonia,
    animals,
    contacts,
    equipment,
    heat,
    lamp_hours,
    light,
    nitrate,
    outdoors,
    space,
    together,
    water,
)
from scheduler.care.findings.finding import DESCRIPTION, RULES, Finding
from scheduler.care.verdicts import VERDICTS, Verdict

_FILES = [
    subject.__name__
    for subject in (
        equipment,
        heat,
        outdoors,
        ammonia,
        nitrate,
        water,
        light,
        lamp_hours,
        space,
        together,
        animals,
        contacts,
    )
]
_RULES = sorted(RULES, key=lambda rule: _FILES.index(rule.__module__))


def findings(case: Case) -> Iterator[Finding]:
    """Yield the findings on an enclosure: what the rules judge, then a line for each figure that is not
    known."""
    for rule in _RULES:
        try:
            yield from rule(case)
        except NotKnown:
            # Said below, once for each figure.
            continue
    for key in KEYS:
        try:
            case.figure(key)
        except NotKnown as missing:
            if missing.applies or key not in EXTRA:
                yield unknown(key, missing)


def unknown(key: str, missing: NotKnown) -> Finding:
    """Return the line that says why a figure is not there, and what to write to have it."""
    label = LABELS[key]
    if missing.needs:
        text = (
            f"{label} is not known: measure it, or look it up, and write {join(missing.needs)} into the "
            "description."
        )
        return Finding(
            key,
            "fine" if key in EXTRA else "look",
            text,
            DESCRIPTION,
            missing.needs,
            unknown=True,
            gist=f"figures that are not known; write {join(missing.needs)}",
        )
    text = f"{label}: no figure, since {missing.why}."
    verdict: Verdict = "look" if missing.applies and key not in EXTRA else "fine"
    return Finding(
        key, verdict, text, DESCRIPTION, unknown=True, why=missing.why, gist=f"no figure of the {label}"
    )


__all__ = ["VERDICTS", "Finding", "Verdict", "findings"]
