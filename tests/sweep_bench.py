"""An induction motor swept through its torque-speed curve by a brake, simulated by a general-purpose solver.

Kloss's curve drives the masses; the brake's torque is ramped so that the speed falls to near standstill and rises again.
The absorber's torque is what the brake takes; the shaft torque at steady speed is Kloss's curve less friction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

Array = NDArray[np.float64]

SYNCHRONOUS = 2.0 * np.pi * 25.0  # four poles, 50 Hz
BREAKDOWN_SLIP = 0.25


@dataclass(frozen=True)
class Swept:
    """A simulated motor and brake. [SI]"""

    breakdown: float = 30.0
    rig_inertia: float = 0.02
    rotor_inertia: float = 0.005
    there: float = 8.0  # seconds down, and the same up again
    rate: float = 200.0  # samples a second
    speed_noise: float = 0.15
    torque_noise: float = 0.3

    def shaft_torque(self, speed: Array | float) -> Array:
        """Torque of the motor at steady speed, by Kloss's formula (its friction is part of the rotor)."""
        slip = np.maximum(1.0 - np.asarray(speed) / SYNCHRONOUS, 1e-9)
        return np.asarray(2.0 * self.breakdown / (slip / BREAKDOWN_SLIP + BREAKDOWN_SLIP / slip))

    def log(self, seed: int = 0, both: bool = True) -> tuple[Array, Array, Array]:
        """Time [s], speed [rad/s] and torque at the absorber [N*m] as a logger shows them."""
        top, bottom, rest = 0.999 * SYNCHRONOUS, 0.15 * SYNCHRONOUS, 1.0
        length = rest + self.there * (2.0 if both else 1.0) + rest
        inertia = self.rig_inertia + self.rotor_inertia

        def wanted(time: float) -> float:
            share = np.interp(time, [rest, rest + self.there, rest + 2 * self.there], [0.0, 1.0, 0.0 if both else 1.0])
            return float(top - (top - bottom) * share)

        def brake(time: float, speed: float) -> float:
            """A stiff speed-holding brake: its torque grows with the speed above the one wanted."""
            return 5.0 * (speed - wanted(time)) + float(self.shaft_torque(wanted(time)))

        def rate(time: float, state: Array) -> list[float]:
            return [(float(self.shaft_torque(state[0])) - brake(time, float(state[0]))) / inertia]

        time = np.arange(0.0, length, 1.0 / self.rate)
        solved = solve_ivp(rate, (0.0, length), [top], t_eval=time, rtol=1e-8, atol=1e-8, max_step=0.02)
        speed = solved.y[0]
        torque = np.array([brake(*pair) for pair in zip(time, speed, strict=True)])
        random = np.random.default_rng(seed)
        noisy = speed + random.normal(0.0, self.speed_noise, speed.size)
        return time, noisy, torque + random.normal(0.0, self.torque_noise, speed.size)
