"""An animal that moves, comes or leaves."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler import care
from scheduler.description import Enclosure, Site
from scheduler.description.editing import Value, with_moved, with_resident, with_values
from scheduler.description.identity import slug
from scheduler.description.site import Resident
from scheduler.errors import UsageError
from scheduler.workflow.editing.edit import Edit, entry
from scheduler.workflow.name_lookup import by_names, pick_named
from scheduler.workflow.record.standing import Who, day_of
from scheduler.workflow.site_files import read_text
from scheduler.workflow.site_log import history_of
from scheduler.workflow.workspace import Workspace

MOST_AHEAD = dt.timedelta(days=366)
"""No further ahead can an arrival be. House value."""


@dataclass(frozen=True, slots=True)
class Lodging:
    """A resident and the enclosure where it lives."""

    resident: Resident
    enclosure: Enclosure

    @property
    def id(self) -> str:
        """The id of the animal."""
        return self.resident.id

    @property
    def name(self) -> str:
        """The name of the animal."""
        return self.resident.name


def plan_move(space: Workspace, name: str, to: str, who: Who) -> Edit:
    """Return the change by which a resident lives in another enclosure from a day on, today or before.

    UsageError where that makes no sense.
    """
    day = happened(space, who, f"move {name} to {to}")
    found = lodging(space.site, name)
    target = enclosure_named(space.site, to)
    resident, home = found.resident, found.enclosure
    if target.id == home.id:
        raise UsageError(f"{resident.name} lives in {home.name} already")
    _refuse_before(space.site, resident, target, day)
    before = lived_before(space, home, resident)
    text = read_text(space.file)
    said = entry(
        space, who, "moved", enclosure=target.id, name=resident.id, title=resident.name, given=home.id
    )
    return Edit(
        before=text,
        after=with_moved(text, resident.id, target.id, day, before),
        entries=(said,),
        enclosures=frozenset({home.id, target.id}),
        words=tuple(meals(home, -resident.count) + meals(target, resident.count)),
    )


def plan_arrival(space: Workspace, to: str, table: Mapping[str, Value], who: Who) -> Edit:
    """Return the change by which an animal comes, on a day of the past or the coming year.

    `table` is what is known of it, with its name. UsageError where that makes no sense.
    """
    day = who.on or space.today
    if day > space.today + MOST_AHEAD:
        raise UsageError(
            f"{space.site.settings.formats.date(day)} is more than a year away; write a nearer day"
        )
    target = enclosure_named(space.site, to)
    name = " ".join(str(table["name"]).split())
    taken = {r.id for e in space.site.all_enclosures for r in e.resident}
    own = slug(name)
    id_ = (
        own if own not in taken else next(f"{own}-{n}" for n in range(2, 10_000) if f"{own}-{n}" not in taken)
    )
    written: dict[str, Value] = {"name": name, "id": id_, **{k: v for k, v in table.items() if k != "name"}}
    written["arrived"] = day
    text = read_text(space.file)
    said = entry(space, who, "arrived", enclosure=target.id, name=id_, title=name)
    words = [] if id_ == own else [f'another animal has the id "{own}"; this one has "{id_}"']
    count = table.get("count", 1)
    return Edit(
        before=text,
        after=with_resident(text, target.id, written),
        entries=(said,),
        enclosures=frozenset({target.id}),
        words=(*words, *meals(target, count if isinstance(count, int) else 1)),
    )


def plan_departure(space: Workspace, name: str, reason: str, who: Who) -> Edit:
    """Return the change by which an animal has left the site on a day, today or before.

    UsageError where that makes no sense.
    """
    day = happened(space, who, f"{name} leaves")
    found, date = lodging(space.site, name), space.site.settings.formats.date
    resident, home = found.resident, found.enclosure
    for what, since in (("here since", resident.here_since), ("arrived on", resident.arrived)):
        if since is not None and day < since:
            raise UsageError(f"{resident.name} {what} {date(since)}, after {date(day)}: mend --on")
    text = read_text(space.file)
    said = entry(
        space, who, "departed", enclosure=home.id, name=resident.id, title=resident.name, given=reason
    )
    return Edit(
        before=text,
        after=with_values(text, "resident", resident.id, {"departed": day, "departed_as": reason}),
        entries=(said,),
        enclosures=frozenset({home.id}),
        words=tuple(meals(home, -resident.count)),
    )


def happened(space: Workspace, who: Who, what: str) -> dt.date:
    """Return the day on which something happened. UsageError for one to come, with how it is planned."""
    if who.on is not None and who.on > space.today:
        said = space.site.settings.formats.date(who.on)
        raise UsageError(
            f"{said} is still to come: say it when it has happened. To have it on the calendar: "
            f'pondround once ENCLOSURE "{what}" --on {who.on}'
        )
    return day_of(who, space.today)


def lodging(site: Site, name: str) -> Lodging:
    """Return a resident that is here, by its name or id, and where. UsageError where there is none."""
    here = [Lodging(r, e) for e in site.enclosures for r in e.resident]
    if not any(name.lower() in (one.resident.name.lower(), one.resident.id) for one in here):
        for gone in (r for e in site.all_enclosures for r in e.resident if r.departed is not None):
            if name.lower() in (gone.name.lower(), gone.id):
                assert gone.departed is not None
                raise UsageError(f"{gone.name} left on {site.settings.formats.date(gone.departed)}")
    return pick_animal(name, here)


def pick_animal(name: str, animals: Sequence[Lodging]) -> Lodging:
    """Return the animal of a name or an id. UsageError where there is none, or several of that name."""
    return pick_named(name, animals, "animal", lambda one: one.enclosure.name)


def enclosure_named(site: Site, name: str) -> Enclosure:
    """Return an enclosure that is in use. UsageError where there is none, or it is retired."""
    used = by_names(site.enclosures)
    gone = by_names(tuple(e for e in site.all_enclosures if e.id not in used))
    retired = next((e for known, e in gone.items() if known.lower() == name.lower()), None)
    if retired is not None:
        since = f" since {site.settings.formats.date(retired.retired)}" if retired.retired else ""
        raise UsageError(f"{retired.name} is retired{since}")
    return pick_named(name, site.enclosures, "enclosure")


def _refuse_before(site: Site, resident: Resident, target: Enclosure, day: dt.date) -> None:
    date = site.settings.formats.date
    for said, since in (
        (f"{resident.name} is where it lives since", resident.here_since),
        (f"{resident.name} arrived on", resident.arrived),
        (f"{target.name} was set up on", target.set_up),
    ):
        if since is not None and day < since:
            raise UsageError(f"{said} {date(since)}, after {date(day)}: mend --on")


def lived_before(space: Workspace, home: Enclosure, resident: Resident) -> list[str]:
    """Return the ids of the enclosures where an animal lived, the one where it lives at the end."""
    if resident.moved_from is not None:
        known = {e.name.lower(): e.id for e in space.site.all_enclosures}
        before = [known.get(word.lower(), slug(word)) for word in resident.moved_from]
    else:
        history = care.follow_residents(space.site, history_of(space))
        before = [stay.enclosure for stay in history.stays.get(home.id, {}).get(resident.id, ())]
    return [*(one for one in dict.fromkeys(before) if one != home.id), home.id]


def meals(enclosure: Enclosure, more: int) -> list[str]:
    """Return what is said of the food where a meal was weighed for another number of animals."""
    count = sum(r.count for r in enclosure.resident)
    if enclosure.feed.grams is None or count + more <= 0:
        return []
    return [
        f"{enclosure.name}: the {enclosure.feed.grams:g} g of a meal were for {count}, and {count + more} "
        "eat now: weigh what is eaten, and write it as `grams`"
    ]
