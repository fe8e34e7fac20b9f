"""The page of keys: every table of the description with its keys, from the models."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any

from pydantic import TypeAdapter
from pydantic.fields import FieldInfo
from tables import first_paragraph, table

from scheduler import workflow
from scheduler.description import site

TABLES: dict[str, type[site.Table]] = {
    "[site]": site.SiteSettings,
    "[site.times]": site.Times,
    "[site.tap_water]": site.TapWater,
    "[site.test_kit]": site.TestKit,
    "[[site.contact]]": site.Contact,
    "[site.house_values]": site.HouseValues,
    "[[keeper]]": site.Keeper,
    "[[enclosure]]": site.Enclosure,
    "[enclosure.substrate]": site.Substrate,
    "[enclosure.filter]": site.Filter,
    "[[enclosure.heater]]": site.Heater,
    "[[enclosure.lamp]]": site.Lamp,
    "[[enclosure.resident]]": site.Resident,
    "[enclosure.feed]": site.Food,
    "[enclosure.conditioner]": site.Conditioner,
    "[enclosure.job.KEY]": site.JobOverride,
    "[[enclosure.extra_job]]": site.ExtraJob,
}


def keys_section() -> str:
    """Return all tables. A field without a meaning is a table of its own."""
    ours = house_values()
    parts = ["## The tables"]
    for name, model in TABLES.items():
        rows = [
            (f"`{field.alias or key}`", field.description, written(field), ours.get(key) or default(field))
            for key, field in model.model_fields.items()
            if field.description is not None
        ]
        parts += [
            f"### `{name}`",
            first_paragraph(model.__doc__ or ""),
            table(("key", "what it means", "written as", "by default"), rows),
        ]
    return "\n\n".join(parts) + "\n"


def house_values() -> dict[str, str]:
    """Return our own house values as the page about the description shows them, where a test compares them with the code."""
    shown = workflow.guide_page("describe").partition("[site.house_values]\n")[2].partition("```")[0]
    return {key: f"`{value}`" for key, value in re.findall(r'^(\w+) = ("[^"]*"|[\d.]+)', shown, re.MULTILINE)}


def written(field: FieldInfo) -> str:
    """Return how a value is written, in words."""
    kind: Any = field.annotation
    for constraint in field.metadata:
        kind = Annotated[kind, constraint]
    return in_words(TypeAdapter(kind).json_schema())


def in_words(schema: dict[str, Any]) -> str:
    """Return what a JSON Schema asks for, in words."""
    match schema:
        case {"description": str(text)}:
            return re.sub("^(a|an|the) ", "", text)
        case {"anyOf": some} | {"oneOf": some}:
            named = [in_words(one) for one in some if one != {"type": "null"}]
            return (", or " if any("," in one for one in named) else " or ").join(named)
        case {"enum": values}:
            named = [f'`"{value}"`' for value in values]
            return ", ".join(named[:-1]) + f" or {named[-1]}"
        case {"const": value}:
            return f'`"{value}"`'
        case {"type": "array", "items": {"$ref": _}}:
            return "tables of its own"
        case {"type": "array", "items": items}:
            return f"list, each: {in_words(items)}"
        case {"type": "boolean"}:
            return "true or false"
        case {"type": "integer", "minimum": least, "maximum": most}:
            return f"whole number, {least} to {most}"
        case {"type": "number", "minimum": least, "maximum": most}:
            return f"number, {least:g} to {most:g}"
        case {"type": "number", "exclusiveMinimum": over, "maximum": most}:
            return f"number over {over:g}, {most:g} at most"
        case {"type": "number", "exclusiveMinimum": over, "exclusiveMaximum": under}:
            return f"number over {over:g} and under {under:g}"
        case {"format": "date"}:
            return "date"
        case {"type": "string", "maxLength": most}:
            return f"text, {most} characters at most"
        case {"type": "string"}:
            return "text"
    raise ValueError(f"no words for {schema}")


def default(field: FieldInfo) -> str:
    """Return what holds where a key is left out; empty where that is nothing."""
    if field.is_required():
        return "has to be there"
    match field.get_default():
        case bool(value):
            return f"`{str(value).lower()}`"
        case dt.time() as value:
            return f'`"{value:%H:%M}"`'
        case str(value) if value:
            return f'`"{value}"`'
        case float(value) | int(value):
            return f"`{value:g}`"
    return ""
