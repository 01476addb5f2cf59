"""The load points of a sweep: what their rows rest on besides the readings themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Toleranced

Array = NDArray[np.float64]

#: Column of a table made from a log: rate of change of the speed as read [rad/s^2].
ACCELERATION = "acceleration"


@dataclass(frozen=True, eq=False)
class Runs:
    """The runs of a sweep in one direction, averaged at the speeds of the load points, n rows.

    ``deviations`` are standard deviations of the columns by their scatter about the low-pass, shape (n,); all are
    ``nan`` at speeds that no run passed.
    """

    columns: Mapping[str, Array]
    deviations: Mapping[str, Array]
    count: int


@dataclass(frozen=True, eq=False)
class SweptRows:
    """What stands behind load points that are a sweep's.

    ``bandwidth`` [Hz] is that of the low-pass; ``rotor_inertia`` [kg*m^2] the motor's own, at the judged shaft;
    ``deviations`` those of the load points' columns, shape (n,).
    """

    bandwidth: float
    deviations: Mapping[str, Array]
    falling: Runs | None
    rising: Runs | None
    rotor_inertia: Toleranced | None
