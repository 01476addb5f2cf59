"""The load curve: a shape-preserving interpolation of the tested points over torque, and points read off it.

Speed, current, voltage, input power and the like are interpolated over torque between the lightest point and the
greatest torque tested; everything else is derived from them by the same formulas as for a tested point, so
a point read off the curve keeps energy and power factor consistent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.physics.curves import ShapePreserving, crossings, distinct
from certgen.physics.domain import Array, Index, Mask
from certgen.physics.mechanics import shaft_power
from certgen.reduction.breakdown import breakdown_fit
from certgen.reduction.model import LoadPoints, OperatingPoint, TorqueAtSpeed, TorqueSpeed

# Breakdown and pull-up torque of an induction motor, from its torque over its speed.


#: A point lies past a summit, and is not scatter or the same load on a warmer motor, once speed has fallen by this part
#: of the summit's. [1] Common practice, no source.
CLEAR_DROP = 0.05
#: A greater torque further down is another summit once torque has fallen there by this part of the greatest tested. [1]
#: Common practice, no source.
CLEAR_FALL = 0.05
#: A speed below this part of that of breakdown counts as standstill. [1] Common practice, no source.
NEAR_STANDSTILL = 0.1
#: Neighbouring speeds further apart than this part of the breakdown speed leave room for an unseen summit or dip. [1]
#: Common practice, no source.
WIDEST_GAP = 1.0 / 3.0


def summit_index(speed: Array, torque: Array) -> int:
    """Index of breakdown torque, coming down from no load: the first summit that torque clearly falls away from.

    Parameters
    ----------
    speed, torque : array, shape (n,), n >= 1
        Tested points in any order, finite. [rad/s], [N*m]

    Returns
    -------
    int
        Index of the summit; of the greatest torque where it never falls clearly below an earlier summit. A
        single-phase motor may have more torque at standstill, with its starting winding in, than at breakdown.

    References
    ----------
    NEMA MG 1, 1.50 (breakdown torque: the greatest without an abrupt drop in speed), from memory.
    """
    order = np.argsort(-speed, kind="stable")
    fall = CLEAR_FALL * float(np.max(torque))
    summit = order[0]
    for index in order[1:]:
        if torque[index] > torque[summit]:
            summit = index
        elif torque[index] < torque[summit] - fall and speed[index] < (1.0 - CLEAR_DROP) * speed[summit]:
            return int(summit)
    return int(summit)


def torque_speed_of(points: LoadPoints) -> TorqueSpeed | None:
    """Breakdown and pull-up torque with their speeds.

    Parameters
    ----------
    points : LoadPoints
        Tested points of an induction motor, in any order; impossible ones are left out. [SI]

    Returns
    -------
    TorqueSpeed or None
        ``None`` where no point has torque and speed with the shaft turning. Points of equal speed are averaged.

    Notes
    -----
    The shape-preserving curve over speed never passes the points it runs through, so its greatest and least torques
    are those of tested points.

    References
    ----------
    F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238; NEMA MG 1, 1.48 (pull-up torque: the least
    from rest to the speed of breakdown) and 1.50, from memory.
    """
    usable = np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible
    speed, torque = _by_speed(points.speed[usable], points.torque[usable])
    turning = np.flatnonzero(speed > 0.0)
    if not turning.size:
        return None
    greatest = turning[np.argmax(torque[turning])]
    summit = summit_index(speed, torque)
    inside = _has_both_sides(speed, torque, summit)
    below = speed[: summit + 1]
    gap = float(np.diff(below).max()) if inside else np.nan
    return TorqueSpeed(
        greatest=TorqueAtSpeed(float(torque[greatest]), float(speed[greatest])),
        breakdown=TorqueAtSpeed(float(torque[summit]), float(speed[summit])) if inside else None,
        pull_up=_pull_up(below, torque[: summit + 1], gap) if inside else None,
        slowest=float(speed[0]),
        points_below=summit if inside else 0,
        widest_gap=gap,
        summit=breakdown_fit(points, float(speed[summit]), float(torque[summit])) if inside else None,
    )


def _by_speed(speed: Array, torque: Array) -> tuple[Array, Array]:
    different, where = np.unique(speed, return_inverse=True)
    return different, np.bincount(where, weights=torque) / np.bincount(where)


def _has_both_sides(speed: Array, torque: Array, summit: int) -> bool:
    """Whether points lie on both sides of the summit, with no room for a greater one on the slower side."""
    if not 0 < summit < speed.size - 1:
        return False
    near = speed[summit] - speed[summit - 1] <= WIDEST_GAP * speed[summit]
    past = (speed <= (1.0 - CLEAR_DROP) * speed[summit]) & (torque < torque[summit])
    return bool(near and past.any())


def _pull_up(speed: Array, torque: Array, gap: float) -> TorqueAtSpeed | None:
    """The least torque from standstill to breakdown, the last point, if the points tell it."""
    if speed[0] > NEAR_STANDSTILL * speed[-1] or gap > WIDEST_GAP * speed[-1]:
        return None
    least = int(np.argmin(torque))
    return TorqueAtSpeed(float(torque[least]), float(speed[least]))


# The load curve: a shape-preserving interpolation of the tested points over torque, and points read off it.
#
# Speed, current, voltage, input power and the like are interpolated over torque between the lightest point and the
# greatest torque tested; everything else is derived from them by the same formulas as for a tested point, so a point
# read off the curve keeps energy and power factor consistent.


#: Fewer points with different torques than this make no curve.
LEAST_POINTS = 3
#: How far beyond the tested range a value may be reported, with a flag: part of the last tested value.
REACH = 0.05
#: How far beyond the greatest torque the curve is followed in search of such a value.
_TORQUE_REACH = {"current": 2 * REACH, "shaft_power": 2 * REACH, "speed": REACH}
#: What defines each operating point, by its name in the results tree.
READ_OFF_BY = {
    "at_rated_current": "current",
    "at_rated_power": "shaft_power",
    "at_service_factor": "shaft_power",
    "at_rated_speed": "speed",
}
#: Quantities interpolated over torque; the rest follow from them.
PRIMARY = ("speed", "current", "voltage", "input_power", "power_factor", "temperature", "frequency")

Derive = Callable[[Array, Mapping[str, Array]], LoadPoints]


@dataclass(frozen=True, eq=False)
class Knot:
    """Rows of a load test that are readings of one load, shape (k,), and the weight of each [1], which add to one."""

    rows: Index
    weights: Array

    def mean(self, values: Array) -> float:
        """The weighted mean of a quantity over the rows that have it; NaN where none has. [as values]"""
        own = values[self.rows]
        known = np.isfinite(own)
        if not known.any():
            return math.nan
        return float(own[known] @ self.weights[known] / self.weights[known].sum())


#: Torques that differ by less than this many standard uncertainties of their difference are readings of one load. [1]
#: Common practice, no source: two readings one step of a display apart differ by sqrt(6) = 2.4 of them.
SAME_LOAD = 3.0


def same_load(first: float, second: float, scatter: float, other_scatter: float) -> bool:
    """Whether two torques [N*m] of given standard uncertainty between rows [N*m] are readings of one load."""
    return first == second or abs(first - second) <= SAME_LOAD * math.hypot(scatter, other_scatter)


def knots_of(torque: Array, scatter: Array, rows: Index) -> tuple[Knot, ...]:
    """Rows put together that are readings of one load.

    Parameters
    ----------
    torque : array, shape (n,)
        Of every row of the test. [N*m]
    scatter : array, shape (n,)
        Standard uncertainty of each row against the others: resolution and scatter, not what all rows share. [N*m]
    rows : array of int, shape (m,)
        Which rows are meant, of finite torque.

    Returns
    -------
    tuple of Knot
        By rising torque. The nearest neighbours come together first, and no further than to a mean that is the same
        load as both; a row counts the more, the less it scatters.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.2 (uncertainty of a difference); weights by the inverse of the variance.
    """
    order = rows[np.argsort(torque[rows], kind="stable")]
    groups = [[int(row)] for row in order]
    knots = [_knot(group, scatter) for group in groups]
    while len(knots) > 1:
        means = np.array([knot.mean(torque) for knot in knots])
        spreads = np.array([_of_mean(knot, scatter) for knot in knots])
        allowed = SAME_LOAD * np.hypot(spreads[1:], spreads[:-1])
        apart = np.diff(means)
        within = np.flatnonzero(apart <= allowed)
        if not within.size:
            break
        nearest = int(within[np.argmin(apart[within])])
        groups[nearest : nearest + 2] = [groups[nearest] + groups[nearest + 1]]
        knots[nearest : nearest + 2] = [_knot(groups[nearest], scatter)]
    return tuple(knots)


def _knot(group: list[int], scatter: Array) -> Knot:
    rows = np.array(sorted(group))
    own = scatter[rows]
    weights = 1.0 / own**2 if np.all(own > 0.0) else np.ones(rows.size)
    return Knot(rows, weights / weights.sum())


def _of_mean(knot: Knot, scatter: Array) -> float:
    return math.sqrt(float(knot.weights**2 @ scatter[knot.rows] ** 2))


@dataclass(frozen=True, eq=False)
class LoadCurve:
    """Interpolants over torque, of the points from the lightest to the greatest torque.

    ``derive`` makes full load points from torque [N*m] and primary quantities [SI]. ``open_ended`` says that the
    greatest torque is only where the test ended, not the machine's breakdown, so the curve may be followed on.
    ``knots`` are the rows behind each torque of the curve.
    """

    torque: Array
    primary: Mapping[str, ShapePreserving]
    derive: Derive
    open_ended: bool
    knots: tuple[Knot, ...]

    def at(self, torque: Array) -> LoadPoints:
        """Load points at torques of shape (m,) [N*m]."""
        values = {name: self._primary(name, torque) for name in PRIMARY}
        return self.derive(torque, values)

    def value(self, quantity: str, torque: Array) -> Array:
        """One quantity, an interpolated one or ``shaft_power``, at torques of shape (m,) [N*m]."""
        if quantity == "shaft_power":
            return np.asarray(shaft_power(torque, self._primary("speed", torque)))
        return self._primary(quantity, torque)

    def _primary(self, name: str, torque: Array) -> Array:
        interpolant = self.primary.get(name)
        if interpolant is None:
            return np.full(torque.shape, np.nan)
        values = np.asarray(interpolant(torque))
        # A quantity read in some rows only is known between those rows only.
        own_low, own_high = interpolant.x[0], interpolant.x[-1]
        if own_low == self.torque[0] and own_high == self.torque[-1]:
            return values
        outside = ((torque < own_low) & (own_low > self.torque[0])) | (
            (torque > own_high) & (own_high < self.torque[-1])
        )
        return np.where(outside, np.nan, values)


def fit_load_curve(
    points: LoadPoints, derive: Derive, *, rows: Index | None = None, scatter: Array | None = None
) -> LoadCurve | None:
    """The load curve of a test, or ``None`` where fewer than three different torques were tested.

    Parameters
    ----------
    points : LoadPoints
        Tested points, n rows in any order; physically impossible ones are left out here.
    derive : callable
        Torque [N*m] and primary quantities [SI], each shape (m,), to load points.
    rows : array of int or None
        The rows it is to rest on; all where left out.
    scatter : array, shape (n,), or None
        Standard uncertainty of each torque against those of other rows; rows that are readings of one load by it are
        one point of the curve. Left out, only equal torques are. [N*m]

    Returns
    -------
    LoadCurve or None
        Over the torques from the lightest point to breakdown, or to the greatest torque where none was tested.
        Slower points lie past breakdown and are not part of it.

    References
    ----------
    F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238.
    """
    scatter = np.zeros(points.count) if scatter is None else scatter
    usable = np.isfinite(points.torque) & np.isfinite(points.speed) & ~points.impossible
    chosen = np.flatnonzero(usable) if rows is None else rows[usable[rows]]
    if chosen.size == 0:
        return None
    past = _past_breakdown(points, chosen, scatter)
    knots = knots_of(points.torque, scatter, chosen[~past])
    if len(knots) < LEAST_POINTS:
        return None
    torque = np.array([knot.mean(points.torque) for knot in knots])
    primary = {}
    for name in PRIMARY:
        interpolant = _interpolant(torque, knots, getattr(points, name))
        if interpolant is not None:
            primary[name] = interpolant
    return LoadCurve(torque, primary, derive, open_ended=not bool(past.any()), knots=knots)


def _past_breakdown(points: LoadPoints, rows: Index, scatter: Array) -> Mask:
    """Which rows are slower than that of greatest torque, and no further readings of its load."""
    torque, speed, own = points.torque[rows], points.speed[rows], scatter[rows]
    summit = summit_index(speed, torque)
    near = np.abs(torque - torque[summit]) <= SAME_LOAD * np.hypot(own, own[summit])
    again = (torque == torque[summit]) | (near & (speed >= (1.0 - CLEAR_DROP) * speed[summit]))
    return np.asarray((speed < speed[summit]) & ~again)


def _interpolant(torque: Array, knots: Sequence[Knot], values: Array) -> ShapePreserving | None:
    means = np.array([knot.mean(values) for knot in knots])
    known = np.isfinite(means)
    if np.count_nonzero(known) < LEAST_POINTS:
        return None
    return ShapePreserving(torque[known], means[known])


def read_off(curve: LoadCurve, quantity: str, wanted: float | None) -> OperatingPoint | None:
    """The load point at which a quantity has a wanted value.

    Parameters
    ----------
    curve : LoadCurve
        The load curve.
    quantity : {'current', 'shaft_power', 'speed'}
        What is wanted.
    wanted : float or None
        Its value. [SI]

    Returns
    -------
    OperatingPoint or None
        Within the tested range; or, with ``extrapolated`` set, beyond it where the wanted value is at most 5 %
        past the tested one; otherwise ``None``. Where the curve meets the value more than once, current and
        speed give the heavier load (at light load the current of a capacitor motor falls first), power the
        lighter one (past its greatest power a motor is overloaded).
    """
    if wanted is None or not math.isfinite(wanted):
        return None

    def value(torque: Array) -> Array:
        return curve.value(quantity, torque)

    inside = crossings(value, wanted, curve.torque)
    if inside.size:
        torque = inside[0] if quantity == "shaft_power" else inside[-1]
        return OperatingPoint(curve.at(np.array([torque])), extrapolated=False)
    torque_beyond = _beyond(curve, value, quantity, wanted)
    if torque_beyond is None:
        return None
    return OperatingPoint(curve.at(np.array([torque_beyond])), extrapolated=True)


def _beyond(curve: LoadCurve, value: Callable[[Array], Array], quantity: str, wanted: float) -> float | None:
    first, last = curve.torque[0], curve.torque[-1]
    reach = _TORQUE_REACH[quantity] * last
    ends = [(last, last + reach)] if curve.open_ended else []
    ends.append((first, first - reach))
    for end, limit in ends:
        at_end = float(value(np.array([end]))[0])
        if not math.isfinite(at_end) or abs(wanted - at_end) > REACH * abs(at_end):
            continue
        met = crossings(value, wanted, np.array(sorted((end, limit))))
        if met.size:
            return float(met[np.argmin(np.abs(met - end))])
    return None


def drawn_curve(curve: LoadCurve, count: int = 80) -> LoadPoints:
    """The load curve at evenly spaced torques and at every tested one, for the charts and the results tree."""
    even = np.linspace(curve.torque[0], curve.torque[-1], count)
    return curve.at(distinct(np.concatenate([even, curve.torque])))


def torque_over_speed(points: LoadPoints, curve: LoadCurve, stable: LoadPoints, count: int = 80) -> tuple[Array, Array]:
    """Speed and torque of the drawn torque-speed line, from standstill side to no load.

    Parameters
    ----------
    points : LoadPoints
        Tested points; those past breakdown are joined over speed.
    curve : LoadCurve
        The load curve.
    stable : LoadPoints
        The same as drawn, the part before breakdown.
    count : int
        Points drawn on the part past breakdown.

    Returns
    -------
    tuple of (array, array)
        Speed [rad/s] and torque [N*m], in drawing order from the lightest load on.
    """
    summit_speed = float(curve.at(curve.torque[-1:]).speed[0])
    slow = np.isfinite(points.torque) & (points.speed < summit_speed) & ~points.impossible
    if curve.open_ended or not slow.any():
        return stable.speed, stable.torque
    speed, where = np.unique(np.append(points.speed[slow], summit_speed), return_inverse=True)
    torque = np.bincount(where, weights=np.append(points.torque[slow], curve.torque[-1])) / np.bincount(where)
    line = ShapePreserving(speed, torque)
    down = np.union1d(np.linspace(speed[0], summit_speed, count), speed)[::-1]
    return np.concatenate([stable.speed, down]), np.concatenate([stable.torque, np.asarray(line(down))])
