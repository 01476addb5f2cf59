"""Numbers without a unit into quantities: counts of a converter by a calibration, pulses into speed."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from certgen.job.logger import TABLE, CountsCalibration
from certgen.physics.curves import straight_line

#: How far counts may lie outside those of the calibration, as a part of their span, before the row says so.
#: Common practice, no source: a zero drifts a little below the first point.
_MARGIN = 0.05


@dataclass(frozen=True)
class Calibrated:
    """Counts into a quantity."""

    value_at: Callable[[float], float]
    lowest: float
    highest: float

    def covers(self, count: float) -> bool:
        """Whether counts are, but for a small margin, among those calibrated."""
        margin = _MARGIN * (self.highest - self.lowest)
        return self.lowest - margin <= count <= self.highest + margin


def calibrated(calibration: CountsCalibration) -> Calibrated:
    """A calibration as a function of counts.

    Parameters
    ----------
    calibration : CountsCalibration
        Counts and applied values. [1], [SI]

    Returns
    -------
    Calibrated
        By the straight line through the points (least squares), or straight from each point to the next, the first
        and last stretch carried on. [SI]

    References
    ----------
    JCGM 100:2008 (GUM), annex H.3: calibration line by least squares.
    """
    points = sorted(zip(calibration.counts, (one.value for one in calibration.values), strict=True))
    counts, values = [count for count, _ in points], [value for _, value in points]
    if calibration.between == TABLE:
        value_at = _between(counts, values)
    else:
        line = straight_line(counts, values)
        slope, intercept = float(line.slope), float(line.intercept)

        def value_at(count: float) -> float:
            return intercept + slope * count

    return Calibrated(value_at, counts[0], counts[-1])


def _between(counts: list[float], values: list[float]) -> Callable[[float], float]:
    def value_at(count: float) -> float:
        left = min(max(bisect_right(counts, count) - 1, 0), len(counts) - 2)
        part = (count - counts[left]) / (counts[left + 1] - counts[left])
        return values[left] + part * (values[left + 1] - values[left])

    return value_at


@dataclass
class PulseCounter:
    """Pulses of a tachometer into speed.

    ``gate`` is the counting time where a line holds the pulses of one interval [s]; left out, the count runs on and
    the time between two lines is taken. ``bits`` is where a running count begins again at zero.
    """

    per_revolution: int
    gate: float | None = None
    bits: int | None = None
    _last: tuple[float, float] | None = None

    def restart(self) -> None:
        """Forget the count before, as after a gap."""
        self._last = None

    def speed(self, count: float, at: float) -> float | None:
        """Speed at a count read at a time [s]; ``None`` for the first of a running count. [rad/s]

        Notes
        -----
        omega = 2 pi N / (p t): N pulses in the time t, p pulses a revolution.
        """
        if self.gate is not None:
            return self._turning(count, self.gate)
        before, self._last = self._last, (count, at)
        if before is None or at <= before[1]:
            return None
        pulses = count - before[0]
        if pulses < 0.0 and self.bits is not None:
            pulses += 2.0**self.bits
            if pulses > 2.0 ** (self.bits - 1):  # the logger began anew
                return None
        return None if pulses < 0.0 else self._turning(pulses, at - before[1])

    def _turning(self, pulses: float, time: float) -> float:
        return 2.0 * math.pi * pulses / (self.per_revolution * time)
