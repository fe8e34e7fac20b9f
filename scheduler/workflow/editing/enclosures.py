"""An enclosure that is set up, retired, merged into another or called otherwise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.description import Enclosure
from scheduler.description.editing import Value, with_enclosure, with_merged, with_name, with_values
from scheduler.description.identity import slug
from scheduler.errors import UsageError, clip
from scheduler.workflow.editing.edit import Edit, entry
from scheduler.workflow.editing.residents import (
    Lodging,
    enclosure_named,
    happened,
    lived_before,
    meals,
)
from scheduler.workflow.name_lookup import Named, pick_named
from scheduler.workflow.record.standing import Who
from scheduler.workflow.site_files import read_text
from scheduler.workflow.site_log import open_to_read
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log.links import Link


def quoted(name: str) -> str:
    """Return a name as it is written on the command line."""
    return f'"{name}"' if " " in name else name


KINDS = ("keeper", "enclosure", "resident")
"""What can be called otherwise."""


def plan_set_up(space: Workspace, table: Mapping[str, Value], who: Who) -> Edit:
    """Return the change by which there is one more enclosure, set up on a day.

    `table` is what is known of it, with its name. UsageError where that makes no sense.
    """
    name = " ".join(str(table["name"]).split())
    taken = {e.id: e for e in space.site.all_enclosures}
    id_ = slug(name)
    if id_ in taken:
        retired = ", which is retired; another name tells them apart" if taken[id_].retired else ""
        raise UsageError(f"there is an enclosure {clip(taken[id_].name)} already{retired}")
    written: dict[str, Value] = {"name": name, "id": id_, **{k: v for k, v in table.items() if k != "name"}}
    written["set_up"] = who.on or space.today
    text = read_text(space.file)
    said = entry(space, who, "set-up", enclosure=id_, title=name)
    return Edit(
        before=text, after=with_enclosure(text, written), entries=(said,), enclosures=frozenset({id_})
    )


def plan_retirement(space: Workspace, name: str, who: Who) -> Edit:
    """Return the change by which an enclosure is no longer in use. UsageError where somebody lives in it."""
    day = happened(space, who, f"empty {name}")
    gone = enclosure_named(space.site, name)
    if gone.resident:
        first, names = gone.resident[0].name, ", ".join(r.name for r in gone.resident)
        verb = "lives" if len(gone.resident) == 1 else "live"
        raise UsageError(
            f"{names} {verb} there still; first: pondround move {quoted(first)} ENCLOSURE, or all at once: "
            f"pondround merge {quoted(gone.name)} ENCLOSURE"
        )
    text = read_text(space.file)
    said = entry(space, who, "retired", enclosure=gone.id, title=gone.name)
    return Edit(
        before=text,
        after=with_values(text, "enclosure", gone.id, {"retired": day}),
        entries=(said,),
        enclosures=frozenset({gone.id}),
        words=tuple(_of_links(space, gone)),
    )


def plan_merger(space: Workspace, name: str, into: str, who: Who) -> Edit:
    """Return the change by which all animals of an enclosure live in another one, and it is retired.

    UsageError where that makes no sense.
    """
    day = happened(space, who, f"merge {name} into {into}")
    gone, target = enclosure_named(space.site, name), enclosure_named(space.site, into)
    if gone.id == target.id:
        raise UsageError("an enclosure is not merged into itself")
    moved = {r.id: lived_before(space, gone, r) for r in gone.resident}
    text = read_text(space.file)
    entries = (
        entry(space, who, "retired", enclosure=gone.id, title=gone.name),
        *(
            entry(space, who, "moved", enclosure=target.id, name=r.id, title=r.name, given=gone.id)
            for r in gone.resident
        ),
    )
    return Edit(
        before=text,
        after=with_merged(text, gone.id, target.id, day, moved),
        entries=entries,
        enclosures=frozenset({gone.id, target.id}),
        words=(*meals(target, sum(r.count for r in gone.resident)), *_of_links(space, gone)),
    )


def plan_renaming(space: Workspace, old: str, new: str, who: Who, kind: str | None = None) -> Edit:
    """Return the change by which a keeper, an enclosure or a resident is called otherwise.

    `kind` is needed where several have the old name. UsageError where that makes no sense.
    """
    name = " ".join(new.split())
    things: dict[str, list[Named]] = {
        "keeper": [*space.site.keepers],
        "enclosure": [*space.site.enclosures],
        "resident": [Lodging(r, e) for e in space.site.enclosures for r in e.resident],
    }
    found = [
        one
        for one in (KINDS if kind is None else (kind,))
        if any(old.lower() in (thing.name.lower(), thing.id) for thing in things[one])
    ]
    if len(found) > 1:
        raise UsageError(f"{clip(old)} may be a {' or a '.join(found)}; say which: --kind {found[0]}")
    everything = [thing for one in KINDS for thing in things[one]]
    thing = (
        pick_named(old, things[found[0]], found[0], _place)
        if found
        else pick_named(old, everything, "keeper, enclosure or animal")
    )
    what = found[0] if found else next(one for one in KINDS if thing in things[one])
    if thing.name == name:
        raise UsageError(f"{name} is its name already")
    if any(other is not thing and other.name.lower() == name.lower() for other in things[what]):
        raise UsageError(f"there is another {what} called {clip(name)}; two of one name cannot be told apart")
    home = ""
    if what == "enclosure":
        home = thing.id
    elif isinstance(thing, Lodging):
        home = thing.enclosure.id
    text = read_text(space.file)
    said = entry(space, who, "renamed", enclosure=home, name=thing.id, of=what, title=name, given=thing.name)
    return Edit(
        before=text,
        after=with_name(text, what, thing.id, name),
        entries=(said,),
        enclosures=frozenset({home} - {""}),
        words=("its record, its calendar entries and its links go on as they were",),
    )


def _place(thing: Named) -> str:
    return thing.enclosure.name if isinstance(thing, Lodging) else ""


def _of_links(space: Workspace, gone: Enclosure) -> Sequence[str]:
    """Return what is said of the links to the calendar of an enclosure that is retired."""
    found = [link.name for link in _links(space, gone)]
    if not found:
        return []
    return [f"the link {', '.join(map(clip, found))} opens nothing from then on; take it out of calendars"]


def _links(space: Workspace, gone: Enclosure) -> list[Link]:
    from scheduler.log.links import links

    log = open_to_read(space.file, space.site)
    if log is None:
        return []
    with log:
        known = links(log, space.site.settings.id)
    return [one for one in known if one.revoked is None and one.kind == "enclosure" and one.of == gone.id]
