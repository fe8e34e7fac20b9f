"""pydantic's errors in the keeper's words: one place where every message of validation is worded."""

from __future__ import annotations

import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from scheduler.description.site import Description, Enclosure, JobOverride
from scheduler.errors import Path, Problem, clip, nearest

_TYPES = {
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "bool_type": "true or false, without quotes",
    "bool_parsing": "true or false, without quotes",
    "string_type": "text in quotes",
    "tuple_type": "a list in square brackets",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "finite_number": "a finite number",
}
_LIMITS = {
    "greater_than": "a number above {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "less_than": "a number under {lt:g}",
    "less_than_equal": "at most {le:g}",
    "too_short": "at least {min_length} item(s)",
    "too_long": "at most {max_length} item(s)",
    "string_too_short": "at least {min_length} character(s)",
    "string_too_long": "at most {max_length} characters",
}


_VOLUMES = ("volume", "litres", "liters", "gallons", "capacity", "water", "water_volume", "size")
"""What people write for how much water there is."""


def problems_of(error: ValidationError, data: dict[str, Any]) -> list[Problem]:
    """Return one problem for each place that pydantic complains of, worded for the keeper."""
    by_path: dict[Path, list[ErrorDetails]] = {}
    for detail in error.errors(include_url=False):
        by_path.setdefault(_real(tuple(detail["loc"]), data), []).append(detail)
    # A list that is too short only because its items are wrong is a consequence of them.
    lists = {path[:-1] for path in by_path if isinstance(path[-1], int)}
    return [
        _problem(path, details)
        for path, details in by_path.items()
        if not (details[0]["type"] == "too_short" and path in lists)
    ]


def _real(path: Path, data: Any) -> Path:
    """Return the part of pydantic's location that exists in the file: it adds the names of union branches."""
    node: Any = data
    real: list[str | int] = []
    for part in path:
        if isinstance(node, dict) and isinstance(part, str):
            real.append(part)
            node = node.get(part)
        elif isinstance(node, list) and isinstance(part, int):
            real.append(part)
            node = node[part] if part < len(node) else None
        elif isinstance(node, list) and part != path[-1]:
            # The name of the branch that is a list: what is wrong stands inside it.
            continue
        else:
            break
    return tuple(real)


def _problem(path: Path, details: list[ErrorDetails]) -> Problem:
    first = details[0]
    context = first.get("ctx", {})
    kind = first["type"]
    if kind == "description":
        return Problem(path=path, message=context["message"], hint=context["hint"])
    if kind == "missing":
        is_table = model_at(path) is not None
        return Problem(
            path=path,
            message=f"{path[-1]} is missing",
            hint=f"add [{path[-1]}]" if is_table else f"add a line {path[-1]} = ...",
        )
    if kind == "extra_forbidden":
        model = model_at(path[:-1])
        known = [field.alias or name for name, field in model.model_fields.items()] if model else []
        close = nearest(str(path[-1]), known)
        hint = f"nearest: {close}" if close else "keys here: " + ", ".join(sorted(known))
        if model is Enclosure and str(path[-1]).lower() in _VOLUMES:
            hint = "the four sizes give it: write length, width, height and water_depth"
        return Problem(path=path, message=f"unknown key {clip(path[-1])}", hint=hint)
    if kind in ("tuple_type", "list_type") and isinstance(first["input"], dict):
        name = _header(path)
        return Problem(
            path=path, message="found one table; expected a list of them", hint=f"write [[{name}]]"
        )
    if kind in ("model_type", "model_attributes_type") and isinstance(first["input"], list):
        name = _header(path)
        return Problem(path=path, message="found a list; expected one table", hint=f"write [{name}]")
    found = f"found {clip(first['input'])}"
    expected = " or ".join(dict.fromkeys(_expected(d) for d in details))
    close = _nearest_choice(first, details)
    return Problem(
        path=path, message=f"{found}; expected {expected}", hint=f'nearest: "{close}"' if close else ""
    )


def _header(path: Path) -> str:
    return clip(".".join(part for part in path if isinstance(part, str)))[1:-1]


def _expected(detail: ErrorDetails) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "literal_error":
        return str(context["expected"]).replace("'", '"')
    if kind in _LIMITS:
        return _LIMITS[kind].format(**context)
    return _TYPES.get(kind, detail["msg"].lower())


def _nearest_choice(first: ErrorDetails, details: list[ErrorDetails]) -> str:
    choices = [d["ctx"]["expected"] for d in details if d["type"] == "literal_error"]
    if not choices or not isinstance(first["input"], str):
        return ""
    return nearest(first["input"], re.findall(r"'([^']*)'", choices[0]))


def model_at(path: Path) -> type[BaseModel] | None:
    """Return the model of the table at a path of the file, or nothing where there is none."""
    model: Any = Description
    for part in path:
        if isinstance(part, int):
            continue
        if model is dict:
            model = JobOverride
        elif isinstance(model, type) and issubclass(model, BaseModel) and part in model.model_fields:
            model = _model_in(model.model_fields[part].annotation)
        else:
            return None
    return model if isinstance(model, type) and issubclass(model, BaseModel) else None


def _model_in(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if getattr(annotation, "__origin__", None) is dict:
        return dict
    return next((found for inner in get_args(annotation) if (found := _model_in(inner)) is not None), None)
