"""Food, and what is not known of the animals."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care.engine.case import Case, join
from scheduler.care.findings.finding import DESCRIPTION, Finding, rule
from scheduler.handbook import feeding


@rule
def protein(case: Case) -> Iterator[Finding]:
    """Hold the food's protein against what growing animals were seen to need."""
    share = case.enclosure.feed.protein
    young = [r.name for r in case.enclosure.resident if case.stage_by_size(r) in (0, 1)]
    if share is None or not young:
        return
    least = feeding.LEAST_PROTEIN_YOUNG
    said = (
        f"The food has {share * 100:.0f} % protein; {join(tuple(young))} still "
        f"grow{'s' if len(young) == 1 else ''}."
    )
    if share < least:
        text = (
            f"{said} Young sliders grew on {least * 100:.0f} % and more and shrank on 10 %: take a richer "
            "food."
        )
        yield Finding(
            "feed", "look", text, feeding.PROTEIN, gist="food too poor in protein for animals that grow"
        )
    else:
        yield Finding("feed", "fine", said, feeding.PROTEIN)


@rule
def ration(case: Case) -> Iterator[Finding]:
    """Tell the ration; no share of the body's mass is published for turtles, so the five-minute rule judges
    it."""
    daily = case.number("ration")
    masses = [r.mass * r.count for r in case.enclosure.resident if r.mass is not None]
    share = (
        f", {case.numeral(daily / sum(masses) * 100, '.2g')} % of the animals' mass"
        if masses and len(masses) == len(case.enclosure.resident)
        else ""
    )
    text = (
        f"The food is {case.numeral(daily, '.2g')} g a day on the mean{share}. No published ration was "
        "found: what is left after 5 minutes was too much."
    )
    yield Finding("ration", "fine", text, feeding.AMOUNT_SOURCE)


@rule
def orders(case: Case) -> Iterator[Finding]:
    """Tell what is to be ordered by now."""
    for figure in case.known("food_order_on", "conditioner_order_on"):
        day = figure.value
        if isinstance(day, float) or case.today is None:
            continue
        late = day < case.today
        text = f"{figure.label.capitalize()} {case.date(day)}." + (
            " That day is over: order now." if late else ""
        )
        yield Finding(
            figure.key,
            "look" if late else "fine",
            text,
            figure.source,
            gist="" if not late else f"{figure.label.removesuffix(' on')}; its day is over",
        )


@rule
def species(case: Case) -> Iterator[Finding]:
    """Ask for the species, on which temperatures, ultraviolet and diet rest."""
    unknown = [r.name for r in case.enclosure.resident if r.species is None]
    if unknown:
        yield Finding(
            "daily-look",
            "look",
            (
                f"The species of {join(tuple(unknown))} is not in the description: temperatures, "
                "ultraviolet and diet hang on it."
            ),
            DESCRIPTION,
            ("resident.species",),
            gist="a species is not in the description",
        )


NOTED: dict[str | None, str] = {
    "law": "pre-arrival-check",
    "size": "space-review",
    "growth": "space-review",
    "water": "heater-check",
    "basking": "basking-review",
    "ultraviolet": "uvi-reading",
    "air": "fit-out",
    "cover": "fit-out",
    "winter": "cold-season-check",
    "food": "feed",
}
"""The job that is about what a note of a species sheet is about."""


@rule
def species_notes(case: Case) -> Iterator[Finding]:
    """Say what the species sheets note: the law, size, climbing, the cold season."""
    for name, note in case.species_notes():
        yield Finding(NOTED.get(note.about, "daily-look"), "fine", f"{name}: {note.words}", note.cited)
