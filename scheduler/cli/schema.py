"""`pondround schema`: the JSON Schema of the description."""

from __future__ import annotations

from scheduler import workflow


def schema() -> None:
    """Print the JSON Schema of the description, for editors that complete and check it."""
    print(workflow.schema_text(), end="")
