"""Speed falling by friction alone, or by friction and a known load: the retardation test."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from certgen.physics.curves import ShapePreserving
from certgen.physics.domain import Array, Index
from certgen.physics.samples import CONSISTENT, THRESHOLD
from certgen.physics.uncertainty import coverage_factor

#: Powers of speed that friction may follow: dry friction, viscous friction of bearings, windage of a fan.
CHOICES = ((0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2))
#: Abscissae and weights of Gauss's three-point rule from 0 to 1.
_NODES = (0.5 - math.sqrt(0.15), 0.5, 0.5 + math.sqrt(0.15))
_SHARES = (5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0)
#: Rows from which on single ones may be outliers, neighbours on either side that tell, the part of the highest speed that
#: an outlier is off by at least, and how often the rest is looked over. Common practice, no source.
_FEWEST_ROWS, _BESIDE, _CLEARLY_OFF, _PASSES = 12, 3, 0.02, 3
#: Usual times from row to row that make a gap, and rows of a part between gaps at least. Common practice, no source.
_GAP, _FEWEST_IN_PART = 3.5, 5
#: Part of the highest speed that scatter is never taken to be below: the curve between rows is no more exact, and no
#: tachometer reads better.
_ARITHMETIC = 1e-6


@dataclass(frozen=True, eq=False)
class CoastingRun:
    """Speeds [rad/s] > 0 at rising times [s], each shape (n,), n >= 2, and what was added to the friction.

    ``added_torque`` [N*m] holds at all speeds, ``added_power`` [W] likewise; 0 where nothing was added.
    """

    time: Array
    speed: Array
    added_torque: float = 0.0
    added_power: float = 0.0

    @property
    def braked(self) -> bool:
        """Whether a known load was added."""
        return self.added_torque > 0.0 or self.added_power > 0.0


@dataclass(frozen=True, eq=False)
class RunDownFit:
    """Deceleration -dw/dt = a + b w + c w^2 (+ k (T + P / w) in a run with a known load), by least squares.

    ``coefficients`` are a [rad/s^2], b [1/s], c [1/rad], 0 for a term left out; ``per_inertia`` is k = 1/J
    [1/(kg*m^2)], ``nan`` without a braked run. ``covariance`` is that of (a, b, c, k), shape (4, 4), ``nan`` without
    degrees of freedom. ``residual`` is the standard deviation of the speeds about the fit [rad/s].
    """

    coefficients: Array
    per_inertia: float
    covariance: Array
    residual: float
    degrees_of_freedom: int

    def deceleration(self, speed: float) -> float:
        """Deceleration by friction at a speed [rad/s]. [rad/s^2]"""
        return float(self.coefficients @ self.gradient(speed)[:3])

    def gradient(self, speed: float) -> Array:
        """Derivative of that deceleration by (a, b, c, k), shape (4,)."""
        return np.array([1.0, speed, speed**2, 0.0])

    def slope(self, speed: float) -> float:
        """How that deceleration grows with speed [1/s]."""
        return float(self.coefficients[1] + 2.0 * self.coefficients[2] * speed)


def fit_run_down(runs: Sequence[CoastingRun]) -> RunDownFit | None:
    """Friction over inertia from run-downs, with the inertia where one of them was braked by a known load.

    Parameters
    ----------
    runs : sequence of CoastingRun
        One run, or one without and one with a known load.

    Returns
    -------
    RunDownFit or None
        With the terms of friction that the speeds carry; ``None`` where the speed did not fall.

    Notes
    -----
    J dw/dt = -T_f(w) - T_added, integrated over time from the beginning of a run: the speed is linear in the
    integrals of 1, w and w^2, and its scatter is not differentiated. Of the terms those are kept with which the speeds
    scatter least about the fit (for its degrees of freedom), while every coefficient is positive and, where there is
    more than one, larger than its expanded uncertainty. Scatter of the speeds is taken as independent from row to row.
    Speeds far from the line through their neighbours (six standard deviations and 2 %: a pulse missed or counted twice)
    are left out first. Where many rows in a row are missing the speed between is not known from single ones beside the
    gap: what lies behind it is a run of its own.

    References
    ----------
    IEC 60034-2-2:2024, retardation method (its scope names it; clauses not seen); B. L. Theraja and A. K. Theraja, A
    Textbook of Electrical Technology, vol. II, chapter 31, and U. A. Bakshi and M. V. Bakshi, DC Machines and
    Synchronous Machines, chapter 3 (one run with and one without a known load). Least squares: JCGM 100:2008 (GUM),
    H.3.
    """
    used = [speeds_to_use(run.time, run.speed) for run in runs]
    runs = [replace(run, time=run.time[rows], speed=run.speed[rows]) for run, rows in zip(runs, used, strict=True)]
    runs = [part for run in runs for part in _parts(run)]
    integrals = [_integrals(run) for run in runs]
    braked = any(run.braked for run in runs)
    fits = [_fit(runs, integrals, terms, braked) for terms in CHOICES]
    usable = [fit for fit in fits if fit is not None]
    return min(usable, key=lambda fit: (fit.residual, np.count_nonzero(fit.coefficients)), default=None)


def speeds_to_use(time: Array, speed: Array) -> Index:
    """Rows without the speeds that lie far from the lines through their neighbours.

    Parameters
    ----------
    time : array, shape (n,)
        Rising. [s]
    speed : array, shape (n,)
        Finite. [rad/s]

    Returns
    -------
    array of int, shape (m,)
        All of fewer than a dozen rows; never less than half of them.

    References
    ----------
    L. Davies and U. Gather, J. Amer. Statist. Assoc. 88 (1993) 782 (Hampel identifier), about a line in place of a
    level.
    """
    kept = np.arange(speed.size)
    if speed.size < _FEWEST_ROWS:
        return kept
    for _ in range(_PASSES):
        off = speed[kept] - _local_line(time[kept], speed[kept])
        scatter = CONSISTENT * float(np.median(np.abs(off - np.median(off))))
        good = np.abs(off) <= max(THRESHOLD * scatter, _CLEARLY_OFF * float(np.median(speed)))
        if good.all() or 2 * np.count_nonzero(good) < speed.size:
            break
        kept = kept[good]
    return kept


def _parts(run: CoastingRun) -> list[CoastingRun]:
    """A run cut at its gaps, without parts of few rows; whole where it has few itself."""
    if run.time.size < _FEWEST_ROWS:
        return [run]
    steps = np.diff(run.time)
    cuts = np.flatnonzero(steps > _GAP * float(np.median(steps))) + 1
    parts = [rows for rows in np.split(np.arange(run.time.size), cuts) if rows.size >= _FEWEST_IN_PART]
    if len(parts) < 2:
        return [run]
    return [replace(run, time=run.time[rows], speed=run.speed[rows]) for rows in parts]


def _local_line(time: Array, speed: Array) -> Array:
    """Speed at each row by the median of lines from a row before to one as many rows behind it; shape (n,)."""
    count, reach = speed.size, min(_BESIDE, (speed.size - 1) // 2)
    rows = np.arange(count)
    lines = []
    for before in range(1, reach + 1):
        for after in range(1, reach + 1):
            one, two = np.clip(rows - before, 0, count - 1), np.clip(rows + after, 0, count - 1)
            one, two = np.where(one == rows, rows + after + 1, one), np.where(two == rows, rows - before - 1, two)
            one, two = np.clip(one, 0, count - 1), np.clip(two, 0, count - 1)
            apart = np.where(two == one, 1.0, time[two] - time[one])
            lines.append(speed[one] + (speed[two] - speed[one]) * (time - time[one]) / apart)
    return np.asarray(np.median(np.array(lines), axis=0))


def _integrals(run: CoastingRun) -> Array:
    """Integrals over time of 1, w, w^2 and of the added load up to each row, shape (n, 4)."""
    line = ShapePreserving(run.time, run.speed)
    steps = np.diff(run.time)
    sums = np.zeros((4, steps.size))
    for node, share in zip(_NODES, _SHARES, strict=True):
        speed = np.asarray(line(run.time[:-1] + node * steps))
        load = run.added_torque + run.added_power / speed
        sums += share * steps * np.array([np.ones_like(speed), speed, speed**2, load])
    return np.concatenate([np.zeros((1, 4)), np.cumsum(sums, axis=1).T])


def _fit(
    runs: Sequence[CoastingRun], integrals: Sequence[Array], terms: tuple[int, ...], braked: bool
) -> RunDownFit | None:
    kept = [*terms, 3] if braked else list(terms)
    starts = [np.repeat(np.eye(len(runs))[index : index + 1], run.time.size, axis=0) for index, run in enumerate(runs)]
    design = np.hstack([np.vstack(starts), -np.vstack(integrals)[:, kept]])
    speeds = np.concatenate([run.speed for run in runs])
    freedom = design.shape[0] - design.shape[1]
    if freedom < 0 or (freedom == 0 and terms != (0,)):
        return None
    sizes = np.linalg.norm(design, axis=0)
    if not (sizes > 0.0).all() or np.linalg.matrix_rank(design / sizes) < design.shape[1]:
        return None
    inverse = np.linalg.pinv(design / sizes)
    found = inverse @ speeds / sizes
    residuals = speeds - design @ found
    least = _ARITHMETIC * float(speeds.max())
    residual = max(math.sqrt(float(residuals @ residuals) / freedom), least) if freedom else math.nan
    spread = inverse / sizes[:, None]
    covariance = residual**2 * (spread @ spread.T)
    return _judged(found[len(runs) :], covariance[len(runs) :, len(runs) :], kept, residual, freedom)


def _judged(found: Array, covariance: Array, kept: list[int], residual: float, freedom: int) -> RunDownFit | None:
    """The fit, unless a coefficient is negative or drowns in its uncertainty."""
    if not (found > 0.0).all():
        return None
    terms = sum(1 for one in kept if one != 3)
    if terms > 1 and (found <= coverage_factor(freedom) * np.sqrt(np.diag(covariance))).any():
        return None
    whole, wide = np.zeros(4), np.zeros((4, 4))
    whole[kept] = found
    wide[np.ix_(kept, kept)] = covariance
    per_inertia = float(whole[3]) if 3 in kept else math.nan
    return RunDownFit(whole[:3], per_inertia, wide, residual, freedom)
