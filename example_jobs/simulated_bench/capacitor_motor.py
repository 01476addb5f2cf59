"""Single-phase induction motor with a main and an auxiliary winding at right angles.

Two revolving fields in the air gap, seen from the main winding. With If = (Im - j a Ia)/2 and
Ib = (Im + j a Ia)/2, a the turns of the auxiliary over those of the main winding, and Zf, Zb the magnetizing
reactance in parallel with the rotor branch at slip s and 2 - s:

    Vm = Im (Rm + jXm1) + Zf If + Zb Ib
    Va = Ia (Ra + jXa + Zc) + j a (Zf If - Zb Ib)
    T  = 2 (|If|^2 Re Zf - |Ib|^2 Re Zb) / ws

The auxiliary winding and its capacitor are off once a capacitor-start motor runs. Source: A. E. Fitzgerald,
C. Kingsley Jr., S. D. Umans, Electric Machinery, chapter 9, from memory; the tests hold it against examples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simulated_bench.solving import largest_within, root_between
from simulated_bench.three_phase import ALUMINIUM, COPPER, REFERENCE_TEMPERATURE


@dataclass(frozen=True)
class CapacitorStartMotor:
    """Parameters seen from the main winding: ohm at 20 degC and rated frequency, W, Hz."""

    poles: int
    frequency: float
    R_main: float
    X_main: float
    R_rotor: float
    X_rotor: float
    X_magnetizing: float
    core_loss: float  # W at rated voltage
    rated_voltage: float
    friction_windage: float  # W at synchronous speed
    R_aux: float
    X_aux: float
    X_capacitor: float
    R_capacitor: float
    turns_ratio: float

    @property
    def synchronous_speed(self) -> float:
        """Speed of the field [rad/s]."""
        return 4 * math.pi * self.frequency / self.poles

    def at_temperature(self, winding: float) -> CapacitorStartMotor:
        """The same motor with copper windings and aluminium cage at a temperature [degC]."""
        copper = (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE)
        aluminium = (ALUMINIUM + winding) / (ALUMINIUM + REFERENCE_TEMPERATURE)
        return replace(self, R_main=self.R_main * copper, R_aux=self.R_aux * copper, R_rotor=self.R_rotor * aluminium)


@dataclass(frozen=True)
class SinglePhaseOperation:
    """One steady state on one line: A, V, W, N*m, rad/s."""

    slip: float
    speed: float
    torque: float  # at the shaft
    current: float
    voltage: float
    input_power: float
    losses: float

    @property
    def shaft_power(self) -> float:
        """Power at the shaft [W]."""
        return self.torque * self.speed

    @property
    def efficiency(self) -> float:
        """Shaft power over input power."""
        return self.shaft_power / self.input_power

    @property
    def power_factor(self) -> float:
        """Input power over apparent power."""
        return self.input_power / (self.voltage * self.current)


def _parallel(one: complex, other: complex) -> complex:
    return one * other / (one + other)


def _solve(motor: CapacitorStartMotor, voltage: float, slip: float, auxiliary: bool) -> SinglePhaseOperation:
    magnetizing = complex(0.0, motor.X_magnetizing)
    forward = _parallel(magnetizing, complex(motor.R_rotor / slip, motor.X_rotor))
    backward = _parallel(magnetizing, complex(motor.R_rotor / (2 - slip), motor.X_rotor))
    main_series = complex(motor.R_main, motor.X_main)
    aux_series = complex(motor.R_aux + motor.R_capacitor, motor.X_aux - motor.X_capacitor)
    a = motor.turns_ratio
    half_sum, half_difference = (forward + backward) / 2, (forward - backward) / 2
    self_main, self_aux = main_series + half_sum, aux_series + a**2 * half_sum
    mutual = -1j * a * half_difference  # from Ia into Vm; the way back has the other sign
    if auxiliary:
        determinant = self_main * self_aux + mutual**2
        main = voltage * (self_aux - mutual) / determinant
        aux = voltage * (self_main + mutual) / determinant
    else:
        main, aux = voltage / self_main, 0j
    with_field, against_field = (main - 1j * a * aux) / 2, (main + 1j * a * aux) / 2
    ws = motor.synchronous_speed
    gap_forward = 2 * abs(with_field) ** 2 * forward.real
    gap_backward = 2 * abs(against_field) ** 2 * backward.real
    speed = ws * (1 - slip)
    drag = motor.friction_windage / ws * (1 - slip)
    core = motor.core_loss * (voltage / motor.rated_voltage) ** 2
    line = main + aux + core / voltage
    winding = motor.R_main * abs(main) ** 2 + aux_series.real * abs(aux) ** 2
    rotor = slip * gap_forward + (2 - slip) * gap_backward
    return SinglePhaseOperation(
        slip=slip,
        speed=speed,
        torque=(gap_forward - gap_backward) / ws - drag,
        current=abs(line),
        voltage=voltage,
        input_power=voltage * line.real,
        losses=winding + rotor + core + drag * speed,
    )


def running(motor: CapacitorStartMotor, voltage: float, slip: float) -> SinglePhaseOperation:
    """Steady state on the main winding alone at a slip (not 0)."""
    return _solve(motor, voltage, slip, auxiliary=False)


def starting(motor: CapacitorStartMotor, voltage: float, slip: float = 1.0) -> SinglePhaseOperation:
    """Steady state with the auxiliary winding and its capacitor switched on."""
    return _solve(motor, voltage, slip, auxiliary=True)


def at_torque(motor: CapacitorStartMotor, voltage: float, torque: float) -> SinglePhaseOperation:
    """Steady state on the running branch at a shaft torque [N*m]; ValueError where it would stall."""

    def missing(slip: float) -> float:
        return running(motor, voltage, slip).torque - torque

    pull_out = largest_within(missing, 1e-4, 0.6)
    if missing(pull_out) < 0:
        raise ValueError(f"{torque:.3f} N*m is more than the motor pulls")
    return running(motor, voltage, root_between(missing, 1e-6, pull_out))
