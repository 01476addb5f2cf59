"""Load points as correlated values: every input shifted once, every quantity of every row watched."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.model import LoadPoints
from certgen.reduction.uncertainty.errors import sensitivities
from certgen.reduction.uncertainty.linear import Correlated, Error, of_errors
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.read_off import QUANTITIES

Array = NDArray[np.float64]
PointsOf = Callable[[Measured], LoadPoints]


@dataclass(frozen=True, eq=False)
class Sources:
    """The library's variables and which input each stands for."""

    input_of: Mapping[Any, UncertainInput]
    variables: tuple[tuple[Any, ...], ...]  # for each input one variable for all rows, or one a row
    shared: Mapping[str, Any]  # by the name of the input, those that all tables have in common


def sources_of(inputs: Sequence[UncertainInput], rows: int) -> Sources:
    """A variable for every error that can occur: one for a shared input, one a row for an independent one.

    An input whose uncertainty is not stated gets its step, so that what depends on it can be told.
    """
    input_of: dict[Any, UncertainInput] = {}
    variables = []
    for one in inputs:
        own = tuple(Error(0.0, one.size) for _ in range(1 if one.shared else rows))
        input_of.update((variable, one.of_row(row)) for row, variable in enumerate(own))
        variables.append(own)
    shared = {one.name: own[0] for one, own in zip(inputs, variables, strict=True) if one.shared}
    return Sources(input_of, tuple(variables), shared)


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
    columns = measured.readings.load_test.columns.keys()

    def watched(moved: Measured) -> dict[str, Array]:
        found = points_of(moved)
        return {name: getattr(found, name) for name in QUANTITIES}

    able = [
        (one, own)
        for one, own in zip(inputs, sources.variables, strict=True)
        if not one.columns or one.columns & columns
    ]
    slopes = sensitivities(measured, watched, [one for one, _ in able])
    errors = [[own[row if len(own) > 1 else 0] for _, own in able] for row in range(nominal.count)]
    return {
        name: [
            of_errors(value, of_row, own) if math.isfinite(value) else None
            for value, of_row, own in zip(
                getattr(nominal, name).tolist(), np.array([one[name] for one in slopes]).T.tolist(), errors, strict=True
            )
        ]
        for name in QUANTITIES
    }
