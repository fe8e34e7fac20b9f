"""Pages for what went wrong: in the look of the others, with a way back, and with what was typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.responses import HTMLResponse, Response

from scheduler.errors import LogError, UncertainError
from scheduler.readings import QUANTITIES
from scheduler.web.deadline import RETRY
from scheduler.web.visit import HEADERS, write_page

DONE = {
    "done": "recorded",
    "all-done": "recorded",
    "reading": "recorded",
    "readings": "recorded",
    "catch-up": "recorded",
    "note": "recorded",
    "pin": "pinned",
    "unpin": "unpinned",
    "undo": "taken back",
    "not-today": "put off",
    "once": "planned",
    "away": "recorded",
    "back": "recorded",
    "animal": "changed",
    "arrival": "changed",
    "link": "changed",
    "hand-over": "handed over",
    "hand-back": "taken back",
}
"""What each form of a page would have done."""

FIELDS = (
    *("day", "seen", "seal", "enclosure", "key", "variant", "on", "note", "title", "minutes"),
    *("entry", "to", "reading", "value", "whose", "animal", "sure", "basis", "vet", "by", "why", "from"),
    *("who", "giver", "name", "species", "carapace", "mass", "quarantine", "which", "do", "opens", "link"),
)
OF_SHEETS = ("job/", "value/", "task/", "past/", "when/")
"""The fields of all forms, and what those of sheets begin with; others are not sent again."""

TYPED = {
    "note": "Note",
    "why": "Why",
    "title": "What is to be done",
    "value": "Value, with its unit",
    "whose": "Whose, or which lamp",
    "name": "Name of the animal",
    "carapace": "Length of the carapace",
    "mass": "Weight",
}
"""Those that somebody typed, and what they are called."""

TITLES = {
    400: "This cannot be read",
    403: "This was not taken",
    404: "There is nothing here",
    405: "This cannot be done here",
    408: "It did not come in time",
    413: "This is too long",
    415: "This is no form of the page",
    429: "Too many requests",
    500: "Something went wrong",
    503: "Out of reach",
}

WORDS = {
    400: "This cannot be read.",
    404: (
        "There is nothing here. If a link that worked before ends here, ask whoever gave it to you for a "
        "new one."
    ),
    405: "This cannot be done here.",
    412: "It has changed.",
    413: "This is too long.",
    415: "This is no form of the page.",
    429: "Too many requests. Try again in a while.",
    500: "Something went wrong here. Open the page again: what it shows as recorded is recorded.",
    503: "The record cannot be reached at the moment. Nothing is lost; try again in a while.",
}
"""What is said of a status; of others what the failure itself says."""


@dataclass(frozen=True, slots=True)
class Failure:
    """A form that was sent and could not be recorded: where to, its fields, the secret of its page, and why.

    Without an error it took too long, and goes on.
    """

    part: str
    form: Mapping[str, str]
    secret: str
    error: LogError | None

    @property
    def is_uncertain(self) -> bool:
        """Tell whether it may have been recorded all the same."""
        return self.error is None or isinstance(self.error, UncertainError)

    @property
    def title(self) -> str:
        """Return what happened, in two or three words."""
        return f"Perhaps {DONE[self.part]}" if self.is_uncertain else f"Not {DONE[self.part]}"

    @property
    def told(self) -> str:
        """Return what is known."""
        if self.is_uncertain:
            return (
                f"It is not known whether it was {DONE[self.part]}: the log did not answer in time. Open "
                "the page again and "
                "look. If it is not there, send it again; what is there already does not count twice."
            )
        return (
            f"Not {DONE[self.part]}: the log cannot be written at the moment. What you sent is below, and "
            "nowhere else yet. "
            "Send it again in a while; if it fails again, write it on paper and tell whoever runs this "
            "server."
        )

    @property
    def headers(self) -> dict[str, str]:
        """Return the header fields of the answer."""
        return {**HEADERS, **RETRY}

    @property
    def fields(self) -> dict[str, Any]:
        """Return the form as a page shows it: to be sent again, and what was typed to be seen and mended."""
        kept = {
            name: text for name, text in self.form.items() if name in FIELDS or name.startswith(OF_SHEETS)
        }
        quantity = QUANTITIES.get(kept.get("reading", ""))
        return {
            "action": f"/round/{self.secret}/{self.part}",
            "hidden": {name: text for name, text in kept.items() if not (_called(name) and text)},
            "typed": [(name, _called(name), text) for name, text in kept.items() if _called(name) and text],
            "measured": quantity.label if quantity is not None else "",
        }


def _called(name: str) -> str:
    """Return what a field is called that somebody typed; empty for the others."""
    kind, *rest = name.split("/", 3)
    if kind == "value" and len(rest) == 3 and rest[1] in QUANTITIES:
        return ", ".join(filter(None, (rest[0], QUANTITIES[rest[1]].label, rest[2])))
    return TYPED.get(name, "")


def failure_page(failure: Failure) -> Response:
    """Return the page for a form that could not be recorded, where the plan cannot be shown beside it."""
    text = write_page(
        "trouble.html",
        title=failure.title,
        told=failure.told,
        back=f"/round/{failure.secret}",
        way="Open the page again",
        again=failure.fields,
        kept=[],
    )
    return HTMLResponse(text, 503, headers=failure.headers)


def ended_page(form: Mapping[str, str]) -> Response:
    """Return the page for a form that was sent to a link that opens nothing (any more), with what was typed
    into it."""
    kept = [(_called(name), text) for name, text in form.items() if _called(name) and text.strip()]
    return trouble_page(404, WORDS[404], "", {}, kept=kept)


def trouble_page(
    status: int,
    told: str,
    back: str,
    headers: Mapping[str, str],
    *,
    kept: Sequence[tuple[str, str]] = (),
    way: str = "",
) -> Response:
    """Return the page of a status; `back` is the address of the page that it is about, empty where nobody may
    know it; `way` is what it is called there, without it the round.

    `kept` is what somebody typed and can send nowhere.
    """
    text = write_page(
        "trouble.html",
        title=TITLES.get(status, "This was not done"),
        told=told,
        back=back or "/",
        way=way
        or (
            ("Try again" if status in (429, 503) else "Back to the round") if back else "What this server is"
        ),
        again=None,
        kept=kept,
    )
    return HTMLResponse(text, status, headers={**HEADERS, **headers})
