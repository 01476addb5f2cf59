"""The digits that the results carry: eight significant ones, so that every machine states the same results.

Another processor, another linear-algebra kernel or another release of numpy rounds the last digits of a sum otherwise,
some 1e-15 of it, and what is solved from such sums by more. Eight digits are more than any bench resolves and fewer
than any of these differences reach (tests/studies/kernels.py). What was written in a file, times, counts and rows are
as they were read.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, TypeVar

from certgen.job.model import Certificate, Motor, Nameplate
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.readings.model import FileRead
from certgen.results.model import Traceability

SIGNIFICANT_DIGITS = 8

#: Parts of a tree that no computation rounds: as written in the files.
_AS_WRITTEN = (Certificate, Motor, Nameplate, FileRead, Traceability)
#: Fields and columns that are instants or lengths of time of a log, as it stamps them.
_TIMES = frozenset(("from_", "to", "seconds", "seconds_used", "hold", "time"))

Tree = TypeVar("Tree")


def significant(value: float) -> float:
    """A number to eight significant digits, the decimal number nearest to it."""
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}")


def to_significant(tree: Tree) -> Tree:
    """A tree of results, or of a plan, with every computed number to eight significant digits.

    Parameters
    ----------
    tree : dataclass
        Frozen, with quantities, messages, numbers, mappings and tuples of them. [SI]

    Returns
    -------
    dataclass
        Of the same type; the very parts in which nothing is rounded. [SI]
    """
    rounded: Tree = _rounded(tree)
    return rounded


def _rounded(value: Any) -> Any:
    kind: Any = type(value)
    return _rounding_of(kind)(value)


@lru_cache(maxsize=256)
def _rounding_of(kind: Any) -> Callable[[Any], Any]:
    """How a value of a type is rounded."""
    if issubclass(kind, float):
        return significant
    if kind is Quantity:
        return _quantity
    if kind is Message:
        return _message
    if issubclass(kind, Mapping):
        return lambda mapping: {name: part if name in _TIMES else _rounded(part) for name, part in mapping.items()}
    if issubclass(kind, (tuple, list)):
        return lambda items: tuple(map(_rounded, items))
    if not issubclass(kind, _AS_WRITTEN) and dataclasses.is_dataclass(kind):
        names = tuple(field.name for field in dataclasses.fields(kind) if field.name not in _TIMES)
        return lambda record: dataclasses.replace(record, **{name: _rounded(getattr(record, name)) for name in names})
    return _as_it_is


def _message(message: Message) -> Message:
    if not message.values:
        return message
    return Message(message.key, **{name: _rounded(part) for name, part in message.values.items()})


def _quantity(quantity: Quantity) -> Quantity:
    uncertainty = quantity.expanded_uncertainty
    return Quantity(
        significant(quantity.value),
        quantity.unit,
        None if uncertainty is None else significant(uncertainty),
        None if quantity.coverage_factor is None else significant(quantity.coverage_factor),
        quantity.assumed,
    )


def _as_it_is(value: Any) -> Any:
    return value
