"""The results as plain nested data, ready for JSON, and back to text."""

from __future__ import annotations

import dataclasses
import json
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
