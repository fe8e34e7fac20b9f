"""Where a value comes from, and how far it may be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal[
    "published", "from memory", "computed", "house value", "common practice", "not found", "keeper's value"
]
"""How a value was obtained.

published: read in the source named. from memory: the source is named but was not re-read. computed: follows
from the inputs by the formula named. house value: a choice of this project, editable in the description.
common practice: a rule of thumb of the trade, with no published source. not found: no published figure; the
keeper is asked. keeper's value: written in the description.
"""


@dataclass(frozen=True, slots=True)
class Source:
    """A source with the status of what was taken from it."""

    text: str
    status: Status

    def __str__(self) -> str:
        """Return the line that stands under a note."""
        return self.text if self.text.startswith(self.status) else f"{self.text} ({self.status})"


COMMON_PRACTICE = Source("common practice, no published source", "common practice")
HOUSE = Source("house value of this project, editable in the description", "house value")
KEEPER = Source("your own entry in the description", "keeper's value")
