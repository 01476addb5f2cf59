"""Load points as correlated values: every input shifted once, every quantity of every row watched."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from uncertainties import ufloat

from certgen.reduction.model import POINT_UNITS, LoadPoints
from certgen.reduction.uncertainty.model import Measured, UncertainInput

Array = NDArray[np.float64]
#: A value that carries its dependence on every uncertain input, as the propagation library keeps it.
Correlated = Any
PointsOf = Callable[[Measured], LoadPoints]

#: Quantities without a doubt of their own: time stamps only order the rows.
_PLAIN = frozenset({"time"})
QUANTITIES = tuple(name for name in POINT_UNITS if name not in _PLAIN)


@dataclass(frozen=True, eq=False)
class Sources:
    """The library's variables and which input each stands for."""

    input_of: Mapping[Any, UncertainInput]
    variables: tuple[tuple[Any, ...], ...]  # for each input one variable for all rows, or one a row


def sources_of(inputs: Sequence[UncertainInput], rows: int) -> Sources:
    """A variable for every error that can occur: one for a shared input, one a row for an independent one.

    An input whose uncertainty is not stated gets its step, so that what depends on it can be told.
    """
    input_of: dict[Any, UncertainInput] = {}
    variables = []
    for one in inputs:
        size = one.standard_uncertainty if one.stated else one.step
        own = tuple(ufloat(0.0, size) for _ in range(1 if one.shared else rows))
        input_of.update((variable, one.of_row(row)) for row, variable in enumerate(own))
        variables.append(own)
    return Sources(input_of, tuple(variables))


def correlated_points(
    measured: Measured, nominal: LoadPoints, points_of: PointsOf, inputs: Sequence[UncertainInput], sources: Sources
) -> dict[str, list[Correlated]]:
    """Every quantity of every row with its dependence on the inputs.

    Parameters
    ----------
    measured : Measured
        Rig and readings as they are. [SI]
    nominal : LoadPoints
        The load points they give, n rows. [SI]
    points_of : callable
        The chain from readings to load points.
    inputs : sequence of UncertainInput
        What is shifted.
    sources : Sources
        The variable of each input.

    Returns
    -------
    dict
        Name of quantity to n values, ``None`` where the quantity was not measured.

    References
    ----------
    JCGM 100:2008, 5.1.3 note 2: sensitivities by shifting an input up and down by its standard uncertainty.
    """
    sensitivities = [_sensitivities(measured, points_of, one) for one in inputs]
    found: dict[str, list[Correlated]] = {}
    for name in QUANTITIES:
        values = getattr(nominal, name)
        moving = [
            (slopes[name], own)
            for slopes, own in zip(sensitivities, sources.variables, strict=True)
            if np.any(slopes[name] != 0.0)
        ]
        found[name] = [_value(values, moving, row) for row in range(nominal.count)]
    return found


def _value(values: Array, moving: list[tuple[Array, tuple[Any, ...]]], row: int) -> Correlated:
    if not math.isfinite(values[row]):
        return None
    value: Correlated = float(values[row])
    for slopes, own in moving:
        slope = float(slopes[row])
        if slope and math.isfinite(slope):
            value = value + slope * own[row if len(own) > 1 else 0]
    return value


def _sensitivities(measured: Measured, points_of: PointsOf, one: UncertainInput) -> dict[str, Array]:
    size = one.standard_uncertainty if one.stated and one.standard_uncertainty > 0.0 else one.step
    up, down = points_of(one.shift(measured, size)), points_of(one.shift(measured, -size))
    return {name: (getattr(up, name) - getattr(down, name)) / (2.0 * size) for name in QUANTITIES}
