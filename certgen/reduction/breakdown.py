"""Breakdown torque by a curve through the points about the greatest one, and how far the points leave it open."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from certgen.physics.breakdown import scatter_of_circuit, summit_by_circuit, summit_by_parabola
from certgen.physics.domain import Index
from certgen.reduction.model import BreakdownFit, LoadPoints

#: Points of at least this part of the greatest torque are fitted, and the next one on either side whatever it is. [1]
#: Common practice, no source.
ABOUT_SUMMIT = 0.9
#: The same of the parabola, which bends as the true curve does only near its summit. [1] Common practice, no source.
AT_SUMMIT = 0.95
#: A fitted torque more than this many times the greatest one tested is no summit between the points. [1] Common practice,
#: no source.
_FURTHEST = 1.3
#: A uniform distribution's half-width over its standard uncertainty. [1] JCGM 100:2008, 4.3.7.
_UNIFORM = math.sqrt(3.0)


@dataclass(frozen=True)
class _Summit:
    """Torque [N*m] and speed [rad/s] of one fitted curve, and the standard uncertainties of the scatter about it."""

    torque: float
    speed: float
    torque_scatter: float
    speed_scatter: float


def breakdown_fit(points: LoadPoints, speed: float, torque: float) -> BreakdownFit | None:
    """The summit of torque over speed about a tested point.

    Parameters
    ----------
    points : LoadPoints
        Tested points of an induction motor, in any order. [SI]
    speed, torque : float
        The greatest of them, with points on both sides. [rad/s], [N*m]

    Returns
    -------
    BreakdownFit or None
        By the equivalent circuit where slip is known and its curve fits, else by a parabola; ``None`` where neither has
        a summit between the points.

    References
    ----------
    JCGM 100:2008, 4.3.7: two curves that both fit bound where the summit lies, anywhere between alike.
    """
    rows = _about(points, speed, torque, ABOUT_SUMMIT)
    parabola, circuit = (
        _by_parabola(points, _about(points, speed, torque, AT_SUMMIT)),
        _by_circuit(points, rows, torque),
    )
    if circuit is not None:
        return _open(circuit, parabola, (torque, speed), rows, by_circuit=True)
    if parabola is not None and torque <= parabola.torque <= _FURTHEST * torque:
        return _open(parabola, None, (torque, speed), rows, by_circuit=False)
    return None


def _about(points: LoadPoints, speed: float, torque: float, part: float) -> Index:
    """Rows near the summit: those of at least a part of its torque [1], and one more on either side."""
    usable = np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible
    rows = np.flatnonzero(usable & (points.speed > 0.0) & (points.torque > 0.0))
    rows = rows[np.argsort(points.speed[rows], kind="stable")]
    weak = points.torque[rows] < part * torque
    below, above = points.speed[rows] < speed, points.speed[rows] > speed
    first = int(np.flatnonzero(weak & below)[-1]) if (weak & below).any() else 0
    last = int(np.flatnonzero(weak & above)[0]) if (weak & above).any() else rows.size - 1
    return rows[first : last + 1]


def _by_parabola(points: LoadPoints, rows: Index) -> _Summit | None:
    """By a parabola, where its summit lies between the points."""
    speeds = points.speed[rows]
    vertex = summit_by_parabola(speeds, points.torque[rows]) if np.unique(speeds).size >= 3 else None
    if vertex is None or not speeds.min() < vertex.speed < speeds.max():
        return None
    return _Summit(vertex.torque, vertex.speed, vertex.torque_scatter, vertex.speed_scatter)


def _by_circuit(points: LoadPoints, rows: Index, torque: float) -> _Summit | None:
    """By the equivalent circuit, where its curve has a summit between the points that can be."""
    slips = points.slip[rows]
    if not np.isfinite(slips).all() or not (slips > 0.0).all() or np.unique(slips).size < 3:
        return None
    found, slip = (float(of_fit) for of_fit in summit_by_circuit(slips, points.torque[rows]))
    if not (slips.min() < slip < slips.max() and 0.97 * torque <= found <= _FURTHEST * torque):
        return None
    synchronous = float(np.mean(points.speed[rows] / (1.0 - slips)))
    scatter = scatter_of_circuit(slips, points.torque[rows])
    return _Summit(found, (1.0 - slip) * synchronous, scatter[0], scatter[1] * synchronous)


def _open(
    fitted: _Summit, parabola: _Summit | None, read: tuple[float, float], rows: Index, *, by_circuit: bool
) -> BreakdownFit:
    """The fit with what the spacing of its points leaves open: another curve, the greatest torque read, or its speed."""
    other = read if parabola is None else (parabola.torque, parabola.speed)
    halves = [
        max(abs(fit - beside), abs(fit - greatest))
        for fit, beside, greatest in zip((fitted.torque, fitted.speed), other, read, strict=True)
    ]
    return BreakdownFit(
        torque=fitted.torque,
        speed=fitted.speed,
        rows=rows,
        by_circuit=by_circuit,
        torque_spread=math.hypot(halves[0] / _UNIFORM, fitted.torque_scatter),
        speed_spread=math.hypot(halves[1] / _UNIFORM, fitted.speed_scatter),
    )
