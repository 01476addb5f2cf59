"""How long the absorber bears a load, and the most torque the rig holds."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from certgen.job.model import DC, OTHER, UNIVERSAL, Job
from certgen.job.rig import AbsorberHeat, Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.thermal import time_constant_of_short_time, time_to_limit
from certgen.planning.plan import UNLIMITED
from certgen.planning.scale_reading import absorber_torque, scale_reading
from certgen.quantity import Quantity
from certgen.readings.model import Table
from certgen.reduction.rig_demand import AskedOf, asked_of, demand_at
from certgen.standards.criteria import DEFAULT, SERIES, CriteriaSet, shipped_criteria

#: The limits that tell how much torque a rig holds, by the keys the rig states them under.
OF_TORQUE = ("limits.torque", "brake_envelope", "limits.scale", "limits.coupling_torque")
#: The limits of what turns, whatever the torque.
OF_SPEED = (
    "limits.speed",
    "limits.bearing_speed",
    "limits.tachometer_speed",
    "limits.rim_speed",
    "tachometer.magnet.holding_force",
)
#: Beyond this no bench of the kind exists. [N*m], [rad/s]
_MOST = 1e6
#: Excitations whose field fades as the load is taken off; one that is not stated may be any of them. A cumulative
#: compound motor does not race, one connected the wrong way round may. Common practice, no source.
_FADING = (None, SERIES, "compound")


@dataclass(frozen=True)
class Bench:
    """A job on its rig, with the brake's envelope where the rig states one."""

    job: Job
    rig: Rig
    envelope: Table | None
    criteria: CriteriaSet = field(default_factory=lambda: shipped_criteria(DEFAULT))

    @property
    def may_race(self) -> bool:
        """Whether the motor may run away when its load is taken off under power: universal, series, or not known."""
        motor = self.job.motor
        return motor.type in (UNIVERSAL, OTHER) or (motor.type == DC and motor.excitation in _FADING)

    def asked(self, torque: Array, speed: Array) -> tuple[AskedOf, ...]:
        """Every limit of the rig against load points by torque [N*m] and speed [rad/s] of the tested shaft."""
        indication = np.array([scale_reading(self.job, self.rig, float(at_shaft)) for at_shaft in torque])
        at_absorber = np.array([absorber_torque(self.rig, float(at_shaft)) for at_shaft in torque])
        return asked_of(self.rig, self.envelope, demand_at(self.rig, torque, speed, at_absorber, indication))


def time_borne(rig: Rig, power: float | None) -> tuple[float | None, Message]:
    """How long the absorber may take a power, beginning cold.

    Parameters
    ----------
    rig : Rig
        Its ``absorber_heat``.
    power : float or None
        Power at the absorber. [W]

    Returns
    -------
    tuple of (float or None, Message)
        Time [s], ``None`` where it is not limited or not known, and which of them as a message.
    """
    heat = rig.absorber_heat
    if heat is None:
        return None, Message("plan.held.not_stated")
    if power is None:
        return None, Message("plan.held.not_known")
    if power <= heat.continuous:
        return None, UNLIMITED
    constant = _time_constant(heat)
    if constant is None:
        return None, Message("plan.held.not_stated_above", power=Quantity(heat.continuous, "W"))
    if heat.short_time is not None and power > heat.short_time.power:
        return None, Message("plan.held.not_stated_above", power=Quantity(heat.short_time.power, "W"))
    seconds = time_to_limit(power, heat.continuous, constant)
    return seconds, Message("plan.held.from_cold", time=duration(seconds))


def most_torque_held(bench: Bench, speed: float) -> float | None:
    """Most torque at the tested shaft [N*m] that no stated limit refuses at a speed [rad/s].

    ``None`` where no limit of torque is stated. At an unknown speed (``nan``) the limits that depend on it do not count.
    """
    least = bench.asked(np.array([0.0]), np.array([speed]))
    if not any(limit.key in OF_TORQUE and np.isfinite(limit.limit).any() for limit in least):
        return None
    return _greatest(lambda torque: _refused(bench, torque, speed))


def most_speed_held(bench: Bench) -> float | None:
    """Greatest speed of the tested shaft [rad/s] that no stated limit of what turns refuses; ``None`` where none is."""
    stated = [
        limit for limit in bench.asked(np.array([0.0]), np.array([1.0])) if limit.key in OF_SPEED and limit.stated
    ]
    return _greatest(lambda speed: _refused(bench, 0.0, speed)) if stated else None


def _greatest(refused: Callable[[float], bool]) -> float:
    """The greatest value that is not refused, found by halving."""
    low, high = 0.0, 1.0
    while high < _MOST and not refused(high):
        low, high = high, 2.0 * high
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if refused(middle) else (middle, high)
    return low


def _refused(bench: Bench, torque: float, speed: float) -> bool:
    return any(bool(limit.passed.any()) for limit in bench.asked(np.array([torque]), np.array([speed])))


def _time_constant(heat: AbsorberHeat) -> float | None:
    if heat.short_time is None:
        return heat.time_constant
    return time_constant_of_short_time(heat.short_time.power, heat.continuous, heat.short_time.time)


def duration(seconds: float) -> Message:
    """A time [s], from two minutes on in tenths of a minute; never longer than it is."""
    if seconds < 120.0:
        return Message("plan.time.seconds", time=seconds)
    return Message("plan.time.minutes", time=6.0 * math.floor(seconds / 6.0))
