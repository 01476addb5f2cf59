"""The results as plain nested data, ready for JSON, and back to text."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from certgen.document.vocabulary import Measure
from certgen.quantity import Quantity
from certgen.units import DIMENSIONS

_OF_QUANTITY = tuple(field.name for field in dataclasses.fields(Quantity))


def as_tree(value: Any) -> Any:
    """Dataclasses as mappings, quantities as value and unit, tuples as lists, dates as ISO text.

    A bare float that a file's key declares as a measure becomes a quantity with its SI unit.
    """
    if isinstance(value, (float, str)) or value is None:
        return value
    if isinstance(value, Quantity):
        return {name: getattr(value, name) for name in _OF_QUANTITY}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        # A field that would be a word of Python's ends with an underscore.
        return {
            field.name.rstrip("_"): _member(field, getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        return {str(name): as_tree(member) for name, member in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_tree(member) for member in value]
    if isinstance(value, date):
        return value.isoformat()
    return value


def _member(field: dataclasses.Field[Any], value: Any) -> Any:
    kind = field.metadata.get("kind")
    if isinstance(kind, Measure) and isinstance(value, float):
        return as_tree(Quantity(value, DIMENSIONS[kind.dimension][0]))
    return as_tree(value)


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
