"""Motors with a commutator: the series motor on alternating current, magnet and shunt motors on direct.

Series motor (B. S. Guru, H. R. Hiziroglu, Electric Machinery and Transformers, chapter 10, example 10.5): the
voltage of rotation M(I) w I is in phase with the current, the reactance voltage at right angles to it, so

    V^2 = (I R + Vb + M w I)^2 + (I X)^2        T = M I^2        M = M0 / (1 + (I / Is)^2)

M falls as the iron saturates. Permanent-magnet motor (A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans,
Electric Machinery, chapter 7, from memory): V = I R + Vb + k w, T = k I.
Shunt motor (the same chapter): the field hangs across the supply and takes a current of its own; k follows the field
current as the iron allows, and the armature current weakens it a little (armature reaction).
The rotor's own drag (friction, windage, iron) is taken off the torque of either.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simulated_bench.solving import root_between
from simulated_bench.three_phase import COPPER, REFERENCE_TEMPERATURE


@dataclass(frozen=True)
class CommutatorOperation:
    """One steady state: A, V, W, N*m, rad/s."""

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


@dataclass(frozen=True)
class UniversalMotor:
    """Field and armature in series: ohm at 20 degC, H, A, V, N*m."""

    R: float
    X: float  # at supply frequency
    mutual: float  # M0, voltage of rotation per ampere and rad/s
    saturation_current: float
    brush_drop: float
    friction: float  # N*m
    windage: float  # N*m s^2/rad^2
    iron: float  # N*m per A^2, drag of the iron in an alternating field

    def at_temperature(self, winding: float) -> UniversalMotor:
        """The same motor with its windings at a temperature [degC]."""
        return replace(self, R=self.R * (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE))

    def at_current(self, voltage: float, current: float) -> CommutatorOperation:
        """Steady state at a current [A, rms]; ValueError where the voltage does not drive it."""
        in_phase = math.sqrt(voltage**2 - (current * self.X) ** 2)
        rotation = in_phase - current * self.R - self.brush_drop
        if rotation < 0:
            raise ValueError(f"{current:.2f} A is more than the motor takes at standstill")
        flux = self.mutual / (1 + (current / self.saturation_current) ** 2) * current
        speed = rotation / flux
        drag = self.friction + self.windage * speed**2 + self.iron * current**2
        return CommutatorOperation(
            speed=speed,
            torque=flux * current - drag,
            current=current,
            voltage=voltage,
            input_power=in_phase * current,
            losses=current**2 * self.R + self.brush_drop * current + drag * speed,
        )

    def at_torque(self, voltage: float, torque: float) -> CommutatorOperation:
        """Steady state at a shaft torque [N*m]."""
        standstill = root_between(
            lambda trial: math.sqrt(voltage**2 - (trial * self.X) ** 2) - trial * self.R - self.brush_drop,
            0.0,
            voltage / self.X,
        )
        wanted = root_between(
            lambda trial: self.at_current(voltage, trial).torque - torque,
            0.05 * standstill,
            0.999 * standstill,
        )
        return self.at_current(voltage, wanted)


@dataclass(frozen=True)
class PermanentMagnetMotor:
    """Direct-current motor with ferrite magnets: ohm and V s/rad at 20 degC, V, N*m."""

    R: float
    k: float
    brush_drop: float
    friction: float  # N*m
    drag_slope: float  # N*m s/rad: eddy currents and windage

    def at_temperature(self, winding: float) -> PermanentMagnetMotor:
        """The same motor warm: ferrite loses 0.2 % of its field a kelvin (common practice, no source)."""
        rise = winding - REFERENCE_TEMPERATURE
        copper = (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE)
        return replace(self, R=self.R * copper, k=self.k * (1 - 0.002 * rise))

    def at_torque(self, voltage: float, torque: float) -> CommutatorOperation:
        """Steady state at a shaft torque [N*m]; current and speed from two linear equations."""
        # k I = torque + friction + slope w,  V - Vb = I R + k w
        source = voltage - self.brush_drop
        load = torque + self.friction
        speed = (source * self.k - load * self.R) / (self.k**2 + self.drag_slope * self.R)
        current = (source - self.k * speed) / self.R
        drag = self.friction + self.drag_slope * speed
        return CommutatorOperation(
            speed=speed,
            torque=self.k * current - drag,
            current=current,
            voltage=voltage,
            input_power=voltage * current,
            losses=current**2 * self.R + self.brush_drop * current + drag * speed,
        )


@dataclass(frozen=True)
class ShuntMotor:
    """Direct-current motor with its field across the supply: ohm at 20 degC, V s/rad, A, V, N*m."""

    R: float  # armature
    R_field: float
    k: float  # at the field current of ``voltage`` and a cold field
    voltage: float
    brush_drop: float
    reaction: float  # part of k lost an ampere of armature current
    friction: float  # N*m
    drag_slope: float  # N*m s/rad: iron and windage
    saturation: float = 0.5  # k goes with this power of the field current

    def at_temperature(self, winding: float) -> ShuntMotor:
        """The same motor with both windings at a temperature [degC]; a warm field makes less flux."""
        copper = (COPPER + winding) / (COPPER + REFERENCE_TEMPERATURE)
        return replace(self, R=self.R * copper, R_field=self.R_field * copper, k=self.k / copper**self.saturation)

    def at_armature_current(self, voltage: float, current: float) -> CommutatorOperation:
        """Steady state at an armature current [A]."""
        field_current = voltage / self.R_field
        k = self.k * (voltage / self.voltage) ** self.saturation * (1.0 - self.reaction * current)
        speed = (voltage - self.brush_drop - current * self.R) / k
        drag = self.friction + self.drag_slope * speed
        copper = current**2 * self.R + self.brush_drop * current + voltage * field_current
        return CommutatorOperation(
            speed=speed,
            torque=k * current - drag,
            current=current + field_current,
            voltage=voltage,
            input_power=voltage * (current + field_current),
            losses=copper + drag * speed,
        )

    def at_torque(self, voltage: float, torque: float) -> CommutatorOperation:
        """Steady state at a shaft torque [N*m], below half the current of standstill."""
        most = 0.5 * (voltage - self.brush_drop) / self.R
        wanted = root_between(lambda trial: self.at_armature_current(voltage, trial).torque - torque, 0.0, most)
        return self.at_armature_current(voltage, wanted)
