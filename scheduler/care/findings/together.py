"""Who lives together: sizes, sexes, species, and animals in quarantine beside others."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.care import lamps, quarantine
from scheduler.care.engine.case import Case, join
from scheduler.care.findings.finding import Finding, rule
from scheduler.description.site import Resident
from scheduler.handbook import ultraviolet
from scheduler.sources import Source

KEEP_APART = "No two turtles need each other's company."

MALES = Source(
    "males of small, very aquatic species are aggressive: German federal expert report of 10 January 1997, "
    "legend, as restated; "
    "for other species common practice, no published source",
    "published",
)
CONTINENTS = Source(
    "European pond turtles kept with sliders lost weight and many died: Cadi & Joly 2004, Biodiversity and "
    "Conservation 13:2511, "
    "abstract; that others of different continents are kept apart is common practice, no published source",
    "published",
)
SEPARATE_ROOM = Source("separate room and tools, tended last: Tabaka 2003", "published")


def _grown(case: Case, resident: Resident) -> bool:
    """Tell whether a resident counts as grown: by its carapace, and where that says nothing too, on the safe
    side."""
    return case.stage_by_size(resident) in (None, 2)


@rule
def sizes(case: Case) -> Iterator[Finding]:
    """Hold the longest animal against the shortest: the larger bites, and takes food and the basking
    place."""
    measured = [(r.carapace, r) for r in case.enclosure.resident if r.carapace]
    if len(measured) < 2:
        return
    short, small = min(measured, key=lambda pair: pair[0])
    long, large = max(measured, key=lambda pair: pair[0])
    times, house = long / short, case.house
    if times < min(house.size_ratio_look, house.size_ratio_act):
        return
    # In several species grown females are far longer than grown males.
    natural = (
        case.sheet(small) is not None
        and case.sheet(small) is case.sheet(large)
        and _grown(case, small)
        and small.sex != large.sex
    )
    act = times >= house.size_ratio_act and not natural
    name = "size_ratio_act" if act else "size_ratio_look"
    said = (
        f"{large.name} ({case.cm(long)}) is {case.numeral(times, '.2g')} times as long as {small.name} "
        f"({case.cm(short)}); "
        f"from {case.numeral(getattr(house, name))} times on it is a danger: a bite that scratches the one "
        "costs the other a foot or its life, "
        "and the smaller gets neither food nor a place to bask."
    )
    if act:
        text = f"{said} Part them today."
    elif natural:
        text = (
            f"{said} Sexes of one species may differ so much once they are grown: give each its own basking "
            "place and hiding place, feed apart, and part them at the first bite."
        )
    else:
        text = f"{said} Plan to keep them apart; until then feed them apart and look for bites daily."
    yield Finding(
        "daily-look",
        "act" if act else "look",
        text,
        house.source(name),
        gist="one animal is far longer than another it lives with",
    )


@rule
def sexes(case: Case) -> Iterator[Finding]:
    """Say where grown males live together, and where a male has few females."""
    by_species: dict[str, list[Resident]] = {}
    for r in case.enclosure.resident:
        sheet = case.sheet(r)
        if sheet is not None and _grown(case, r):
            by_species.setdefault(sheet.species, []).append(r)
    for species, some in sorted(by_species.items()):
        males, females = ([r for r in some if r.sex == sex] for sex in ("male", "female"))
        he, she = sum(r.count for r in males), sum(r.count for r in females)
        if he > 1:
            text = (
                f"{species}: {he} males live together ({_named(males)}). Males may fight at any time, also "
                "after years: see daily that each "
                "of them basks and eats; at the first bite wound part them. Keep an enclosure ready for that."
            )
            yield Finding("daily-look", "look", text, MALES, gist="males that live together may fight")
        if he and she and she < he * case.house.females_per_male:
            text = (
                f"{species}: {she} female{'s' if she > 1 else ''} ({_named(females)}) to {he} "
                f"male{'s' if he > 1 else ''} ({_named(males)}), "
                f"fewer than {case.numeral(case.house.females_per_male)} to one. Courting males give few "
                "females no rest, and bite: look at necks, feet and tails "
                "for bites, and part them where a female no longer eats, basks or leaves the land. A female "
                "that was with a male may lay eggs: ask the vet for what she needs."
            )
            yield Finding(
                "daily-look",
                "look",
                text,
                case.house.source("females_per_male"),
                gist="few females to a male",
            )


def _named(some: list[Resident]) -> str:
    return join(tuple(r.name for r in some))


@rule
def species(case: Case) -> Iterator[Finding]:
    """Say where species from different continents, or of different needs of ultraviolet, live together."""
    sheets = {s.species: s for r in case.enclosure.resident if (s := case.sheet(r)) is not None}
    if len(sheets) < 2:
        return
    homes = {name: s.origin for name, s in sorted(sheets.items()) if s.origin is not None}
    apart = [
        (a, b)
        for a in homes
        for b in homes
        if a < b and not set(homes[a].continents) & set(homes[b].continents)
    ]
    if apart:
        said = "; ".join(
            f"{name}: {join(homes[name].continents)}" for name in sorted({n for pair in apart for n in pair})
        )
        text = (
            f"Species of different continents live together ({said}). What one carries without harm can "
            "kill the other, and the larger crowds "
            "the smaller out: keep them apart, and ask a reptile vet which tests both need now."
        )
        yield Finding(
            "daily-look", "act", text, CONTINENTS, gist="species of different continents live together"
        )
    zones = {name: uv.zone for name, uv in sorted(lamps.zones(case).items()) if uv.zone is not None}
    if len(set(zones.values())) > 1:
        said = "; ".join(f"{name}: zone {zone}" for name, zone in zones.items())
        text = (
            f"Their needs of ultraviolet differ ({said}): light that suits one is too strong or too weak "
            "for the other. Keep them apart, "
            "or give a bright and a weak basking place and full shade, and measure at both."
        )
        yield Finding(
            "uvi-reading",
            "look",
            text,
            ultraviolet.ZONES_SOURCE,
            gist="species that live together need different ultraviolet",
        )
    if not apart:
        text = (
            f"{join(tuple(sorted(sheets)))} live together. {KEEP_APART} Each wants its own water, food and "
            "light, and what one carries may "
            "harm the other: common advice is one species to an enclosure."
        )
        yield Finding("daily-look", "look", text, ONE_SPECIES, gist="different species live together")


ONE_SPECIES = Source("one species to an enclosure", "common practice")


@rule
def quarantined(case: Case) -> Iterator[Finding]:
    """Say where animals in quarantine share their water, or their room, with others."""
    span = quarantine.span_of(case)
    if span is None or (case.today is not None and case.today > span[1]):
        return
    some = [r for r in case.enclosure.resident if r.quarantine]
    others = [r for r in case.enclosure.resident if not r.quarantine]
    if others:
        text = (
            f"{_named(some)} {'is' if len(some) == 1 else 'are'} in quarantine and "
            f"share{'s' if len(some) == 1 else ''} the water with {_named(others)}: "
            f"that is no quarantine. Part them today; {_named(others)} met whatever there is, so write "
            "quarantine = true there too, and ask the vet."
        )
        yield Finding(
            "quarantine-watch",
            "act",
            text,
            quarantine.ALL_IN_ALL_OUT,
            gist="animals in quarantine share the water with others",
        )
    room = case.enclosure.room
    beside = [
        other.name
        for other in case.site.enclosures
        if room is not None
        and other.id != case.enclosure.id
        and other.room == room
        and other.resident
        and not any(r.quarantine for r in other.resident)
    ]
    if beside:
        text = (
            f"It is in quarantine in one room with {join(tuple(beside))}: a room of its own is asked for. "
            "Until there is one, keep as far apart as the room allows, out of splashing distance, and "
            "nothing goes from here to there."
        )
        yield Finding(
            "quarantine-watch", "look", text, SEPARATE_ROOM, gist="quarantine in one room with other animals"
        )
