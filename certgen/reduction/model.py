"""What reduction hands on: load points as matching arrays, the load curve, and single figures. SI throughout."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np

from certgen.messages.catalogue import Message
from certgen.physics.domain import Array, Index, Mask
from certgen.quantity import Quantity
from certgen.reduction.held_run import HeldRun
from certgen.reduction.log.model import LeftOut, ReducedLog
from certgen.reduction.uncertainty.model import Uncertainties

# What tests of changing speed hand on: sweeps through the curve, and run-downs with the supply off. SI throughout.


@dataclass(frozen=True)
class SweepGap:
    """Where torque with falling and with rising speed lie furthest apart, the inertia allowed for.

    ``deviation`` [N*m] is the standard uncertainty of their difference by scatter and by what is stated of the inertia.
    ``closing_inertia`` [kg*m^2] is the inertia at the judged shaft with which the two would agree best,
    ``closing_deviation`` its standard deviation by scatter; ``nan`` where the runs do not determine it.
    """

    speed: float  # rad/s of the judged shaft
    falling: float  # N*m
    rising: float
    falling_current: float  # A, nan where not read
    rising_current: float
    deviation: float
    closing_inertia: float
    closing_deviation: float


@dataclass(frozen=True)
class SweepFound:
    """One sweep in single figures; speeds, torques and inertia at the judged shaft.

    ``inertia`` [kg*m^2] is what was allowed for, ``None`` where the rig states none; ``inertia_torque`` [N*m] the most
    it amounted to, in size, in either direction.
    """

    bandwidth: float  # Hz
    falling_runs: int
    rising_runs: int
    greatest_acceleration: float  # rad/s^2, in size
    inertia: float | None
    rotor_included: bool
    inertia_torque: float | None
    gap: SweepGap | None
    left_out: tuple[LeftOut, ...] = ()  # samples of the log that are part of no point


@dataclass(frozen=True)
class UncertainValue:
    """A value with its expanded uncertainty and coverage factor, ``None`` where something is not stated."""

    value: float
    expanded: float | None = None
    coverage_factor: float | None = None


@dataclass(frozen=True)
class RunDownFound:
    """What one or two run-downs give.

    ``terms`` are the friction's constant part, its part with speed and its part with speed squared, at the shaft whose
    speed was read [N*m, N*m*s, N*m*s^2]; 0 where the readings do not carry one; all ``None`` without an inertia.
    """

    coasting: str
    lowest: float  # rad/s
    highest: float
    lasted: float  # s
    residual: float  # standard deviation of the speeds about the fit, rad/s; nan with too few rows
    rows: int
    deceleration: float  # at the speed of reference, rad/s^2
    at_speed: float  # the speed of reference: rated speed, or the highest where that was not passed, rad/s
    at_rated: bool
    inertia: UncertainValue | None  # used, or found by a second run with a known load
    inertia_found: bool
    inertia_stated: float | None  # kg*m^2, where a second run found it and the files state it too
    terms: tuple[UncertainValue, UncertainValue, UncertainValue] | None
    friction_torque: UncertainValue | None  # N*m
    friction_loss: UncertainValue | None  # W
    missing_inputs: tuple[Message, ...] = ()  # what to state for an inertia, or for the uncertainties
    left_out: tuple[LeftOut, ...] = ()  # rows that are faults


@dataclass(frozen=True)
class RunDownMissing:
    """Why a run-down gives nothing, as the end of a sentence."""

    why: Message


# What reduction hands on: load points as matching arrays, the load curve, and single figures. SI throughout.


#: The unit of every quantity of a load point, in the order the results list them.
POINT_UNITS = {
    "speed": "rad/s", "slip": "1", "torque": "N*m", "shaft_power": "W", "input_power": "W", "apparent_power": "VA",
    "current": "A", "voltage": "V", "power_factor": "1", "efficiency": "1", "losses": "W", "temperature": "K",
    "current_unbalance": "1", "voltage_unbalance": "1", "frequency": "Hz", "time": "s",
}  # fmt: skip


#: Part by which a power-factor meter and watts over volt-amperes may differ before the page says so. [1] Common
#: practice, no source.
METERS_AGREE = 0.02


@dataclass(frozen=True, eq=False)
class LoadPoints:
    """One load point a row; every array has shape (n,), ``nan`` where not measured and not derivable.

    Torque, speed and shaft power are those of the judged shaft: the motor's, or the output shaft of its gear.
    """

    speed: Array
    slip: Array
    torque: Array
    shaft_power: Array
    input_power: Array
    apparent_power: Array
    current: Array
    voltage: Array
    power_factor: Array
    efficiency: Array
    losses: Array
    temperature: Array
    current_unbalance: Array
    voltage_unbalance: Array
    frequency: Array
    time: Array
    remarks: tuple[str, ...]

    @property
    def count(self) -> int:
        """How many points there are."""
        return len(self.remarks)

    @property
    def impossible(self) -> Mask:
        """Points that give more shaft power than they take in, shape (n,)."""
        return np.asarray(self.shaft_power > self.input_power)

    @property
    def above_volt_amperes(self) -> Mask:
        """Points that take in clearly more watts than volt-amperes, shape (n,)."""
        return np.asarray(self.input_power > (1.0 + METERS_AGREE) * self.apparent_power)

    def chosen(self, which: Index | Mask) -> LoadPoints:
        """The points of an index or mask, in its order."""
        index = np.arange(self.count)[which]
        arrays = {field.name: getattr(self, field.name)[index] for field in fields(self) if field.name != "remarks"}
        return LoadPoints(**arrays, remarks=tuple(self.remarks[i] for i in index))


@dataclass(frozen=True)
class Poles:
    """Number of poles and what it rests on; ``None`` where nothing gives it."""

    count: int | None
    basis: Message | None


@dataclass(frozen=True, eq=False)
class OperatingPoint:
    """A point read off the load curve, with whether it lies beyond the tested range."""

    point: LoadPoints  # of one row
    extrapolated: bool


@dataclass(frozen=True, eq=False)
class Sweeps:
    """Rows of a load test whose loads were taken both ways, as indices; the turning point is in both."""

    upward: Index
    downward: Index


@dataclass(frozen=True)
class HeldRotor:
    """One figure with the rotor locked: as read, the supply it was read at, and what it is at rated voltage.

    Voltage [V] and frequency [Hz] are ``nan`` where not known, ``at_rated`` where it cannot be computed.
    ``other_frequency`` says that the plate's frequency is another than the test's and was allowed for.
    """

    read: float
    voltage: float
    frequency: float
    at_rated: float
    other_frequency: bool = False
    row: int = 0  # of the rows with the rotor locked, those of a table of their own first


@dataclass(frozen=True)
class LockedRotor:
    """Line current [A] and torque [N*m] with the rotor locked, each ``None`` where not read."""

    current: HeldRotor | None
    torque: HeldRotor | None


@dataclass(frozen=True)
class TorqueAtSpeed:
    """A torque [N*m] and the speed [rad/s] it was found at."""

    torque: float
    speed: float


@dataclass(frozen=True, eq=False)
class BreakdownFit:
    """Breakdown torque [N*m] and its speed [rad/s] by a curve fitted through the points about the greatest one tested.

    ``torque_spread`` and ``speed_spread`` are standard uncertainties for where between the points the summit lies: the
    difference of two curves that both fit, and the scatter about them.
    """

    torque: float
    speed: float
    rows: Index  # load points of the fit
    by_circuit: bool  # the curve of an equivalent circuit; else a parabola
    torque_spread: float
    speed_spread: float


@dataclass(frozen=True)
class TorqueSpeed:
    """What the tested part of an induction motor's torque-speed curve shows; speeds in rad/s, torques in N*m.

    ``breakdown`` is ``None`` where no summit with points on both sides was tested, ``pull_up`` also where the test did
    not come near standstill or left a wide gap. ``greatest`` is the greatest torque with the shaft turning.
    """

    greatest: TorqueAtSpeed
    breakdown: TorqueAtSpeed | None
    pull_up: TorqueAtSpeed | None
    slowest: float  # speed of the slowest point
    points_below: int  # different speeds from the slowest point up to that of breakdown, without it
    widest_gap: float  # between neighbouring speeds from the slowest point to breakdown; nan without breakdown
    summit: BreakdownFit | None = field(default=None, compare=False)  # where the points tell more than the greatest one


@dataclass(frozen=True)
class BrakeFriction:
    """Torque beyond the scale's and the rig's tare torque that a run with the brake off shows. [N*m]

    ``used`` where every load point is corrected by it; else ``reason`` says why not.
    """

    torque: Quantity
    used: bool
    reason: Message | None = None


@dataclass(frozen=True, eq=False)
class Reduction:
    """Everything computed from one load test."""

    points: LoadPoints
    absorber_torque: Array
    absorber_speed: Array
    scale_indication: Array
    brake_current: Array
    meter_power_factor: Array  # as a power-factor meter showed it; nan where there was none
    poles: Poles
    synchronous_speed: float  # rad/s of the judged shaft; nan where not known
    frequency_basis: Message | None  # None where no frequency is known
    operating: dict[str, OperatingPoint | None]  # by name of the results tree: at_rated_current, ..
    curve: LoadPoints | None  # the load curve, densely; None where too little was tested
    torque_speed: tuple[Array, Array] | None  # speed and torque of the drawn curve, past breakdown too
    no_load_point: LoadPoints | None  # of one row
    peak: LoadPoints | None  # of one row: greatest shaft power, where the test went past it
    curve_missing: Message | None  # why there is no curve; None where there is one
    held_runs: tuple[HeldRun, ...] = ()  # runs at one load with their temperatures, the heat run first
    sweeps: Sweeps | None = None  # where loads were taken both ways; the curve then rests on the downward branch
    branches: tuple[Any, ...] = ()  # a LoadCurve of the upward and one of the downward branch, where there are both
    locked_rotor: LockedRotor | None = None  # where the rotor was locked
    extremes: TorqueSpeed | None = None  # of induction motors
    sweep: SweepFound | None = None  # where the load points were made from the log of a sweep
    run_down: RunDownFound | RunDownMissing | None = None  # where the speed was read with the supply off
    log: ReducedLog | None = None  # where the load test was a log of which plateaus became the points
    load_at_span: Mask | None = None  # points whose scale or torque sensor stood at the end of its span
    at_full_scale: tuple[
        tuple[str, int], ...
    ] = ()  # column and point that an electrical meter at full scale left empty
    uncertainties: Uncertainties | None = None  # of points and operating points
    brake_friction: BrakeFriction | None = None  # where a run with the brake off was made beside a no-load test


# What a reduction raises where the readings do not carry a figure.


class TooFewReadings(Exception):
    """A figure cannot be computed; ``message`` says what is missing, as the end of a sentence."""

    def __init__(self, message: Message) -> None:
        super().__init__(message)
        self.message = message
