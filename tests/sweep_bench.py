"""An induction motor swept through its torque-speed curve by a brake, simulated by a general-purpose solver.

Kloss's formula gives the motor's torque at a speed. It drives all masses; a stiff brake holds the speed to a ramp down to
near standstill and up again. What the logger shows of the brake is its torque, not the motor's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from builders import make_job, make_readings
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from certgen.document.build import Toleranced
from certgen.job.model import Job
from certgen.job.table import Sweep, TableSource
from certgen.readings.model import Readings

Array = NDArray[np.float64]

SYNCHRONOUS = 2.0 * np.pi * 25.0  # four poles, 50 Hz
BREAKDOWN_SLIP = 0.25
TOP, BOTTOM, REST = 0.999 * SYNCHRONOUS, 0.1 * SYNCHRONOUS, 1.0
STIFFNESS = 5.0  # N*m*s


@dataclass(frozen=True)
class Swept:
    """A simulated motor and brake. [SI]"""

    breakdown: float = 30.0
    inertia: float = 0.025  # of rig and rotor
    there: float = 4.0  # seconds down, and the same up again
    both: bool = True
    rate: float = 200.0  # samples a second
    speed_noise: float = 0.15
    torque_noise: float = 0.3
    slips_at: float | None = None  # the coupling lets go [s], for so long; the motor's own part of the inertia is left
    slips_for: float = 0.6
    of_motor: float = 0.4

    def shaft_torque(self, speed: Any) -> Any:
        """Torque of the motor at a steady speed, by Kloss's formula."""
        slip = np.maximum(1.0 - np.asarray(speed) / SYNCHRONOUS, 1e-9)
        return 2.0 * self.breakdown / (slip / BREAKDOWN_SLIP + BREAKDOWN_SLIP / slip)

    def brake(self, time: Any, speed: Any) -> Any:
        """Torque of the brake."""
        turns = [REST, REST + self.there, REST + 2.0 * self.there]
        wanted = np.interp(time, turns, [TOP, BOTTOM, TOP if self.both else BOTTOM])
        torque = STIFFNESS * (speed - wanted) + self.shaft_torque(wanted)
        if self.slips_at is None:
            return torque
        # No brake holds much more than it was set to when it grips again.
        return np.where(self.slips(time), 0.0, np.clip(torque, 0.0, 1.4 * self.breakdown))

    def slips(self, time: Any) -> Any:
        """Whether the coupling has let go."""
        since = np.asarray(time) - (np.inf if self.slips_at is None else self.slips_at)
        return (since >= 0.0) & (since < self.slips_for)

    @lru_cache(maxsize=8)  # noqa: B019  # frozen, and few
    def run(self) -> tuple[Array, Array]:
        """Time [s] and speed [rad/s] without noise."""
        length = 2.0 * REST + self.there * (2.0 if self.both else 1.0)
        time = np.arange(0.0, length, 1.0 / self.rate)

        def rate(now: float, speed: Array) -> Array:
            inertia = self.inertia * (self.of_motor if self.slips(now) else 1.0)
            return np.asarray((self.shaft_torque(speed) - self.brake(now, speed)) / inertia)

        solved = solve_ivp(rate, (0.0, length), [TOP], t_eval=time, rtol=1e-6, atol=1e-6, max_step=0.05)
        return time, solved.y[0]

    def readings(self, seed: int = 0, **more: Any) -> Readings:
        """The log as a torque sensor and a tachometer give it, with noise."""
        time, speed = self.run()
        random = np.random.default_rng(seed)
        torque = self.brake(time, speed) + random.normal(0.0, self.torque_noise, speed.size)
        noisy = speed + random.normal(0.0, self.speed_noise, speed.size)
        columns = {"time": time, "speed": noisy, "torque": torque}
        return make_readings(**{**columns, **{name: make(speed, torque) for name, make in more.items()}})


def sweep_job(bandwidth: float = 2.0, rotor: Toleranced | None = None, points: int = 20, **plate: Any) -> Job:
    """A job whose load test is a sweep."""
    job = make_job(**{"power": 1500.0, "frequency": 50.0, "poles": 4, **plate})
    source = TableSource("readings.load_test", (1, 1), (), sweep=Sweep(bandwidth, points))
    return replace(job, readings=replace(job.readings, load_test=source), motor=replace(job.motor, rotor_inertia=rotor))
