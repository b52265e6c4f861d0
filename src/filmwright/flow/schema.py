"""The JSON Schema of the plan text, made from the grammar, so that editors complete it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from filmwright.flow.grammar import (
    ADMISSION_CLASS,
    BATH,
    BOTTLE,
    CALIBRATION,
    COMMON,
    CUT,
    DEVICES,
    EXPECT,
    FILM,
    LAB,
    MAINTENANCE,
    MASK,
    MASKS,
    OBJECT,
    PLAN,
    RECIPE,
    RUN,
    SOURCE,
    STEPS,
    TOOL,
    WAFER,
    WAIT,
    Key,
)
from filmwright.units import DIMENSIONS

_TYPES: dict[str, dict[str, Any]] = {
    "text": {"type": ["string", "number"]},
    "texts": {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]},
    "yes or no": {"enum": [True, False, "yes", "no"]},
    "count": {"type": "integer", "minimum": 0},
    "map": {"type": "object"},
    "list": {"type": "array"},
    "date": {"type": "string", "format": "date"},
}


def _property(key: Key) -> dict[str, Any]:
    if key.takes == "quantity":
        example = DIMENSIONS[key.dimension].example
        return {
            "type": ["string", "number"],
            "description": f"{key.means} ({key.dimension})",
            "examples": [example],
        }
    return {**_TYPES[key.takes], "description": key.means}


def _block(keys: Mapping[str, Key]) -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _property(key) for name, key in keys.items()},
        "required": [name for name, key in keys.items() if key.required],
    }


def plan_schema() -> dict[str, Any]:
    """The schema as plain data (JSON Schema, draft 2020-12)."""
    steps = [
        _block({verb: Key("text", OBJECT[verb], required=True), **keys, **COMMON})
        for verb, keys in STEPS.items()
    ]
    for each in steps:
        if "sources" in each["properties"]:
            each["properties"]["sources"] |= {"items": _block(SOURCE), "maxItems": 4}
    plan = _block(PLAN)
    wafer = _block(WAFER)
    wafer["properties"]["films"] = {"type": "array", "items": _block(FILM)}
    expect = _block(EXPECT)
    for kind in ("transistors", "capacitors"):
        expect["properties"][kind] = _block(DEVICES)
    plan["properties"] |= {
        "wafer": wafer,
        "masks": {
            "type": "object",
            "properties": {name: _property(key) for name, key in MASKS.items()},
            "additionalProperties": _block(MASK),
        },
        "cuts": {"type": "object", "additionalProperties": _block(CUT)},
        "steps": {"type": "array", "items": {"oneOf": steps}},
        "expect": expect,
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "filmwright plan", **plan}


def lab_schema() -> dict[str, Any]:
    """The schema of the lab file as plain data (JSON Schema, draft 2020-12)."""
    lab, tool, recipe = _block(LAB), _block(TOOL), _block(RECIPE)
    recipe["properties"]["gases"] = _named(_property(RECIPE["gas flow"]))
    tool["properties"] |= {
        "admits": _named(_TYPES["texts"]),
        "leaves": _named(_TYPES["text"]),
        "recipes": _named(recipe),
        "maintenance": {"type": "array", "items": _block(MAINTENANCE)},
    }
    lab["properties"] |= {
        "tools": _named(tool),
        "admission": _named(_named(_block(ADMISSION_CLASS))),
        "calibrations": {"type": "array", "items": _block(CALIBRATION)},
        "runs": {"type": "array", "items": _block(RUN)},
        "baths": _named(_block(BATH)),
        "bottles": {"type": "array", "items": _block(BOTTLE)},
        "limits": _named({"type": ["string", "number"]}),
        "waits": {"type": "array", "items": _block(WAIT)},
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "filmwright lab file", **lab}


def _named(item: Mapping[str, Any]) -> dict[str, Any]:
    """A block of things under names of their own."""
    return {"type": "object", "additionalProperties": dict(item)}
