"""The JSON Schema of the description, with which editors complete and check the file."""

from __future__ import annotations

from typing import Any

from scheduler.description.site import Description


def schema(job_keys: tuple[str, ...]) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12), with the keys of the jobs that can be overridden."""
    made: dict[str, Any] = _cleaned(Description.model_json_schema(by_alias=True))
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = "pondround description"
    made["$defs"]["Enclosure"]["properties"]["job"]["propertyNames"] = {"enum": sorted(job_keys)}
    resident = made["$defs"]["Resident"]
    resident["required"].remove("name")
    resident["anyOf"] = [
        {"required": ["name"]},
        {"properties": {"count": {"minimum": 2}}, "required": ["count"]},
    ]
    return made


def _cleaned(node: Any) -> Any:
    """Leave out what only makes noise in an editor: made-up titles, and null, which TOML does not have."""
    if isinstance(node, list):
        return [_cleaned(item) for item in node]
    if not isinstance(node, dict):
        return node
    if isinstance(text := node.get("description"), str):
        # Lines of a docstring are as wide as this file; an editor wraps paragraphs itself.
        paragraphs = (" ".join(paragraph.split()) for paragraph in text.split("\n\n"))
        node = node | {"description": "\n\n".join(paragraphs)}
    # A property may itself be called "title": only text under that name is a made-up one.
    kept = {
        k: v
        for k, v in node.items()
        if not (k == "title" and isinstance(v, str)) and (k, v) != ("default", None)
    }
    choices = [choice for choice in kept.pop("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1:
        # What the key means, and then how it is written.
        meaning, form = kept.get("description"), choices[0].get("description")
        both = {"description": f"{meaning} ({form})"} if meaning and form else {}
        return {**_cleaned(choices[0]), **{k: _cleaned(v) for k, v in kept.items()}, **both}
    return {k: _cleaned(v) for k, v in ({"anyOf": choices, **kept} if choices else kept).items()}
