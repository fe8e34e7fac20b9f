"""The pages of the guide that ships with the package: which there are, and what stands in one."""

from __future__ import annotations

from importlib.resources import files

from scheduler.errors import UsageError, clip, nearest

TOPICS = {
    "example": "a note and a fortnight, whole",
    "set-up": "from nothing, in the browser; phones in the house",
    "describe": "the file: an example, units, house values",
    "keys": "every key of the file",
    "jobs": "every job: how often, where, and from what source",
    "review": "figures, findings, and what if",
    "figures": "every figure with its unit",
    "record": "what was done and what was measured",
    "not-today": "what waits, is left out, or comes once; who is away",
    "animals": "who moves, comes, leaves; enclosures that begin and end",
    "share": "keepers, rounds, illness, swaps",
    "coordinator": "the pages of whoever answers for the whole site",
    "subscribe": "calendars on telephones and computers, links, the page of a round",
    "reminders": "mail, and programs that watch",
    "to-dos": "to-dos on telephones, both ways",
    "commands": "every command and option",
    "json": "what commands print for other programs",
    "library": "its steps for programs in Python",
    "safety": "people first",
    "sources": "where the numbers come from",
    "limits": "what it does not promise",
    "changes": "what is new in each version",
}
"""The pages and what they are about, in the order of reading."""


def guide_page(topic: str) -> str:
    """Return a page as Markdown. UsageError names the nearest topic where there is none of that name."""
    if topic not in TOPICS:
        close = nearest(topic, TOPICS)
        hint = f"nearest: {close}" if close else f"there are: {', '.join(TOPICS)}"
        raise UsageError(f"the guide has no page {clip(topic)}; {hint}")
    return (files("scheduler") / "guide" / f"{topic}.md").read_text("utf-8")
