"""The figures of one case, each computed once."""

from __future__ import annotations

from scheduler.care.engine.figure import FIGURES, Figure, NotKnown


class Memo:
    """What was computed of a case, and what could not be: nothing is tried twice."""

    def __init__(self, case: object) -> None:
        """Begin without figures; `case` is what their functions are given."""
        self._case = case
        self._known: dict[str, Figure | NotKnown] = {}

    def figure(self, key: str) -> Figure:
        """Return a figure. NotKnown when the description does not say enough for it."""
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._computed(key)
        if isinstance(known, NotKnown):
            # Without what it gathered on its last way up: a kept exception would hold the frames of everybody
            # who asked.
            raise known.with_traceback(None)
        return known

    def _computed(self, key: str) -> Figure | NotKnown:
        maker, unit = FIGURES[key]
        try:
            made = maker(self._case)
        except NotKnown as missing:
            return missing.with_traceback(None)
        except ValueError as outside:
            # The handbook's own word on arguments outside a formula's range.
            return NotKnown(why=str(outside).replace("degC", "°C"))
        return Figure(key, made.value, unit, made.source, made.how)
