"""A run at one load: how warm the motor became over time, and the exponential through it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.thermal import LEAST_READINGS, Exponential, fit_exponential

WINDING, FRAME = "winding", "frame"

#: A final rise less certain than this (standard uncertainty over the whole rise) is not stated. Common practice,
#: no source.
_LARGEST_UNCERTAINTY = 0.05


@dataclass(frozen=True, eq=False)
class HeldRun:
    """Temperatures of one part of the motor while its load was held.

    ``time`` [s] and ``rise`` [K] have shape (n,); the rise is above the cooling air, or above the first reading
    where the air's temperature was not recorded (``ambient_known`` is then false).
    """

    where: Message | None  # the heat run, or which rows of the load test; None where only its rises are wanted
    part: str  # WINDING or FRAME
    time: Array
    rise: Array
    ambient_known: bool
    ends_the_test: bool  # whether the motor was switched off after it
    load: float | None  # shaft power held [W]
    load_missing: Message | None  # why there is none; None where there is one
    table: str = "load_test"  # the table it is of

    @property
    def length(self) -> float:
        """From the first to the last reading [s]."""
        return float(np.ptp(self.time))

    def change_within(self, seconds: float) -> float | None:
        """How much the rise changed in the last so many seconds [K]; ``None`` where the run is shorter."""
        if self.length < seconds - 1e-6:
            return None
        return float(self.rise[-1] - np.interp(self.time[-1] - seconds, self.time, self.rise))

    def steady_by(self, change: float, within: float) -> float | None:
        """Time from which no reading differed by more than ``change`` [K] from ``within`` [s] before; else ``None``."""
        since = self.time - self.time[0]
        judged = since >= within - 1e-6
        before = np.interp(self.time - within, self.time, self.rise)
        calm = np.abs(self.rise - before) <= change
        if not judged.any() or not calm[-1]:
            return None
        restless = np.flatnonzero(judged & ~calm)
        first = np.flatnonzero(judged)[0] if not restless.size else restless[-1] + 1
        return float(since[first])

    def exponential(self) -> Exponential | Message:
        """The exponential through the run; or why it does not determine one, as the end of a sentence."""
        if self.time.size < LEAST_READINGS:
            return Message("held_run.few_readings", count=self.time.size, least=LEAST_READINGS)
        fit = fit_exponential(self.time, self.rise)
        if not math.isfinite(fit.time_constant):
            return Message("held_run.no_bend")
        if self.length < fit.time_constant:
            return Message("held_run.short", length=self.length, time_constant=fit.time_constant)
        if fit.u_final > _LARGEST_UNCERTAINTY * abs(fit.final - fit.start):
            return Message("held_run.scattered")
        return fit


def held_run(
    time: Array,
    temperature: Array,
    ambient: Array,
    *,
    where: Message | None,
    part: str,
    ends_the_test: bool,
    load: float | None,
    load_missing: Message | None = None,
    table: str = "load_test",
) -> HeldRun | None:
    """A run from its columns, rows without time or temperature left out; ``None`` where fewer than two remain.

    Parameters
    ----------
    time, temperature : array, shape (n,)
        When, and how warm. [s], [K]
    ambient : array, shape (n,)
        Temperature of the cooling air, ``nan`` where not known. [K]
    where, part, ends_the_test, load, load_missing, table
        The fields of :class:`HeldRun`.
    """
    usable = np.isfinite(time) & np.isfinite(temperature)
    times, rows = np.unique(time[usable], return_index=True)
    if times.size < 2:
        return None
    warm, air = temperature[usable][rows], ambient[usable][rows]
    known = np.isfinite(air)
    base = np.interp(times, times[known], air[known]) if known.any() else np.full(times.shape, warm[0])
    return HeldRun(where, part, times, warm - base, bool(known.any()), ends_the_test, load, load_missing, table)
