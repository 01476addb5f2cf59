"""Three-phase cage induction motor: the exact circuit of one phase, on a supply that need not be balanced.

Circuit per phase in star, seen from the stator: R1 + jX1 in series with (jXm parallel Rc parallel
(R2/slip + jX2)). Source: A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans, Electric Machinery, chapter 6. A
supply of unequal line voltages is taken apart into a forward and a backward system (symmetrical components,
C. L. Fortescue, 1918); the rotor has slip s to the one and 2 - s to the other. Stray load loss goes with the
square of rotor current, as IEC 60034-2-1 lets it go with the square of torque.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace

from simulated_bench.solving import largest_within, root_between

TURN = cmath.exp(2j * math.pi / 3)
#: degC below zero where the linear law gives no resistance. Source: IEC 60034-1, 8.6.2.3.3, from memory.
COPPER, ALUMINIUM = 235.0, 225.0
REFERENCE_TEMPERATURE = 20.0  # degC at which R1 and R2 are stated


@dataclass(frozen=True)
class ThreePhaseMotor:
    """Parameters of one phase in star: ohm at 20 degC and rated frequency, N*m, Hz."""

    poles: int
    frequency: float
    R1: float
    X1: float
    R2: float
    X2: float
    Xm: float
    Rc: float = math.inf
    rated_emf: float = math.inf  # air-gap voltage at which Xm is stated; V, phase
    saturation: float = 0.0  # share of magnetizing current that grows with the seventh power of that voltage
    friction: float = 0.0  # N*m, at any speed
    windage: float = 0.0  # N*m at synchronous speed, with the square of speed
    R_stray: float = 0.0  # ohm that would turn rotor current into the stray load loss

    @property
    def synchronous_speed(self) -> float:
        """Speed of the field [rad/s]."""
        return 4 * math.pi * self.frequency / self.poles

    def at_temperature(self, winding: float) -> ThreePhaseMotor:
        """The same motor with copper stator and aluminium cage at a temperature [degC]."""
        copper = (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE)
        aluminium = (ALUMINIUM + winding) / (ALUMINIUM + REFERENCE_TEMPERATURE)
        return replace(self, R1=self.R1 * copper, R2=self.R2 * aluminium)

    def at_frequency(self, frequency: float) -> ThreePhaseMotor:
        """The same motor on a supply of another frequency [Hz]."""
        by = frequency / self.frequency
        return replace(self, frequency=frequency, X1=self.X1 * by, X2=self.X2 * by, Xm=self.Xm * by)


@dataclass(frozen=True)
class Operation:
    """One steady state of a three-phase motor: A, W, N*m, rad/s."""

    slip: float
    speed: float
    torque: float  # at the shaft
    line_currents: tuple[float, float, float]
    input_power: float
    wattmeters: tuple[float, float]  # current coils in lines a and b, line c common
    stator_loss: float
    rotor_loss: float
    core_loss: float
    drag_loss: float  # friction, windage and stray load loss
    line_voltages: tuple[float, float, float]

    @property
    def shaft_power(self) -> float:
        """Power at the shaft [W]."""
        return self.torque * self.speed

    @property
    def efficiency(self) -> float:
        """Shaft power over input power."""
        return self.shaft_power / self.input_power

    @property
    def current(self) -> float:
        """Mean of the line currents [A]."""
        return sum(self.line_currents) / 3

    @property
    def power_factor(self) -> float:
        """Input power over apparent power of mean voltage and mean current."""
        return self.input_power / (math.sqrt(3) * sum(self.line_voltages) / 3 * self.current)

    @property
    def losses(self) -> float:
        """All losses [W]."""
        return self.stator_loss + self.rotor_loss + self.core_loss + self.drag_loss


@dataclass(frozen=True)
class _Sequence:
    """Answer of the circuit to one symmetrical system."""

    current: complex
    rotor_current: complex
    core_loss: float


def _circuit(motor: ThreePhaseMotor, voltage: complex, slip: float) -> _Sequence:
    stator, rotor = complex(motor.R1, motor.X1), complex(motor.R2 / slip, motor.X2)

    def gap_voltage(magnitude: float) -> complex:
        ratio = magnitude / motor.rated_emf
        susceptance = (1 - motor.saturation + motor.saturation * ratio**6) / motor.Xm
        admittance = complex(1 / motor.Rc, -susceptance) + 1 / rotor
        return voltage / (1 + stator * admittance)

    # More air-gap voltage means more magnetizing current and so less air-gap voltage: one crossing only.
    emf = abs(voltage)
    if motor.saturation:
        emf = root_between(lambda trial: trial - abs(gap_voltage(trial)), 0.0, 2 * abs(voltage))
    gap = gap_voltage(emf)
    return _Sequence((voltage - gap) / stator, gap / rotor, 3 * abs(gap) ** 2 / motor.Rc)


def line_phasors(voltages: tuple[float, float, float]) -> tuple[complex, complex, complex]:
    """Phasors of three line voltages ab, bc, ca known by magnitude [V]; they close a triangle."""
    ab, bc, ca = voltages
    x = (bc**2 + ab**2 - ca**2) / (2 * ab)
    corner = complex(x, math.sqrt(bc**2 - x**2))  # c as seen from b; a lies at ab on the real axis
    return complex(ab, 0.0), -corner, corner - ab


def _systems(voltages: tuple[float, float, float]) -> tuple[complex, complex]:
    ab, bc, ca = line_phasors(voltages)
    to_phase = math.sqrt(3) * cmath.exp(1j * math.pi / 6)
    forward = (ab + TURN * bc + TURN**2 * ca) / 3 / to_phase
    backward = (ab + TURN**2 * bc + TURN * ca) / 3 / to_phase.conjugate()
    return forward, backward


def at_slip(motor: ThreePhaseMotor, voltages: tuple[float, float, float], slip: float) -> Operation:
    """Steady state at a slip (not 0 or 2) on three line voltages [V]."""
    forward_voltage, backward_voltage = _systems(voltages)
    forward = _circuit(motor, forward_voltage, slip)
    backward = _circuit(replace(motor, saturation=0.0), backward_voltage, 2 - slip)
    ws = motor.synchronous_speed
    speed = ws * (1 - slip)
    gap_forward = 3 * abs(forward.rotor_current) ** 2 * motor.R2 / slip
    gap_backward = 3 * abs(backward.rotor_current) ** 2 * motor.R2 / (2 - slip)
    rotor_squares = abs(forward.rotor_current) ** 2 + abs(backward.rotor_current) ** 2
    drag = motor.friction + motor.windage * (speed / ws) ** 2 + 3 * motor.R_stray * rotor_squares / ws
    lines = (
        forward.current + backward.current,
        TURN**2 * forward.current + TURN * backward.current,
        TURN * forward.current + TURN**2 * backward.current,
    )
    _, bc, ca = line_phasors(voltages)
    power = 3 * (forward_voltage * forward.current.conjugate()).real
    power += 3 * (backward_voltage * backward.current.conjugate()).real
    return Operation(
        slip=slip,
        speed=speed,
        torque=(gap_forward - gap_backward) / ws - drag,
        line_currents=(abs(lines[0]), abs(lines[1]), abs(lines[2])),
        input_power=power,
        wattmeters=((-ca * lines[0].conjugate()).real, (bc * lines[1].conjugate()).real),
        stator_loss=3 * motor.R1 * (abs(forward.current) ** 2 + abs(backward.current) ** 2),
        rotor_loss=3 * motor.R2 * rotor_squares,
        core_loss=forward.core_loss + backward.core_loss,
        drag_loss=drag * speed,
        line_voltages=voltages,
    )


def at_torque(motor: ThreePhaseMotor, voltages: tuple[float, float, float], torque: float) -> Operation:
    """Steady state on the running branch at a shaft torque [N*m]; ValueError where it would stall."""

    def missing(slip: float) -> float:
        return at_slip(motor, voltages, slip).torque - torque

    pull_out = largest_within(missing, 1e-6, 1.0)
    if missing(pull_out) < 0:
        raise ValueError(f"{torque:.3f} N*m is more than the motor pulls")
    return at_slip(motor, voltages, root_between(missing, 1e-7, pull_out))
