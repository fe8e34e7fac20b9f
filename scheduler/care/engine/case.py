"""One enclosure as the care rules see it: the description with what follows from it, computed once and on
demand."""

from __future__ import annotations

import contextlib
import datetime as dt
from functools import cached_property

from scheduler.care.engine.figure import Figure, NotKnown
from scheduler.care.engine.memo import Memo
from scheduler.care.engine.wording import Wording
from scheduler.care.house import House
from scheduler.description.site import Enclosure, Resident, Site
from scheduler.handbook import disinfectant, feeding
from scheduler.history import NO_HISTORY, Entry, History
from scheduler.sources import KEEPER, Source
from scheduler.species import Band, Sheet, SpeciesNote, Subject

CUSTOMARY_SHARE = 0.5
"""Half the water at a change: common practice, no published source."""


class Case(Wording):
    """An enclosure of a site. Everything is None where the description does not say enough to compute it."""

    def __init__(
        self,
        site: Site,
        enclosure: Enclosure,
        today: dt.date | None = None,
        history: History = NO_HISTORY,
        described: Enclosure | None = None,
    ) -> None:
        """Look at one enclosure of the site.

        `today` is for figures that grow with time; jobs do not rest on it. `history` is what was done and
        measured there. Where measured values have taken the place of the description's, `described` is the
        enclosure as it was written.
        """
        super().__init__(site.settings.units, site.settings.formats)
        self.site, self.enclosure, self.today, self.history = site, enclosure, today, history
        self.described = described or enclosure
        self.house = House(site.settings.house_values, self.formats)
        self._figures = Memo(self)

    # --- time ---

    @property
    def anchor(self) -> dt.date | None:
        """Return the day from which intervals count when nothing better is known."""
        return self.enclosure.set_up or self.site.settings.start

    @cached_property
    def arrivals(self) -> dict[dt.date, list[Resident]]:
        """Return the residents by day of arrival, in order of days."""
        found: dict[dt.date, list[Resident]] = {}
        for resident in sorted(self.enclosure.resident, key=lambda r: r.id):
            if resident.arrived:
                found.setdefault(resident.arrived, []).append(resident)
        return dict(sorted(found.items()))

    @cached_property
    def inhabited_from(self) -> dt.date | None:
        """Return the day from which animals are there; None when they have been there all along."""
        residents = self.enclosure.resident
        since = [r.here_from for r in residents]
        return self.anchor if not since or None in since else min(filter(None, since))

    # --- record ---

    def readings(self, name: str, of: str | None = None) -> list[Entry]:
        """Return the readings of a quantity, of one resident or lamp or of all, in the order of days."""
        return self.history.readings(self.enclosure.id, name, of)

    def done(self, key: str) -> list[Entry]:
        """Return the done entries of a job, in the order of days, as far back as the history was asked
        for."""
        return list(self.history.done(self.enclosure.id, key))

    @cached_property
    def watched(self) -> dict[str, object]:
        """Return what the rules about readings have found so far, by rule: each looks once."""
        return {}

    # --- figures ---

    def figure(self, key: str) -> Figure:
        """Return a figure of this enclosure, computed once.

        NotKnown when the description does not say enough for it.
        """
        return self._figures.figure(key)

    def number(self, key: str) -> float:
        """Return the number of a figure. NotKnown when it cannot be computed."""
        value = self.figure(key).value
        assert not isinstance(value, dt.date)
        return value

    def value(self, key: str) -> float | None:
        """Return the number of a figure, or None when it cannot be computed."""
        try:
            return self.number(key)
        except NotKnown:
            return None

    def known(self, *keys: str) -> tuple[Figure, ...]:
        """Return those of the figures that can be computed, in the order of the keys."""
        found = []
        for key in keys:
            with contextlib.suppress(NotKnown):
                found.append(self.figure(key))
        return tuple(found)

    def need(self, **values: float | None) -> tuple[float, ...]:
        """Return values of the description that a figure rests on.

        NotKnown names those that are missing, by their keys.

        A double underscore in a name stands for the dot of a key: `feed__grams` is feed.grams.
        """
        missing = tuple(name.replace("__", ".") for name, value in values.items() if value is None)
        if missing:
            raise NotKnown(*missing)
        return tuple(value for value in values.values() if value is not None)

    # --- water ---

    @cached_property
    def substrate_cm(self) -> float:
        """Return the depth of the substrate, 0 where there is none or it was not measured."""
        s = self.enclosure.substrate
        return s.depth if s is not None and s.depth is not None else 0.0

    @cached_property
    def floor(self) -> tuple[float, float] | None:
        """Return length and width in cm."""
        e = self.enclosure
        return None if e.length is None or e.width is None else (e.length, e.width)

    @property
    def water_l(self) -> float | None:
        """Return the L of water when filled to the description's depth."""
        return self.value("net_volume")

    @property
    def change_share(self) -> float:
        """Return the share of the water that a change replaces: the keeper's, else what the water needs, half
        at most."""
        return self.number("water_change_share")

    @property
    def change_source(self) -> Source:
        """Return whose the share of a change is: the keeper's, custom, or computed."""
        return self.figure("water_change_share").source

    @cached_property
    def brought_ammonia(self) -> float:
        """Return the ammonia, mg/L as N, that new water is known to bring: what its chloramine leaves when it
        is neutralised.

        A tap of which nobody knows what it carries counts as free of it here: a change that may help is
        better than none.
        """
        if self.site.settings.tap_water.disinfectant != "chloramine":
            return 0.0
        return disinfectant.freed_ammonia_mg_l(self.chlorine_level)

    @property
    def change_l(self) -> float | None:
        """Return the L that a change replaces."""
        return self.value("water_change_volume")

    @cached_property
    def set_to_c(self) -> float | None:
        """Return the temperature that the heaters are set to; None without a heater or when they disagree."""
        values = {heater.set_to for heater in self.enclosure.heater if heater.set_to is not None}
        return values.pop() if len(values) == 1 else None

    @property
    def hot_l(self) -> float | None:
        """Return the L of hot tap water in one change; None when a temperature is missing or the taps cannot
        give it."""
        return self.value("hot_water_volume")

    @cached_property
    def chlorine_level(self) -> float:
        """Return the mg/L of chlorine or chloramine, as Cl2, to reckon with."""
        tap = self.site.settings.tap_water
        return disinfectant.level_mg_l(tap.disinfectant, tap.disinfectant_level)

    @property
    def chlorine_source(self) -> Source:
        """Return where that level is from."""
        tap = self.site.settings.tap_water
        return KEEPER if tap.disinfectant_level is not None else disinfectant.CEILING

    @property
    def frees_ammonia(self) -> bool:
        """Tell whether the new water has to be reckoned to carry chloramine."""
        return self.site.settings.tap_water.disinfectant in ("chloramine", "unknown")

    # --- animals ---

    def measured_on(self, resident: Resident) -> dt.date | None:
        """Return the day of which the resident's sizes are: as written, else its arrival, else the
        enclosure's start."""
        return resident.measured or resident.arrived or self.anchor

    def sheet(self, resident: Resident) -> Sheet | None:
        """Return the species sheet of a resident."""
        return self.site.sheet(resident)

    def basks_rarely(self, resident: Resident) -> bool:
        """Tell whether animals of a resident's species are not to be expected on the basking place."""
        sheet = self.sheet(resident)
        return sheet is not None and sheet.basks is not None

    @cached_property
    def names(self) -> str:
        """Return the residents' names as one phrase."""
        return (
            join(tuple(r.name for r in sorted(self.enclosure.resident, key=lambda r: r.id))) or "the animals"
        )

    @cached_property
    def water_band(self) -> tuple[float, float] | None:
        """Return the water temperatures in degC that suit every resident of known species; hatchlings have
        their own."""
        bands = [
            sheet.water_young if self.stage_by_size(r) == 0 else sheet.water
            for r in self.enclosure.resident
            if (sheet := self.sheet(r)) is not None
        ]
        return _shared(bands)

    @cached_property
    def basking_band(self) -> tuple[float, float] | None:
        """Return the temperatures in degC of the basking surface that suit every resident of known
        species."""
        sheets = [self.sheet(r) for r in self.enclosure.resident]
        return _shared([s.basking for s in sheets if s is not None])

    def stage_by_size(self, resident: Resident) -> int | None:
        """Return the resident's life stage by its carapace; None when carapace or adult size is not known."""
        sheet = self.sheet(resident)
        adult = sheet.adult_cm(resident.sex) if sheet is not None else None
        if resident.carapace is None or sheet is None or adult is None:
            return None
        return feeding.stage_by_size(resident.carapace, adult, sheet.stage_shares)

    def adult_cm(self, resident: Resident) -> float | None:
        """Return the adult carapace in cm to plan a resident's room for, by its species' notes and its
        sex."""
        sheet = self.sheet(resident)
        return (
            None if sheet is None else sheet.room_cm(resident.sex, resident.species or "", resident.carapace)
        )

    def either_sex(self, resident: Resident) -> str:
        """Say that the larger sex is taken, where nobody knows the sex and it makes a difference; else
        nothing."""
        sheet = self.sheet(resident)
        differs = sheet is not None and sheet.sexes_differ(resident.species or "", resident.carapace)
        return (
            " (its sex is not known: the larger one is taken)"
            if resident.sex == "unknown" and differs
            else ""
        )

    def species_notes(self, *subjects: Subject) -> list[tuple[str, SpeciesNote]]:
        """Return what the sheets of the residents' species say of subjects, or of all, each with its species;
        once each."""
        sheets = {s.species: s for r in self.enclosure.resident if (s := self.sheet(r)) is not None}
        return [
            (species, note.model_copy(update={"text": self.formats.prose(note.text)}))
            for species, sheet in sorted(sheets.items())
            for note in sheet.note
            if not subjects or note.about in subjects
        ]


def _shared(bands: list[Band]) -> tuple[float, float] | None:
    """Return the temperatures that lie in all bands; None without any, and where they do not meet."""
    low, high = max((b.low for b in bands), default=1.0), min((b.high for b in bands), default=0.0)
    return (low, high) if low <= high else None


def join(words: tuple[str, ...]) -> str:
    """Return names as a phrase: `Fern, Moss and Reed`."""
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]])) if words else ""
