"""When a rota is published anew, and how: the one rule for pages, feeds, syncs and commands.

People do what was published, so it stays until something is new: nothing is published yet, or two weeks of it
are left; something that is due has no place in it, or another one than may be; or nobody takes what somebody
had. Then what is new is shared out and the whole is published; whoever looks next sees the same.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.workflow.rota.site_rota import SiteRota, in_order, to_publish
from scheduler.workflow.site_log import now_as_of, open_to_record
from scheduler.workflow.workspace import Workspace

if TYPE_CHECKING:
    from scheduler.log import Published


def is_news(shown: SiteRota) -> bool:
    """Tell whether a rota that is shown differs from the published one in what anybody has to do."""
    published, rota = shown.published, shown.rota
    if published is None:
        return bool(rota.rounds)
    if rota.last > published.last:
        return True
    was = {a.ref: (a.day, a.keeper) for a in published.assigned}
    left = set(published.left)
    return any(was.get(t.item.ref) != (t.day, t.keeper.id) for t in rota.tasks()) or any(
        one.item.ref in was or one.item.ref not in left for one in rota.unfilled
    )


def renew(space: Workspace, shown: SiteRota) -> bool:
    """Publish a rota that is shown where something is new in it; tell whether that was so."""
    if not is_news(shown):
        return False
    publish(space, shown)
    return True


def publish(space: Workspace, shown: SiteRota) -> None:
    """Store a rota in the log: it holds from now on."""
    store(space, to_publish(shown))


def store(space: Workspace, published: Published) -> None:
    """Store a published rota in the log, as of now."""
    held = {a.ref: (a.day, a.keeper) for a in published.assigned}
    left = tuple(ref for ref in published.left if ref not in held)
    made = replace(
        published,
        recorded=now_as_of(space.site, space.as_of),
        assigned=in_order(published.assigned),
        left=left,
        # A job that went on to somebody else, or to another day, is no longer as it was given.
        given=tuple(one for one in published.given if held.get(one.ref) == (one.day, one.taker)),
    )
    with open_to_record(space.file, space.site) as log:
        log.publish(space.site.settings.id, made)
