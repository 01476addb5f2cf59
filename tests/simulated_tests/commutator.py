"""Motors with a commutator: permanent magnets, shunt and series fields on direct current, series ones on alternating.

Sources: A. E. Fitzgerald, C. Kingsley Jr., S. D. Umans, Electric Machinery, chapter 7; S. J. Chapman, Electric Machinery
Fundamentals, chapter 9 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulated_tests.motor import Array, Running, warmer

PERMANENT_MAGNET, SHUNT, SERIES, UNIVERSAL = "permanent magnet", "shunt", "series", "universal"

#: Both brushes together [V]; ferrite loses a thousandth of its flux for a kelvin of the winding. Common practice, no source.
BRUSHES, FERRITE = 2.0, 0.001
#: How flux of a shunt field rises with voltage: v (1 + a) / (1 + a v). Common practice, no source.
FIELD = 1.0


@dataclass(frozen=True)
class CommutatorMotor:
    """Armature current tells its state; the flux follows from magnets, from voltage, or from that current."""

    name: str  # one of the four
    kind: str
    power: float
    voltage: float
    frequency: float
    hot: float
    rated: float  # armature current at the rating [A]
    resistance: float  # of armature, and of a series field with it, hot [ohm]
    reactance: float  # at rated frequency [ohm]; 0 on direct current
    shunt: float  # resistance of a shunt field, hot [ohm]; 0 for none
    flux: float  # torque over current at the rating [N*m/A]
    bend: float  # armature reaction at the rating as a part of flux; of series fields how far they saturate
    drag: float  # torque of friction, fan and core loss at rated speed [N*m]
    speed: float  # at the rating [rad/s]
    poles: int = 2
    phases: int = 1

    def states(self) -> Array:
        return self.rated * np.concatenate([np.linspace(0.01, 1.9, 70), np.geomspace(1.95, 5.0, 25)])

    def _flux(self, current: Array, voltage: Array, temperature: Array) -> Array:
        part = current / self.rated
        if self.name in (SERIES, UNIVERSAL):
            return self.flux * part * (1.0 + self.bend) / (1.0 + self.bend * part)
        reaction = (1.0 - self.bend * part) / (1.0 - self.bend)
        if self.name == PERMANENT_MAGNET:
            return self.flux * reaction * (1.0 - FERRITE * (temperature - self.hot))
        field = voltage / self.voltage * (self.hot + 235.0) / (temperature + 235.0)
        return self.flux * reaction * field * (1.0 + FIELD) / (1.0 + FIELD * field)

    def at(self, state: Array, voltage: Array, frequency: Array, temperature: Array) -> Running:
        current = np.asarray(state)
        R = warmer(self.resistance, temperature, self.hot)
        across = current * self.reactance * (frequency / self.frequency if self.frequency else 1.0)
        active = np.sqrt(np.maximum(voltage**2 - across**2, 0.0))
        induced = np.maximum(active - current * R - BRUSHES, 0.0)
        flux = self._flux(current, voltage, temperature)
        speed = induced / flux
        part = speed / self.speed
        drag = self.drag * (0.45 + 0.25 * part + 0.3 * part**2)
        field = voltage / warmer(self.shunt, temperature, self.hot) if self.shunt else 0.0 * current
        return Running(
            speed=speed,
            torque=flux * current - drag,
            current=current + field,
            voltage=voltage + 0.0 * current,
            input_power=active * current + voltage * field,
            losses={
                "winding": current**2 * R,
                "brushes": BRUSHES * current,
                "field": voltage * field,
                "drag": drag * speed,
            },
        )


@dataclass(frozen=True)
class WantedCommutator:
    """What a motor with a commutator shall do at its rating."""

    name: str
    power: float  # [W]
    voltage: float  # [V]
    frequency: float  # [Hz]; 0 for direct current
    speed: float  # [rad/s]
    efficiency: float
    power_factor: float
    hot: float  # [degC]
    bend: float


def commutator_of(wanted: WantedCommutator, drag: float, field: float) -> CommutatorMotor | None:
    """The motor whose rating is exactly the wanted one, or ``None`` where there is none.

    Parameters
    ----------
    drag : float
        Friction, fan and core loss as a part of all losses.
    field : float
        Loss of a shunt field as a part of all losses; 0 for none.
    """
    taken = wanted.power / wanted.efficiency
    lost = taken - wanted.power
    current = (taken - field * lost) / (wanted.voltage * wanted.power_factor)
    inner = wanted.power + drag * lost
    resistance = (taken - field * lost - BRUSHES * current - inner) / current**2
    if resistance * current < 0.015 * wanted.voltage:
        return None
    return CommutatorMotor(
        wanted.name, "universal" if wanted.name == UNIVERSAL else "dc", wanted.power, wanted.voltage, wanted.frequency,
        wanted.hot, rated=current, resistance=resistance,
        reactance=wanted.voltage * np.sqrt(1.0 - wanted.power_factor**2) / current,
        shunt=wanted.voltage**2 / (field * lost) if field else 0.0,
        flux=inner / current / wanted.speed, bend=wanted.bend, drag=drag * lost / wanted.speed, speed=wanted.speed,
    )  # fmt: skip
