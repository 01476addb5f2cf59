"""What every simulated motor offers: its state at a load, found on its own stable branch. Everything in SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

RPM = np.pi / 30.0
#: Temperature of copper and of cast aluminium at which their resistance would be zero, sign turned [degC]. From memory.
COPPER, ALUMINIUM = 235.0, 225.0


@dataclass(frozen=True)
class Running:
    """A motor running steadily, one value a load point.

    Parameters
    ----------
    speed, torque : array
        Of the shaft [rad/s], [N*m].
    current, voltage, input_power : array
        Line current [A], line voltage [V] and the power taken in [W].
    losses : mapping of arrays
        Where that power goes besides the shaft [W].
    phases : int
        3, or 1 for single-phase and direct current.
    """

    speed: Array
    torque: Array
    current: Array
    voltage: Array
    input_power: Array
    losses: Mapping[str, Array] = field(default_factory=dict)
    phases: int = 1

    @property
    def shaft_power(self) -> Array:
        return self.speed * self.torque

    @property
    def efficiency(self) -> Array:
        return self.shaft_power / self.input_power

    @property
    def power_factor(self) -> Array:
        return self.input_power / (np.sqrt(self.phases) * self.voltage * self.current)

    @property
    def total_losses(self) -> Array:
        return sum(self.losses.values(), np.zeros_like(self.torque))


class Motor(Protocol):
    """A motor of known physics. Its state follows from one number, slip or armature current."""

    kind: str  # as a job names it
    name: str  # what it is, more closely
    phases: int
    power: float  # it was designed for [W]
    voltage: float  # [V]
    frequency: float  # [Hz]; 0 for direct current
    poles: int
    hot: float  # temperature of its winding at its rating, in air of 25 degC [degC]

    def at(self, state: Array, voltage: Array, frequency: Array, temperature: Array) -> Running:
        """Its running at each state."""
        ...

    def states(self) -> Array:
        """States from light running to beyond its greatest torque, in their order."""
        ...


def held(motor: Motor, quantity: str, wanted: Array, voltage: Array, frequency: Array, temperature: Array) -> Running:
    """The motor where a quantity that grows with load has the values wanted; NaN where it never has them.

    Parameters
    ----------
    quantity : str
        'torque', 'shaft_power' or 'current'.
    wanted, voltage, frequency, temperature : array
        One value a load point [SI, temperature in degC].
    """
    states = motor.states()
    column = [one[:, None] for one in (voltage, frequency, temperature)]
    shown = getattr(motor.at(states[None, :], *column), quantity)
    shown = np.where(np.isfinite(shown), shown, -np.inf)
    index = np.arange(states.size)
    top = shown.argmax(axis=1)
    start = np.where(quantity == "current", np.where(np.isneginf(shown), np.inf, shown).argmin(axis=1), 0)
    rising = (index >= start[:, None]) & (index <= top[:, None])
    above = rising & (shown >= wanted[:, None])
    found = above.any(axis=1) & (above.argmax(axis=1) > start)
    upper = np.maximum(above.argmax(axis=1), 1)
    place = np.arange(wanted.size)
    low, high = states[upper - 1], states[upper]
    under, over = shown[place, upper - 1] - wanted, shown[place, upper] - wanted
    with np.errstate(invalid="ignore", divide="ignore"):  # NaN stays NaN
        state = np.where(found, high, np.nan)
        for _ in range(11):  # false position, the end that stays counted half (Illinois)
            state = np.where(found, high - over * (high - low) / (over - under), np.nan)
            off = getattr(motor.at(state, voltage, frequency, temperature), quantity) - wanted
            below = off < 0.0
            under, over = np.where(below, off, 0.5 * under), np.where(below, 0.5 * over, off)
            low, high = np.where(below, state, low), np.where(below, high, state)
        return motor.at(state, voltage, frequency, temperature)


def greatest(motor: Motor, quantity: str, voltage: float, frequency: float, temperature: float) -> float:
    """Greatest torque or shaft power the motor has at a supply [SI, temperature in degC]."""
    shown = motor.at(motor.states(), np.array(voltage), np.array(frequency), np.array(temperature))
    return float(np.nanmax(getattr(shown, quantity)))


def warmer(resistance: float, temperature: Array, hot: float, metal: float = COPPER) -> Array:
    """A resistance known hot, at other temperatures [degC] (IEC 60034-1, 8.6.2, from memory)."""
    return resistance * (metal + temperature) / (metal + hot)
