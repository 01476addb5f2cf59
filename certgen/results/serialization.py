"""The results as plain nested data, ready for JSON, as text, and the JSON Schema of that text."""

from __future__ import annotations

import collections.abc
import dataclasses
import json
import types
import typing
from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from typing import Any

from certgen.document.vocabulary import Measure
from certgen.messages.catalogue import Message, text_of
from certgen.quantity import Quantity
from certgen.units import DIMENSIONS

_OF_QUANTITY = tuple(field.name for field in dataclasses.fields(Quantity) if field.name != "assumed")


def as_tree(value: Any) -> Any:
    """Dataclasses as mappings, quantities as value and unit, messages with their English text, tuples as lists.

    A bare float that a file's key declares as a measure becomes a quantity with its SI unit.
    """
    if isinstance(value, (float, str)) or value is None:
        return value
    if isinstance(value, Quantity):
        tree = {name: getattr(value, name) for name in _OF_QUANTITY}
        return {**tree, "assumed": True} if value.assumed else tree
    if isinstance(value, Message):
        return {"key": value.key, "values": as_tree(value.values), "text": text_of(value)}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            shown: _with_unit(getattr(value, name), unit) if unit else as_tree(getattr(value, name))
            for name, shown, unit in _members(type(value))
        }
    if isinstance(value, Mapping):
        return {str(name): as_tree(member) for name, member in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_tree(member) for member in value]
    if isinstance(value, date):
        return value.isoformat()
    return value


@lru_cache(maxsize=256)
def _members(of: type) -> tuple[tuple[str, str, str], ...]:
    """Fields of a dataclass: name, name in the tree, and the SI unit of a bare float that a file's key declares."""
    found = []
    for field in dataclasses.fields(of):
        kind = field.metadata.get("kind")
        unit = DIMENSIONS[kind.dimension][0] if isinstance(kind, Measure) else ""
        # A field that would be a word of Python's ends with an underscore.
        found.append((field.name, field.name.rstrip("_"), unit))
    return tuple(found)


def _with_unit(value: Any, unit: str) -> Any:
    return as_tree(Quantity(value, unit) if isinstance(value, float) else value)


def as_json(tree: object) -> str:
    """A tree of results, or of a plan, as JSON text, keys in the order of the tree, ending with a line feed.

    Each part of the tree, and each item of a list of its parts, begins a line.
    """
    parts = [f"{_plain(name)}: {_lines(part)}" for name, part in as_tree(tree).items()]
    return "{\n" + ",\n".join(parts) + "\n}\n"


def _lines(part: Any) -> str:
    if isinstance(part, list) and part and isinstance(part[0], dict):
        return "[\n " + ",\n ".join(map(_plain, part)) + "\n]"
    return _plain(part)


def _plain(part: Any) -> str:
    # Without indentation the encoder runs in C, ten times as fast.
    return json.dumps(part, ensure_ascii=False, allow_nan=False)


# JSON Schema of the text, for those who read results with programs of their own.

_PLAIN_TYPES: Mapping[object, dict[str, Any]] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    float: {"type": "number"},
    bool: {"type": "boolean"},
    date: {"type": "string", "format": "date"},
    types.NoneType: {"type": "null"},
}


def schema_of_tree(of: type, title: str) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the text :func:`as_json` makes of a dataclass and all it holds.

    Parameters
    ----------
    of : type
        The dataclass at the root.
    title : str
        What a reader calls such a file.

    Returns
    -------
    dict
        The schema: each dataclass once, under ``$defs``, described by the first line of its docstring. Keys may be added
        in later versions of the same format, so that unknown ones are no mistake; every key of today is always there.
    """
    defs: dict[str, Any] = {}
    root = _schema_of(of, defs)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **root, "$defs": defs}


def _schema_of(kind: Any, defs: dict[str, Any]) -> dict[str, Any]:
    if kind in _PLAIN_TYPES:
        return _PLAIN_TYPES[kind]
    parts, origin = typing.get_args(kind), typing.get_origin(kind)
    if origin in (types.UnionType, typing.Union):
        return {"anyOf": [_schema_of(part, defs) for part in parts]}
    if origin in (tuple, list, collections.abc.Sequence):
        return {"type": "array", "items": _schema_of(parts[0], defs)}
    if origin in (dict, collections.abc.Mapping):
        return {"type": "object", "additionalProperties": _schema_of(parts[1], defs)}
    if origin is typing.Literal:
        return {"enum": list(parts)}
    if isinstance(kind, type) and (kind is Message or dataclasses.is_dataclass(kind)):
        return _reference_to(kind, defs)
    return {}  # a value of any kind


def _reference_to(kind: type, defs: dict[str, Any]) -> dict[str, Any]:
    if kind.__name__ not in defs:
        defs[kind.__name__] = {}  # one that holds itself finds its place taken
        keys, optional = _members_of_schema(kind, defs)
        said = (kind.__doc__ or "").partition("\n")[0]
        defs[kind.__name__] = {
            "type": "object",
            "description": said,
            "properties": keys,
            "required": [name for name in keys if name not in optional],
        }
    return {"$ref": f"#/$defs/{kind.__name__}"}


def _members_of_schema(kind: type, defs: dict[str, Any]) -> tuple[dict[str, Any], frozenset[str]]:
    """Schemas of a dataclass's keys as they stand in the text, and those that are not always there."""
    if kind is Message:
        text = _PLAIN_TYPES[str]
        return {"key": text, "values": {"type": "object"}, "text": text}, frozenset()
    held = typing.get_type_hints(kind)
    keys = {shown: _with_quantity(held[name], unit, defs) for name, shown, unit in _members(kind)}
    return keys, frozenset({"assumed"}) if kind is Quantity else frozenset()


def _with_quantity(kind: Any, unit: str, defs: dict[str, Any]) -> dict[str, Any]:
    """As :func:`_schema_of`; a number that a key declares as a measure stands in the tree as a quantity."""
    if not unit:
        return _schema_of(kind, defs)
    return {
        "anyOf": [_schema_of(Quantity if part is float else part, defs) for part in typing.get_args(kind) or (kind,)]
    }
