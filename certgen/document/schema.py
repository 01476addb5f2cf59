"""The vocabulary of a file as JSON Schema (draft 2020-12), for editors that complete and check keys."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from certgen.document import vocabulary as v
from certgen.document.wording import says
from certgen.units import DIMENSIONS, USUAL_UNITS


def schema_of(of: type, title: str) -> dict[str, Any]:
    """JSON Schema of a file whose root is the dataclass ``of``."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{title.replace(' ', ':')}",
        "title": title,
        **_group(of),
    }


def _group(of: type) -> dict[str, Any]:
    needed = {name: field.metadata["unless"] for name, field in v.keys_of(of).items() if field.metadata["required"]}
    required = [name for name, unless in needed.items() if not unless]
    schema: dict[str, Any] = {"type": "object", "properties": key_schemas(of), "additionalProperties": False}
    if required:
        schema["required"] = required
    either = [{"anyOf": [{"required": [name]}, {"required": [unless]}]} for name, unless in needed.items() if unless]
    if either:
        schema["allOf"] = either
    return schema


def key_schemas(of: type) -> dict[str, Any]:
    """JSON Schema of each key of the dataclass ``of``."""
    return {name: _described(field.metadata) for name, field in v.keys_of(of).items()}


def _described(metadata: Any) -> dict[str, Any]:
    meaning = metadata["meaning"]
    if not metadata["evaluated"]:
        meaning += " Recorded, not evaluated in this version."
    schema = {"description": meaning, **kind_schema(metadata["kind"])}
    if metadata["required"]:
        return schema
    description = schema.pop("description")
    return {"description": description, "anyOf": [schema, {"type": "null"}]}


def _measure_schema(kind: v.Measure) -> dict[str, Any]:
    types = ["string", "number"] if kind.dimension == "ratio" else ["string"]
    example, pattern = kind.example or _example(kind.dimension), quantity_pattern((kind.dimension,))
    return {"type": types, "pattern": pattern, "examples": [example], "title": says(kind)}


@cache
def quantity_pattern(dimensions: tuple[str, ...]) -> str:
    """What a text of these dimensions looks like, as a regular expression that editors know (ECMA 262).

    It is wide: a number first, a unit behind it unless it is a ratio, and none of the usual units of another dimension.
    Whatever the program reads fits it; what else may be wrong is said when the file is checked.
    """
    others = sorted(unit for unit, (dimension, *_) in USUAL_UNITS.items() if dimension not in dimensions)
    spelt = "|".join(re.sub(r"([.*+?^$()\[\]{}|\\/])", r"\\\1", unit) for unit in others)
    with_unit = "" if "ratio" in dimensions else "(?=.*[A-Za-z%°µΩ])"
    return rf"^\s*[+-]?[.0-9]{with_unit}(?!(?:.*[0-9.])?\s*(?:{spelt})\s*$)"


def _plate_schema(kind: v.PlateMeasure) -> dict[str, Any]:
    """A measure of a plate: a text, or a mapping that says how well it can be read."""
    plain = _measure_schema(kind)
    keys = {"value": plain, "legible": {"enum": list(v.LEGIBLE)}}
    return {
        "anyOf": [plain, {"type": "object", "properties": keys, "required": ["value"], "additionalProperties": False}]
    }


def kind_schema(kind: Any) -> dict[str, Any]:
    """JSON Schema of one kind of value."""
    match kind:
        case v.Text():
            return {"type": ["string", "number", "boolean"], "maxLength": kind.longest, "examples": [kind.example]}
        case v.Choice():
            return {"enum": list(kind.options)}
        case v.Whole():
            return {"type": "integer", "minimum": kind.low, "maximum": kind.high, "multipleOf": kind.step}
        case v.Measure():
            return _plate_schema(kind) if isinstance(kind, v.PlateMeasure) else _measure_schema(kind)
        case v.MeasureOf():
            examples = [_example(name) for name in kind.dimensions]
            types = ["string", "number"] if "ratio" in kind.dimensions else "string"
            return {"type": types, "pattern": quantity_pattern(kind.dimensions), "examples": examples}
        case v.Toleranced():
            plain = kind_schema(kind.measure)
            spread = {
                name: kind_schema(v.Measure(kind.measure.dimension)) for name in ("tolerance", "expanded_uncertainty")
            }
            spelt_out = {
                "type": "object",
                "properties": {"value": plain, **spread},
                "required": ["value"],
                "additionalProperties": False,
            }
            return {"anyOf": [plain, spelt_out]}
        case v.Day():
            return {"type": "string", "format": "date"}
        case v.Group():
            return _group(kind.of)
        case v.Each():
            return {"type": "array", "items": kind_schema(kind.kind), "maxItems": kind.most}
        case v.Reference():
            return {"type": "string", "examples": [kind.example]}
        case v.Custom():
            return kind.schema()
        case _:
            raise TypeError(f"no schema for kind {kind!r}")


def _example(dimension: str) -> str:
    return DIMENSIONS[dimension][1].split("'")[0]
