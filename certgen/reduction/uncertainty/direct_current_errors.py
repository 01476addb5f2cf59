"""Losses of a direct-current motor with the errors of the readings they rest on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from certgen.job.model import Job
from certgen.physics.losses import constant_loss, winding_loss
from certgen.reduction.direct_current import DirectCurrentLosses
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated, linear, nominal, nominals, shifted, single
from certgen.reduction.uncertainty.no_load_errors import electrical_errors
from certgen.reduction.uncertainty.winding_errors import along, of_load_test, resistances
from certgen.reduction.winding_of_test import WindingOfTest

Array = NDArray[np.float64]


def direct_current_errors(
    errors: Errors,
    job: Job,
    found: DirectCurrentLosses,
    *,
    winding: WindingOfTest,
    point: Mapping[str, Sequence[Correlated]],
    hot: Correlated,
) -> tuple[Correlated, Correlated]:
    """Armature loss and constant loss of a direct-current motor with their errors.

    Parameters
    ----------
    errors : Errors
        The tables. [SI]
    job : Job
        Rated voltage, which is exact. [SI]
    found : DirectCurrentLosses
        The losses as found. [W]
    winding : WindingOfTest
        The armature over the load test.
    point : mapping
        Torque [N*m], current [A] and voltage [V] at the load, one value each.
    hot : Correlated
        Resistance of the hot armature as read. [ohm]

    Returns
    -------
    tuple of (Correlated, Correlated)
        Both in W; straight between the no-load readings, as the loss was found.
    """
    of_rows = of_load_test(errors, winding, hot)
    loaded = along(winding, of_rows, nominals(point["torque"]))[0]
    armature = single(lambda current, ohms: np.asarray(winding_loss(current, ohms)), point["current"][0], loaded)
    table = errors.tables["no_load"]
    ohms = resistances(
        errors, winding.readings, errors.read("no_load"), rows=table.rows, otherwise=of_rows[winding.lightest]
    )
    electrical = electrical_errors(errors, job.motor.type)

    def loss_of(active: Array, current: Array, resistance: Array) -> Array:
        return np.asarray(constant_loss(active, winding_loss(current, resistance)))

    losses = shifted(loss_of, [electrical["active"], electrical["current"], ohms])
    wanted: Correlated = job.nameplate.voltage or point["voltage"][0]
    return armature, _at_voltage(electrical["voltage"], losses, wanted, found.constant)


def _at_voltage(
    voltage: Sequence[Correlated], losses: Sequence[Correlated], wanted: Correlated, value: float
) -> Correlated:
    """A loss between the readings around a voltage, by the straight line through them."""
    volts = nominals(voltage)
    known = np.flatnonzero(np.isfinite(volts) & np.isfinite(nominals(losses)))
    order = known[np.argsort(volts[known], kind="stable")]
    at = nominal(wanted)
    weights = [float(np.interp(at, volts[order], row)) for row in np.eye(order.size)]
    above = int(np.searchsorted(volts[order], at))
    slope = 0.0
    if 0 < above < order.size:
        low, high = order[above - 1], order[above]
        slope = (nominal(losses[high]) - nominal(losses[low])) / (volts[high] - volts[low])
    terms = [(weight, losses[row]) for weight, row in zip(weights, order, strict=True)]
    terms += [(-slope * weight, voltage[row]) for weight, row in zip(weights, order, strict=True)]
    return linear(value, [*terms, (slope, wanted)])
