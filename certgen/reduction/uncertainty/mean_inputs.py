"""The scatter behind the means of a log: how sure each plateau's mean of each column is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from certgen.job.columns import si_unit
from certgen.readings.model import OfMeans
from certgen.reduction.uncertainty.model import Measured, Shift, UncertainInput
from certgen.reduction.uncertainty.shifts import shift_rows

Array = NDArray[np.float64]


def mean_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """One input for each column of means, independent from row to row and from column to column.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2.3: the standard deviation of a mean, s / sqrt(n), with n_eff in place of n for samples that
    are correlated (4.2.7); n_eff - 1 degrees of freedom. Fluctuations that channels have in common (of the supply, of
    the load) are taken as independent.
    """
    table = measured.readings.load_test
    for name, found in table.of_means.items():
        typical = float(np.sqrt(np.mean(found.standard_uncertainty**2))) if found.standard_uncertainty.size else 0.0
        if typical > 0.0 and np.isfinite(table.columns[name]).any():
            yield _input(name, found, typical, measured)


def _input(name: str, found: OfMeans, typical: float, measured: Measured) -> UncertainInput:
    parts = found.standard_uncertainty / typical
    return UncertainInput(
        f"{name.replace('_', ' ')}, scatter of the means",
        si_unit(name, scale_reads=measured.rig.scale.reads if measured.rig.scale is not None else "mass"),
        typical,
        _shift(name, parts),
        shared=False,
        step=typical,
        degrees_of_freedom=float(found.degrees_of_freedom.min()),
        distribution="normal",
        row_freedom=found.degrees_of_freedom,
    )


def _shift(name: str, parts: Array) -> Shift:
    """An error of the typical size moves each row in proportion to how unsure its mean is."""
    return shift_rows(name, lambda values, error: values + error * parts)
