"""The no-load test: core loss separated from friction and windage by readings at several voltages."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from certgen.messages.catalogue import Message
from certgen.physics.curves import Line, ShapePreserving, straight_line
from certgen.physics.domain import Array, Mask
from certgen.physics.losses import constant_loss, three_phase_winding_loss
from certgen.reduction.electrical import ElectricalInput
from certgen.reduction.model import TooFewReadings


@dataclass(frozen=True, eq=False)
class NoLoadTest:
    """Core loss over voltage, and friction and windage; rows in order of voltage, one for each voltage."""

    voltage: Array  # V, between lines
    constant_loss: Array  # W
    friction_windage: float  # W, at synchronous speed
    low_voltages: int  # readings the friction rests on
    line: Line  # of constant loss over voltage squared, through them
    core: ShapePreserving  # W over V
    reach: float  # V, greatest voltage at which core loss may be given

    def core_loss(self, voltage: Array) -> Array:
        """Core loss [W] at line voltages [V], shape (n,); NaN outside the readings."""
        inside = (voltage >= self.voltage[0]) & (voltage <= self.reach)
        return np.where(inside, np.asarray(self.core(voltage)), np.nan)


def separate_no_load(
    electrical: ElectricalInput,
    resistance: Array,
    *,
    rated_voltage: float,
    low_voltage: float,
    voltage_nearness: float,
    least_low_voltages: int,
) -> NoLoadTest:
    """Core loss, and friction and windage, of a three-phase motor running without load.

    Parameters
    ----------
    electrical : ElectricalInput
        Voltage, current and power of the no-load readings, shape (n,). [SI]
    resistance : array, shape (n,)
        Resistance between lines at each reading. [ohm]
    rated_voltage : float
        Rated voltage between lines. [V]
    low_voltage : float
        Part of it up to which the core does not saturate, so that core loss goes with voltage squared. [1]
    voltage_nearness : float
        How far past that part, and past the highest voltage read, a voltage still counts. [1]
    least_low_voltages : int
        Fewest readings below it that make a line.

    Returns
    -------
    NoLoadTest
        The constant loss P0 - 1.5 I0^2 R; friction and windage, where its straight line over voltage squared
        through the low-voltage readings meets zero voltage; core loss, the rest. [W]

    Raises
    ------
    TooFewReadings
        Fewer low voltages than needed, none near rated voltage, or a loss that comes out below zero.

    Notes
    -----
    Voltages lower than that of the least current are left out: there the slip grows and the current with it.

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B; IEEE Std 112, segregation of core and friction loss; both from memory.
    """
    winding = np.asarray(three_phase_winding_loss(electrical.current, resistance))
    constant = np.asarray(constant_loss(electrical.active, winding))
    known = np.isfinite(constant) & (electrical.voltage > 0.0)
    if not known.any():
        raise TooFewReadings(Message("no_load.not_together"))
    known &= electrical.voltage >= electrical.voltage[known][np.argmin(electrical.current[known])]
    voltage, where = np.unique(electrical.voltage[known], return_inverse=True)
    loss = np.bincount(where, weights=constant[known]) / np.bincount(where)
    low = voltage <= (low_voltage + voltage_nearness) * rated_voltage
    _check_voltages(voltage, low, rated_voltage, (low_voltage, voltage_nearness), least_low_voltages)
    line = straight_line(voltage[low] ** 2, loss[low])
    _check_losses(voltage[~low], loss[~low], line.intercept)
    return NoLoadTest(
        voltage=voltage,
        constant_loss=loss,
        friction_windage=line.intercept,
        low_voltages=int(low.sum()),
        line=line,
        core=ShapePreserving(voltage, loss - line.intercept),
        reach=float(voltage[-1]) * (1.0 + voltage_nearness),
    )


def _check_voltages(voltage: Array, low: Mask, rated: float, parts: tuple[float, float], least: int) -> None:
    if low.sum() < least:
        raise TooFewReadings(Message("no_load.few_voltages", count=int(low.sum()), part=parts[0], least=least))
    if voltage[-1] * (1.0 + parts[1]) < rated:
        raise TooFewReadings(Message("no_load.below_rated", highest=float(voltage[-1]), rated=rated))


def _check_losses(voltage: Array, loss: Array, friction: float) -> None:
    """Whether friction, and core loss at the voltages above the low ones, come out above zero."""
    if friction <= 0.0:
        raise TooFewReadings(Message("no_load.impossible_friction", friction=friction))
    least = int(np.argmin(loss))
    if loss[least] <= friction:
        core = float(loss[least]) - friction
        raise TooFewReadings(Message("no_load.impossible_core", core=core, voltage=float(voltage[least])))
