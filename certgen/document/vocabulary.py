"""What a key may hold: the kinds of value, and the field marker that ties a kind to a dataclass field."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Text:
    """A line of text, or a few; control characters are refused."""

    longest: int = 300
    example: str = "a few words"


@dataclass(frozen=True)
class Choice:
    """One of a few words; ``former`` are words of earlier versions, each with the one that stands in its place."""

    options: tuple[str, ...]
    former: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Whole:
    """A whole number within bounds, in steps from ``low``."""

    low: int
    high: int
    step: int = 1


@dataclass(frozen=True)
class Measure:
    """A quantity of one dimension, written with its unit; bounds in SI."""

    dimension: str
    low: float | None = None
    high: float | None = None
    above: float | None = None  # an open lower bound
    example: str = ""
    bounds: str = ""  # the bounds in words
    difference: bool = False  # a step or a spread: 0.1 degC is 0.1 K


#: How well a value of a plate can be read.
PARTLY = "partly"
LEGIBLE = ("fully", PARTLY)


@dataclass(frozen=True)
class PlateMeasure(Measure):
    """A quantity as a nameplate has it: alone, several in one place, or ``{value, legible: partly}``."""


@dataclass(frozen=True)
class MeasureOf:
    """A quantity of one of several dimensions, as a ``Dimensioned`` value."""

    dimensions: tuple[str, ...]


@dataclass(frozen=True)
class Toleranced:
    """A quantity alone, or ``{value, tolerance}`` or ``{value, expanded_uncertainty}``."""

    measure: Measure


@dataclass(frozen=True)
class Day:
    """A calendar date; one outside these years is a slip of the keys. Bounds: common practice, no source."""

    first_year: int = 1900
    last_year: int = 2199


@dataclass(frozen=True)
class Group:
    """A mapping read into the dataclass ``of``."""

    of: type


@dataclass(frozen=True)
class Each:
    """A list whose items are all of one kind."""

    kind: Any
    most: int = 100


@dataclass(frozen=True)
class Reference:
    """The name of a file, relative to the file that names it."""

    example: str = "load_test.csv"


@dataclass(frozen=True)
class Custom:
    """A shape read by a function of its own: ``read(node, reader, path) -> value``; ``schema`` describes it.

    ``of`` is a dataclass with those of its keys that the handbook lists one by one.
    """

    read: Callable[..., Any]
    schema: Callable[[], dict[str, Any]]
    says: str
    of: type | None = None


def key(
    kind: Any, meaning: str, *, required: bool = False, unless: str = "", evaluated: bool = True, default: Any = None
) -> Any:
    """A dataclass field that stands for one key of a file.

    ``evaluated=False`` marks a key that is read and kept but changes no result yet; and certgen says so.
    ``unless`` is the key beside it whose file may say it in place of this one.
    """
    metadata = {"kind": kind, "meaning": meaning, "required": required, "unless": unless, "evaluated": evaluated}
    return dataclasses.field(default=default, metadata=metadata)


def keys_of(of: type) -> dict[str, dataclasses.Field[Any]]:
    """The fields of a dataclass that stand for keys, by key."""
    return {field.name: field for field in dataclasses.fields(of) if "kind" in field.metadata}
