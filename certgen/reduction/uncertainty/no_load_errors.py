"""The no-load test with the errors of its readings: core loss over voltage, friction and windage."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.losses import constant_loss, three_phase_winding_loss
from certgen.reduction.electrical import electrical_input
from certgen.reduction.no_load import NoLoadTest
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import (
    Correlated,
    combined,
    linear,
    nominal,
    nominals,
    shifted,
    straight_line,
    weighted,
)
from certgen.reduction.uncertainty.model import Measured

Array = NDArray[np.float64]
_SCATTER = "scatter of the no-load losses at low voltage"


@dataclass(frozen=True, eq=False)
class NoLoadErrors:
    """What :class:`NoLoadTest` says, with errors: voltage [V] and constant loss [W] of each of its voltages."""

    found: NoLoadTest
    voltage: Sequence[Correlated]
    constant_loss: Sequence[Correlated]
    friction_windage: Correlated  # W

    def core_loss(self, voltage: Sequence[Correlated]) -> list[Correlated]:
        """Core loss [W] at line voltages [V], n values; ``None`` outside the readings."""
        at = nominals(voltage)
        values = self.found.core_loss(at)
        by_loss, by_voltage = self.found.core.by_points(at)
        slopes = np.asarray(self.found.core.slope(at))
        # Each point of the curve is a constant loss less friction and windage.
        slopes_of = np.vstack([by_loss, by_voltage, -by_loss.sum(axis=0)]).T
        found = combined(values.tolist(), slopes_of, [*self.constant_loss, *self.voltage, self.friction_windage])
        return [
            linear(nominal(one), [(1.0, one), (float(slope), volts)]) if math.isfinite(nominal(one)) else None
            for one, slope, volts in zip(found, slopes, voltage, strict=True)
        ]


def electrical_errors(errors: Errors, motor_type: str) -> Mapping[str, list[Correlated]]:
    """Voltage [V], current [A] and power [W] of the no-load readings, row by row."""

    def of(measured: Measured) -> Mapping[str, Array]:
        found = electrical_input(measured.readings.load_test, motor_type)
        return {"voltage": found.voltage, "current": found.current, "active": found.active}

    return errors.of_table(errors.tables["no_load"], of)


def no_load_errors(
    errors: Errors, found: NoLoadTest, electrical: Mapping[str, list[Correlated]], resistance: Sequence[Correlated]
) -> NoLoadErrors:
    """The no-load test of a three-phase motor with its errors.

    Parameters
    ----------
    errors : Errors
        The errors of the test.
    found : NoLoadTest
        The test as found.
    electrical : mapping
        Of :func:`electrical_errors`, n rows. [SI]
    resistance : sequence of Correlated
        Resistance between lines at each row. [ohm]

    Returns
    -------
    NoLoadErrors
        Friction and windage carry the scatter of the low-voltage readings about their line, too.

    References
    ----------
    JCGM 100:2008, H.3.
    """

    def loss_of(active: Array, current: Array, ohms: Array) -> Array:
        return np.asarray(constant_loss(active, three_phase_winding_loss(current, ohms)))

    rows = shifted(loss_of, [electrical["active"], electrical["current"], resistance])
    at = nominals(electrical["voltage"])
    voltage, loss = [], []
    for level in found.voltage:
        same = [row for row in np.flatnonzero(at == level) if rows[row] is not None]
        share = np.full(len(same), 1.0 / len(same))
        voltage.append(weighted([electrical["voltage"][row] for row in same], share))
        loss.append(weighted([rows[row] for row in same], share))
    low = found.low_voltages
    squared = [linear(nominal(one) ** 2, [(2.0 * nominal(one), one)]) for one in voltage[:low]]
    friction = straight_line(squared, loss[:low])[1]
    abscissae = nominals(squared)
    lever = math.sqrt(1.0 / low + float(abscissae.mean() ** 2 / np.sum((abscissae - abscissae.mean()) ** 2)))
    scatter = found.line.residual_standard_deviation * lever
    return NoLoadErrors(found, voltage, loss, errors.scattered(friction, _SCATTER, scatter, low - 2))
