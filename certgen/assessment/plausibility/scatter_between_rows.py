"""How far readings of one quantity scatter between the rows of a test.

An instrument's limit of error bounds mostly what all rows share: its gain, its zero, the length of the arm. What is
left between rows is its resolution, its non-linearity and what was not steady while it was read. The parts below
(a third of an absolute limit, a quarter of a relative one) are learned on simulated tests of our own and wide beside
them; no published source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array

#: Part of an absolute limit of error that differs between rows (speed, scale).
OF_ABSOLUTE = 0.35
#: Part of a relative limit of error that differs between rows.
OF_RELATIVE = {"voltage": 0.25, "current": 0.25, "power_factor": 0.25, "input_power": 0.20}
#: Unsteadiness of the torque while it is read. [1]
TORQUE_UNSTEADY = 0.002
#: Unsteadiness of the speed: of a motor whose speed the mains' frequency sets, and of any other. [1]
MAINS_UNSTEADY, SPEED_UNSTEADY = 3e-4, 5e-4


@dataclass(frozen=True)
class Spread:
    """Standard uncertainty between rows of one quantity: ``absolute`` [its SI unit] and ``relative`` [1], in square."""

    absolute: float = 0.0
    relative: float = 0.0

    def of(self, values: Array) -> Array:
        """Standard uncertainty of each value."""
        return np.hypot(self.absolute, self.relative * values)


def speed_spread(resolution: float, limit: float, *, mains_sets_speed: bool) -> Spread:
    """Spread of a speed.

    Parameters
    ----------
    resolution : float
        Step of the tachometer or of the typed column. [rad/s]
    limit : float
        Limit of error either side, 0 where none is stated. [rad/s]
    mains_sets_speed : bool
        Whether the speed follows the frequency of the mains (induction motors).

    Returns
    -------
    Spread
    """
    unsteady = MAINS_UNSTEADY if mains_sets_speed else SPEED_UNSTEADY
    return Spread(math.hypot(resolution / math.sqrt(12.0), OF_ABSOLUTE * limit), unsteady)


def torque_spread(resolution: float, limit: float) -> Spread:
    """Spread of a torque, from the scale's resolution and limit of error times the arm. [N*m]"""
    return Spread(math.hypot(resolution / math.sqrt(12.0), OF_ABSOLUTE * limit), TORQUE_UNSTEADY)


def meter_spread(quantity: str, resolution: float, relative_limit: float) -> Spread:
    """Spread of an electrical meter's readings.

    Parameters
    ----------
    quantity : str
        voltage, current, input_power or power_factor.
    resolution : float
        Step of the display or of the typed column. [SI]
    relative_limit : float
        Limit of error as a part of the reading. [1]

    Returns
    -------
    Spread
    """
    return Spread(resolution / math.sqrt(12.0), OF_RELATIVE[quantity] * relative_limit)
