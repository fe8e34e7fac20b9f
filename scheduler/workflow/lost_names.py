"""What the log knows and the description has no more: a name that was corrected, told with the line that
mends it."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler import care
from scheduler.description import Site
from scheduler.description.identity import slug
from scheduler.workflow.site_log import is_own_log, open_to_read

if TYPE_CHECKING:
    from scheduler.log import Log
    from scheduler.log.names import Heard


@dataclass(frozen=True, slots=True)
class LostName:
    """An id that the log knows and nobody in the description has.

    `kind` is "site", "enclosure", "keeper" or "animal"; `may_be` are the names that have come since, the
    nearest first.
    """

    kind: str
    id: str
    may_be: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Return what is said of it, with the line to write."""
        line = f'id = "{self.id}"'
        if self.kind == "site":
            return (
                f'The log is of a site "{self.id}", and not of {self.may_be[0]}. If that is its name now, '
                f"write {line} under [site], and what was recorded is there again."
            )
        known = f'The log knows the {self.kind} "{self.id}", which the description has no more.'
        if not self.may_be:
            return f'{known} If it is gone for good, write former = ["{self.id}"] under [site].'
        now = " or ".join(self.may_be)
        return (
            f"{known} If that is {now} now, write {line} there, and its record and its links go on; "
            f'if it is gone for good, write former = ["{self.id}"] under [site].'
        )


def lost_names(file: Path, site: Site, *, every: bool = False) -> list[LostName]:
    """Return what the log knows and the description has no more, and which names may have taken its place.

    Without `every` only where some name may have: an animal that left is no news each time. LogError where
    the log cannot be read.
    """
    log = open_to_read(file, site)
    if log is None:
        return []
    with log:
        return lost_names_in(log, site, is_own=is_own_log(site), every=every)


def lost_names_in(log: Log, site: Site, *, is_own: bool, every: bool = False) -> list[LostName]:
    """Return the same from an open log; `is_own` where no other site can be meant to be in it."""
    from scheduler.log import names

    former = {slug(word) for word in site.settings.former} | set(site.settings.former)
    found = _sites(names.sites(log), site, former, is_own=is_own)
    here = site.settings.id

    kept = {e.id for e in site.all_enclosures}
    gone = [one for one in names.enclosures(log, here) if one not in kept]
    found += _lost("enclosure", gone, site.enclosures, lambda: names.heard_enclosures(log, here))

    keepers = names.heard_keepers(log, here)
    kept = {k.id for k in site.keepers}
    gone = sorted({*keepers, *_of_links(log, here, ("rounds", "page", "coordinator"))} - kept)
    found += _lost("keeper", gone, site.keepers, lambda: keepers)

    residents = [r for e in site.all_enclosures for r in e.resident]
    # A name counts as well: ids had to be unique in an enclosure only.
    kept = {known for r in residents for known in (r.id, slug(r.name))}
    gone = sorted({of for _, of in log.measured_of(here, care.OF_RESIDENTS) if of} - kept)
    found += _lost("animal", gone, residents, lambda: names.heard_residents(log, here, care.OF_RESIDENTS))
    return [one for one in found if one.id not in former and (every or one.may_be)]


def _sites(known: Sequence[str], site: Site, former: set[str], *, is_own: bool) -> list[LostName]:
    """Return the sites of a log that this one may have been called: where it is not in it, or the log is its
    own."""
    if site.settings.id in known and not is_own:
        return []
    others = [one for one in known if one != site.settings.id and one not in former]
    return [LostName("site", one, (site.settings.name,)) for one in _nearest_first(site.settings.id, others)]


def _of_links(log: Log, site: str, kinds: Sequence[str]) -> set[str]:
    from scheduler.log.links import links

    return {one.of for one in links(log, site) if one.revoked is None and one.of and one.kind in kinds}


def _lost(
    kind: str, gone: Sequence[str], things: Iterable[object], heard: Callable[[], Heard]
) -> list[LostName]:
    """Return the lost names of a kind; whatever the log first heard of after one was last heard may be its
    new name."""
    if not gone:
        return []
    when = heard()
    found = []
    for one in gone:
        last = when.get(one, (0, 0))[1]
        new = [t for t in things if when.get(t.id, (last + 1, 0))[0] > last]  # type: ignore[attr-defined]
        by_id = {t.id: t.name for t in new}  # type: ignore[attr-defined]
        found.append(LostName(kind, one, tuple(by_id[id_] for id_ in _nearest_first(one, by_id))))
    return found


def _nearest_first(word: str, known: Iterable[str]) -> list[str]:
    """Return words, the one that looks most like a word first."""
    return sorted(known, key=lambda other: (-difflib.SequenceMatcher(None, word, other).ratio(), other))
