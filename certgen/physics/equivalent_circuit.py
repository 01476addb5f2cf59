"""The exact per-phase equivalent circuit of a three-phase induction machine, rotor referred to the stator."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, FloatOrArray, plain, quotient, require_not_negative, require_positive
from certgen.physics.electrics import efficiency, power_factor
from certgen.physics.induction import mechanical_power, rotor_loss, speed_at_slip, synchronous_speed

_PHASES = 3


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """The elements of one phase of the star-connected equivalent, at rated frequency.

    Raises ``ValueError`` where an element is negative, or the rotor resistance, the magnetizing reactance or
    the core resistance is not above 0. An infinite magnetizing reactance leaves that branch out.
    """

    #: Resistance of the stator winding. [ohm]
    stator_resistance: float
    #: Leakage reactance of the stator. [ohm]
    stator_reactance: float
    #: Resistance of the rotor, referred to the stator. [ohm]
    rotor_resistance: float
    #: Leakage reactance of the rotor at standstill, referred to the stator. [ohm]
    rotor_reactance: float
    #: Magnetizing reactance. [ohm]
    magnetizing_reactance: float
    #: Core-loss resistance beside the magnetizing reactance; None where core loss is counted elsewhere. [ohm]
    core_resistance: float | None = None
    #: Number of poles.
    poles: int
    #: Supply frequency. [Hz]
    frequency: float
    #: Friction and windage of all phases together, taken as the same at every speed but standstill. [W]
    friction_windage: float = 0.0

    def __post_init__(self) -> None:
        for name in ("stator_resistance", "stator_reactance", "rotor_reactance", "friction_windage"):
            require_not_negative(getattr(self, name), name.replace("_", " "))
        for name in ("rotor_resistance", "magnetizing_reactance"):
            require_positive(getattr(self, name), name.replace("_", " "))
        if self.core_resistance is not None:
            require_positive(self.core_resistance, "core resistance")
        synchronous_speed(self.frequency, self.poles)  # refuses an impossible pair

    @property
    def field_speed(self) -> float:
        """Synchronous speed. [rad/s]"""
        return float(synchronous_speed(self.frequency, self.poles))

    @property
    def stator_impedance(self) -> complex:
        """Winding and leakage of the stator. [ohm]"""
        return complex(self.stator_resistance, self.stator_reactance)

    @property
    def shunt_admittance(self) -> complex:
        """Core and magnetizing branch. [S]"""
        core = 0.0 if self.core_resistance is None else 1.0 / self.core_resistance
        return complex(core, -1.0 / self.magnetizing_reactance)


@dataclass(frozen=True)
class OperatingPoint:
    """What a machine does at a slip, all three phases together; each a float or an array, shape (n,)."""

    #: Current of one phase of the star equivalent, which is the line current, rms. [A]
    stator_current: FloatOrArray
    #: Current of one rotor phase, referred to the stator, rms. [A]
    rotor_current: FloatOrArray
    #: NaN where no current flows. [1]
    power_factor: FloatOrArray
    #: Electric power in. [W]
    input_power: FloatOrArray
    #: Loss of the stator winding. [W]
    stator_loss: FloatOrArray
    #: Loss in the core resistance, 0 without one. [W]
    core_loss: FloatOrArray
    #: Loss of the rotor winding. [W]
    rotor_loss: FloatOrArray
    #: Power across the air gap. [W]
    air_gap_power: FloatOrArray
    #: Power developed by the rotor, before friction and windage. [W]
    mechanical_power: FloatOrArray
    #: Power at the shaft. [W]
    shaft_power: FloatOrArray
    #: Torque developed by the rotor. [N*m]
    torque: FloatOrArray
    #: Torque at the shaft. [N*m]
    shaft_torque: FloatOrArray
    #: Shaft power over input power; NaN where the input is not above 0. [1]
    efficiency: FloatOrArray


def solve(circuit: Circuit, phase_voltage: FloatOrArray, slip: FloatOrArray) -> OperatingPoint:
    """Solve the exact circuit at a slip.

    Parameters
    ----------
    circuit : Circuit
        The elements of one phase.
    phase_voltage : float or array, shape (n,)
        Voltage across one phase of the star equivalent: line voltage over sqrt(3). [V]
    slip : float or array, shape (n,)
        Slip: 1 at standstill, 0 at synchronous speed, negative as a generator. [1]

    Returns
    -------
    OperatingPoint
        Currents, powers, torques and efficiency. At standstill nothing turns, so friction and windage are 0
        there; close to standstill the constant loss makes too much of them: use ``torque`` for a whole
        speed-torque curve.

    Notes
    -----
    Admittances throughout, so that slip 0 needs no limit: the rotor branch is s / (R2 + j s X2).

    References
    ----------
    A. E. Fitzgerald, C. Kingsley Jr. and S. D. Umans, Electric Machinery, chapter 6, example 6.2, page 320;
    C. I. Hubert, Electric Machines, chapter 5, example 5.2, page 180 (with core resistance).
    """
    slips = np.asarray(slip, dtype=np.float64)
    with np.errstate(invalid="ignore"):  # complex division warns of a NaN that comes in
        rotor_admittance = slips / (circuit.rotor_resistance + 1j * slips * circuit.rotor_reactance)
        inner_admittance = circuit.shunt_admittance + rotor_admittance
        gap_voltage = phase_voltage / (1.0 + circuit.stator_impedance * inner_admittance)
    stator_current = np.abs(gap_voltage * inner_admittance)
    gap_squared = np.abs(gap_voltage) ** 2
    stator_loss = _PHASES * stator_current**2 * circuit.stator_resistance
    core_loss = _PHASES * gap_squared * circuit.shunt_admittance.real
    air_gap_power = _PHASES * gap_squared * rotor_admittance.real
    input_power = stator_loss + core_loss + air_gap_power
    shaft_power, shaft_torque = _at_shaft(circuit, slips, air_gap_power)
    apparent_power = _PHASES * phase_voltage * stator_current
    return OperatingPoint(
        stator_current=plain(stator_current),
        rotor_current=plain(np.abs(gap_voltage * rotor_admittance)),
        power_factor=power_factor(input_power, apparent_power),
        input_power=plain(input_power),
        stator_loss=plain(stator_loss),
        core_loss=plain(core_loss),
        rotor_loss=plain(np.asarray(rotor_loss(slips, air_gap_power))),
        air_gap_power=plain(air_gap_power),
        mechanical_power=plain(np.asarray(mechanical_power(slips, air_gap_power))),
        shaft_power=plain(shaft_power),
        torque=plain(air_gap_power / circuit.field_speed),
        shaft_torque=plain(shaft_torque),
        efficiency=efficiency(shaft_power, input_power),
    )


def breakdown(circuit: Circuit, phase_voltage: float) -> tuple[float, float]:
    """Slip and torque at the top of the speed-torque curve.

    Parameters
    ----------
    circuit : Circuit
        The elements of one phase.
    phase_voltage : float
        Voltage across one phase of the star equivalent: line voltage over sqrt(3). [V]

    Returns
    -------
    tuple of float
        Slip at breakdown, above 1 where the top lies beyond standstill [1], and torque developed there [N*m].

    Raises
    ------
    ValueError
        The circuit has no impedance before the rotor resistance, so its torque has no top.

    Notes
    -----
    Thevenin equivalent of stator and shunt branch: s = R2 / |R_th + j (X_th + X2)|.

    References
    ----------
    A. E. Fitzgerald, C. Kingsley Jr. and S. D. Umans, Electric Machinery, chapter 6, example 6.3, page 325.
    """
    divider = 1.0 + circuit.stator_impedance * circuit.shunt_admittance
    source = circuit.stator_impedance / divider
    before_rotor = math.hypot(source.real, source.imag + circuit.rotor_reactance)
    if before_rotor == 0.0:
        raise ValueError("a circuit without stator impedance and rotor reactance has no breakdown torque")
    source_voltage = abs(phase_voltage / divider)
    torque = _PHASES * source_voltage**2 / (2.0 * circuit.field_speed * (source.real + before_rotor))
    return circuit.rotor_resistance / before_rotor, torque


def _at_shaft(circuit: Circuit, slips: Array, air_gap_power: Array) -> tuple[Array, Array]:
    """Power and torque at the shaft: as developed, less friction and windage where the shaft turns."""
    speed = np.asarray(speed_at_slip(slips, circuit.field_speed))
    turning = speed != 0.0
    friction = np.where(turning, circuit.friction_windage, 0.0)
    friction_torque = quotient(friction, speed, defined=turning)
    developed = air_gap_power / circuit.field_speed
    shaft_torque = np.where(turning, developed - friction_torque, developed)
    return np.asarray(mechanical_power(slips, air_gap_power)) - friction, shaft_torque
