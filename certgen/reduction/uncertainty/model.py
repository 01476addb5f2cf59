"""What an uncertain input is, and what propagation hands on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.job.rig import Rig
from certgen.readings.model import Readings

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Measured:
    """Everything the chain from readings to load points starts from. [SI]"""

    rig: Rig
    readings: Readings
    local_gravity: float | None


#: Name of the input that is local gravity.
LOCAL_GRAVITY = "local gravity"

#: Measured values with an error of one input added: a number for every row alike, one for each row, shape (n,), or
#: many tests at a time, shape (k, 1); what was read or stated then becomes an array of shape (k, n) or (k, 1).
Shift = Callable[[Measured, "float | Array"], Measured]


@dataclass(frozen=True, eq=False)
class UncertainInput:
    """One source of doubt about the readings.

    ``standard_uncertainty`` is in ``unit`` ("1" for a relative error such as a meter's part of reading) and ``nan``
    where the rig does not state it; ``lacking`` then says what to state. ``step`` is an error of ordinary size, used
    to see how results move where no uncertainty is stated. ``shared`` errors are the same in all rows (an arm's
    length, a meter's gain) and stay correlated; others are independent from row to row (resolution, one pulse).
    """

    name: str
    unit: str
    standard_uncertainty: float
    shift: Shift
    shared: bool
    step: float
    estimate: float | None = None
    degrees_of_freedom: float = math.inf
    distribution: str = "rectangular"
    lacking: str = ""
    columns: frozenset[str] = frozenset()
    alone: bool = False  # moves what is fitted once a test, so that one test is moved at a time
    row_freedom: Array | None = None  # of each row by itself, where rows differ; shape (n,)

    @property
    def size(self) -> float:
        """The error it is moved by: its standard uncertainty, or its step where that is not stated or nothing."""
        return self.standard_uncertainty if self.stated and self.standard_uncertainty > 0.0 else self.step

    def of_row(self, row: int) -> UncertainInput:
        """The same with the degrees of freedom of one row."""
        if self.row_freedom is None:
            return self
        return replace(self, degrees_of_freedom=float(self.row_freedom[row]), row_freedom=None)

    @property
    def stated(self) -> bool:
        """Whether the rig says how large it is."""
        return math.isfinite(self.standard_uncertainty)


@dataclass(frozen=True)
class Contribution:
    """One line of an uncertainty budget; sensitivity and contribution in the unit of the result."""

    name: str
    unit: str
    estimate: float | None
    standard_uncertainty: float
    degrees_of_freedom: float
    distribution: str
    sensitivity: float
    contribution: float
    share: float  # of the variance


@dataclass(frozen=True)
class Doubt:
    """How sure one figure is. Standard and expanded uncertainty in the unit of the figure.

    Both are ``None`` where something that matters to it is not stated; ``lacking`` says what.
    """

    standard: float | None
    degrees_of_freedom: float | None
    coverage_factor: float | None
    expanded: float | None
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Uncertainties:
    """Doubts of every figure: ``points`` one mapping a row, ``operating`` by the name of the operating point.

    ``budgets`` holds, for each operating point and quantity, the lines of its budget, the largest share first.
    ``lacking`` names everything a rig should state and does not.
    """

    points: tuple[Mapping[str, Doubt], ...]
    operating: Mapping[str, Mapping[str, Doubt]]
    budgets: Mapping[str, Mapping[str, tuple[Contribution, ...]]]
    lacking: tuple[str, ...]
    inputs: tuple[UncertainInput, ...] = ()
    correlated: Any = None  # the propagation library's own values, for figures made from several of these
    errors: Any = None  # :class:`Errors`, by which other figures of the test get theirs
