"""Load points taken apart into their losses, and the same losses at a reference temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics import losses
from certgen.physics.domain import Array, Index
from certgen.physics.electrics import efficiency
from certgen.physics.induction import air_gap_power, rotor_loss
from certgen.physics.losses import constant_loss, residual_loss, winding_loss
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import LoadPoints, Reduction, TooFewReadings
from certgen.reduction.no_load import NoLoadTest
from certgen.reduction.winding import WindingOfTest, winding_state
from certgen.standards.procedures import LossProcedure


@dataclass(frozen=True)
class CoreLossRule:
    """At which voltage core loss is taken; ``rated_voltage`` [V], or ``None`` for the inner voltage of each load."""

    no_load: NoLoadTest
    rated_voltage: float | None

    def at(self, points: LoadPoints, resistance: Array) -> Array:
        """Core loss of load points, shape (n,), at resistances between lines [ohm], shape (n,), in W."""
        if self.rated_voltage is not None:
            return np.full(points.count, self.no_load.core_loss(np.array([self.rated_voltage]))[0])
        inner = losses.inner_voltage(points.voltage, points.current, points.input_power, resistance)
        return self.no_load.core_loss(np.asarray(inner))


@dataclass(frozen=True, eq=False)
class Segregated:
    """Losses known without the shaft, one a load point, each shape (n,). [W]"""

    stator: Array
    core: Array
    rotor: Array
    friction_windage: Array

    @property
    def known(self) -> Array:
        """Their sum. [W]"""
        return self.stator + self.core + self.rotor + self.friction_windage


def segregate(
    points: LoadPoints, *, resistance: Array, slip: Array, core: Array, friction_windage: float | Array, exponent: float
) -> Segregated:
    """Stator, core, rotor, and friction and windage losses of load points.

    Parameters
    ----------
    points : LoadPoints
        Current and input power of n load points. [SI]
    resistance : array, shape (n,)
        Resistance between lines at the temperature the losses are wanted at. [ohm]
    slip : array, shape (n,)
        Slip at that temperature. [1]
    core : array, shape (n,)
        Core loss. [W]
    friction_windage : float or array, shape (n,)
        Friction and windage at synchronous speed. [W]
    exponent : float
        Power of speed it goes with. [1]

    Returns
    -------
    Segregated
        Arrays of shape (n,). [W]

    References
    ----------
    IEC 60034-2-1:2014, method 2-1-1B, from memory; B. L. Theraja and A. K. Theraja, A Textbook of Electrical
    Technology, volume II, chapter 34, example 34.38, page 1289.
    """
    stator = np.asarray(losses.three_phase_winding_loss(points.current, resistance))
    gap = air_gap_power(points.input_power, stator + core)
    return Segregated(
        stator=stator,
        core=core,
        rotor=np.asarray(rotor_loss(slip, gap)),
        friction_windage=np.asarray(losses.friction_windage_at(friction_windage, slip, exponent=exponent)),
    )


def coupled_correction(points: LoadPoints, parts: Segregated, row: int, no_load: NoLoadTest) -> float:
    """Torque that the coupled, unexcited brake takes beyond what was measured.

    Parameters
    ----------
    points : LoadPoints
        Tested points. [SI]
    parts : Segregated
        Their losses. [W]
    row : int
        The point with the brake coupled and not excited.
    no_load : NoLoadTest
        The same motor uncoupled: it runs as light, so its core loss at the same voltage is that of the row.

    Returns
    -------
    float
        To be added to every measured torque. [N*m]

    References
    ----------
    CSA C390, annex C, and IEEE Std 112, method B; from memory.
    """
    correction = losses.dynamometer_correction(
        input_power=float(points.input_power[row]),
        stator_loss=float(parts.stator[row]),
        core_loss=float(no_load.core_loss(points.voltage[row : row + 1])[0]),
        friction_windage=float(parts.friction_windage[row]),
        slip=float(points.slip[row]),
        speed=float(points.speed[row]),
        torque=float(points.torque[row]),
    )
    return float(correction)


def regression_rows(points: LoadPoints, residual: Array, load: Array, between: tuple[float, float]) -> Index:
    """Load points that belong in the stray-load regression.

    Parameters
    ----------
    points : LoadPoints
        Tested points. [SI]
    residual : array, shape (n,)
        Residual loss. [W]
    load : array, shape (n,)
        Part of rated load. [1]
    between : tuple of float
        Least and greatest part. [1]

    Returns
    -------
    array of int, shape (m,)
        Indices of possible points with a residual, within the range, and not past breakdown.
    """
    usable = np.isfinite(residual) & (load >= between[0]) & (load <= between[1]) & ~points.impossible
    if usable.any():
        summit = np.flatnonzero(usable)[np.argmax(points.torque[usable])]
        usable &= points.speed >= points.speed[summit]
    return np.flatnonzero(usable)


@dataclass(frozen=True, eq=False)
class LossCurve:
    """Losses along the load curve, at one temperature, each shape (n,). [W], efficiency [1]"""

    input_power: Array
    parts: Segregated
    stray: Array
    torque: Array  # N*m, as tested

    @property
    def shaft_power(self) -> Array:
        """Input less every loss. [W]"""
        return self.input_power - self.parts.known - self.stray

    def reached(self, shaft_power: float, part: float) -> float:
        """The wanted shaft power [W]; where the curve ends short of it by at most a part of it, that of the end."""
        ends = self.shaft_power[[0, -1]]
        if ends[0] <= shaft_power <= ends[1]:
            return shaft_power
        end = float(ends[np.argmin(np.abs(ends - shaft_power))])
        return end if abs(end - shaft_power) <= part * shaft_power else shaft_power

    def at(self, shaft_power: float) -> dict[str, float] | None:
        """Every figure where the shaft power [W] is first reached, straight between the curve's points.

        ``None`` where the curve does not reach it. Sums hold along a straight line, so losses still add up.
        """
        place = self.place(shaft_power)
        if place is None:
            return None
        figures = {name: self.between(values, place) for name, values in self._columns()}
        figures["shaft_power"] = shaft_power
        figures["efficiency"] = float(efficiency(shaft_power, figures["input_power"]))
        return figures if all(math.isfinite(value) for value in figures.values()) else None

    def place(self, shaft_power: float) -> tuple[int, float] | None:
        """Point of the curve before the shaft power [W] is first reached, and the part of the way to the next."""
        output = self.shaft_power
        above = np.flatnonzero((output[:-1] <= shaft_power) & (shaft_power <= output[1:]))
        if not above.size:
            return None
        low = int(above[0])
        step = output[low + 1] - output[low]
        return low, 0.0 if step == 0.0 else float((shaft_power - output[low]) / step)

    def between(self, values: Array, place: tuple[int, float]) -> float:
        """A column of the curve at a place of it [as values]."""
        low, part = place
        return float(values[low] + part * (values[low + 1] - values[low]))

    def steepness(self, place: tuple[int, float]) -> dict[str, float]:
        """Rise of every column for each watt at the shaft, at a place of the curve [W/W]."""
        low = place[0]
        step = float(self.shaft_power[low + 1] - self.shaft_power[low])
        return {name: float(values[low + 1] - values[low]) / step if step else 0.0 for name, values in self._columns()}

    def _columns(self) -> tuple[tuple[str, Array], ...]:
        parts = self.parts
        return (
            ("input_power", self.input_power), ("stator", parts.stator), ("core", parts.core), ("rotor", parts.rotor),
            ("friction_windage", parts.friction_windage), ("stray", self.stray),
        )  # fmt: skip


# Losses of a direct-current motor as far as its no-load test gives them.


@dataclass(frozen=True)
class DirectCurrentLosses:
    """At one load: armature, then core with friction and windage, then what is left. [W]"""

    armature: float
    constant: float
    rest: float


def direct_current_losses(
    job: Job, readings: Readings, point: LoadPoints, *, winding: WindingOfTest, voltage_nearness: float
) -> DirectCurrentLosses:
    """Armature loss under load and constant loss of the no-load test.

    Parameters
    ----------
    job : Job
        Rated voltage. [SI]
    readings : Readings
        The no-load test among them: voltage and current, or input power. [SI]
    point : LoadPoints
        The load, one row. [SI]
    winding : WindingOfTest
        Resistance between the terminals over the load test.
    voltage_nearness : float
        Part of rated voltage by which the no-load test may miss it. [1]

    Returns
    -------
    DirectCurrentLosses
        Constant loss at rated voltage and no-load speed; what is left holds the brush contact and stray loss, and
        the change of the constant loss with speed. [W]

    Raises
    ------
    TooFewReadings
        No no-load test, or none at rated voltage.

    Notes
    -----
    All current is taken as the armature's. A shunt field's current stands in both tests; its loss is in the
    constant loss.

    References
    ----------
    U. A. Bakshi and M. V. Bakshi, DC Machines and Synchronous Machines, chapter 3, example 3.14, page 36.
    """
    table = readings.others.get("no_load")
    if table is None:
        raise TooFewReadings(Message("losses.no_no_load_reading"))
    electrical = electrical_input(table, job.motor.type)
    light = winding.lightest
    otherwise = float(winding.state.resistance[light]), float(winding.state.temperature[light])
    resistance = winding_state(table, winding.readings, otherwise).resistance
    loss = np.asarray(constant_loss(electrical.active, winding_loss(electrical.current, resistance)))
    constant = _at_voltage(electrical.voltage, loss, job.nameplate.voltage or float(point.voltage[0]), voltage_nearness)
    armature = float(np.asarray(winding_loss(point.current, winding.along(point.torque).resistance))[0])
    rest = residual_loss(float(point.input_power[0]), float(point.shaft_power[0]), armature, constant)
    return DirectCurrentLosses(armature, constant, float(rest))


def _at_voltage(voltage: Array, loss: Array, wanted: float, nearness: float) -> float:
    known = np.isfinite(voltage) & np.isfinite(loss)
    order = np.argsort(voltage[known], kind="stable")
    volts, watts = voltage[known][order], loss[known][order]
    if not volts.size or not volts[0] * (1.0 - nearness) <= wanted <= volts[-1] * (1.0 + nearness):
        raise TooFewReadings(Message("no_load.not_at_voltage", voltage=wanted))
    return float(np.interp(wanted, volts, watts))


# The temperature losses are stated at, and what it rests on.


#: How far the load a winding's rise was measured at may be from rated load. Common practice, no source.
_AT_RATED_LOAD = 0.05


def reference_temperature(
    job: Job, reduction: Reduction, winding_rise: float | None, procedure: LossProcedure
) -> tuple[float | None, Message]:
    """Winding temperature at rated load in air of the reference temperature, else that of the insulation class.

    Parameters
    ----------
    job : Job
        Rated power, insulation class, and the delay of the hot reading. [SI]
    reduction : Reduction
        Holds the run the motor was switched off after. [SI]
    winding_rise : float or None
        Rise of the winding by resistance at the instant of switching off. [K]
    procedure : LossProcedure
        Its coolant temperature, classes, and longest delay.

    Returns
    -------
    tuple of (float or None, Message)
        Temperature [K], ``None`` where nothing gives it, and a sentence on what it rests on.
    """
    run = next((run_held for run_held in reduction.held_runs if run_held.ends_the_test), None)
    why_not = _late_reading(job, procedure) or _not_at_rated_load(job, run)
    if winding_rise is not None and run is not None and not why_not:
        key = "reference_temperature.by_rise" if run.load is not None else "reference_temperature.by_rise_as_rated"
        air, source = procedure.reference_coolant, procedure.source("reference_coolant")
        return air + winding_rise, Message(key, rise=winding_rise, run=run.where, air=air, source=source)
    why_not = why_not or Message("reference_temperature.no_rise")
    letter = job.nameplate.insulation_class
    by_class = procedure.reference_by_class.get(letter or "")
    if by_class is None:
        return None, Message("reference_temperature.of_the_test", reason=why_not)
    source = procedure.source("reference_by_class")
    return by_class, Message("reference_temperature.by_class", letter=letter, reason=why_not, source=source)


def _late_reading(job: Job, procedure: LossProcedure) -> Message | None:
    """Why a hot reading does not give the rise of running; a series of readings is carried back and always does."""
    hot = None if job.readings.winding is None else job.readings.winding.hot
    allowed = procedure.delay_allowed(job.nameplate.power)
    if hot is None or hot.series is not None or (hot.after is not None and hot.after <= allowed):
        return None
    return Message("reference_temperature.late_reading", allowed=allowed)


def _not_at_rated_load(job: Job, run: HeldRun | None) -> Message | None:
    """Why the motor was not switched off after running at rated load; ``None`` where it was, or may be taken so."""
    if run is None:
        return Message("reference_temperature.no_run")
    power = job.nameplate.power
    if run.load is None or power is None or abs(run.load / power - 1.0) <= _AT_RATED_LOAD:
        return None
    return Message("reference_temperature.not_at_rated_load", run=run.where, part=run.load / power)
