"""The error of a value that is wrong."""

from __future__ import annotations

from pydantic_core import PydanticCustomError


def wrong(message: str, hint: str = "") -> PydanticCustomError:
    """Return the error that becomes a problem with this message and hint."""
    # pydantic formats the template: braces in the keeper's text must not be read as fields.
    return PydanticCustomError("description", "{message}", {"message": message, "hint": hint})
