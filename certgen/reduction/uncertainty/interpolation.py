"""The uncertainty of an interpolated curve between its points."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.physics.curves import ShapePreserving
from certgen.physics.domain import Array
from certgen.physics.uncertainty import DIVISORS
from certgen.reduction.load_curve import PRIMARY, LoadCurve
from certgen.reduction.model import POINT_UNITS, LoadPoints
from certgen.reduction.uncertainty.linear import STENCIL, Correlated, combined, steps_of

#: Knots on either side of a value that decide it: those of its segment and their neighbours.
_NEIGHBOURS = 2
#: So few points tell no more of a curve than a parabola, which fits any three.
_FEW = 3
#: A segment so many times as wide as one beside it leaves room for more than its neighbours tell. [1] Common practice,
#: no source.
_UNEVEN = 3.0


def near_knots(knots: Array, torque: float) -> range:
    """Knots that decide a curve at a torque: those of its segment and their neighbours."""
    segment = int(np.searchsorted(knots[1:-1], torque, side="right"))
    return range(max(0, segment - _NEIGHBOURS + 1), min(knots.size, segment + _NEIGHBOURS + 1))


def interpolation_error(interpolant: ShapePreserving, torque: float, value: float | None = None) -> float:
    """Standard uncertainty of a curve between its points.

    Parameters
    ----------
    interpolant : ShapePreserving
        The curve of one quantity.
    torque : float
        Where it is read. [N*m]
    value : float or None
        What it is there, where that is known already. [unit of the quantity]

    Returns
    -------
    float
        The difference to the cubic through the four nearest points, taken as the limit of a rectangular
        distribution; zero at a tested point. Three points in all do not tell how the quantity bends between them: the
        limit is then no less than the difference to the straight line from point to point. In a segment three times as
        wide as one beside it the limit is no less than the difference to a parabola through the segment and the next
        point on either side. [unit of the quantity]

    References
    ----------
    JCGM 100:2008, 4.3.7 (rectangular); the curves' difference as its limit is common practice, no source.
    """
    near = near_knots(interpolant.x, torque)
    knots, values = (points[near.start : near.stop].tolist() for points in (interpolant.x, interpolant.y))
    read = float(interpolant(torque)) if value is None else value
    limit = abs(_polynomial(knots, values, torque) - read)
    if interpolant.x.size == _FEW and knots[0] < torque < knots[-1]:
        limit = max(limit, abs(float(np.interp(torque, knots, values)) - read))
    elif _is_wide(knots, torque):
        parabolas = [
            _polynomial(knots[at : at + _FEW], values[at : at + _FEW], torque) for at in (0, len(knots) - _FEW)
        ]
        limit = max(limit, *(abs(one - read) for one in parabolas))
    return limit / DIVISORS["rectangular"]


def _is_wide(knots: list[float], torque: float) -> bool:
    """Whether the segment of a torque is much wider than one beside it, whose points then tell as little as one."""
    segment = int(np.searchsorted(knots[1:-1], torque, side="right"))
    widths = np.diff(knots)
    beside = [widths[at] for at in (segment - 1, segment + 1) if 0 <= at < widths.size]
    return knots[0] < torque < knots[-1] and torque not in knots and bool(min(beside) < widths[segment] / _UNEVEN)


def _polynomial(knots: list[float], values: list[float], at: float) -> float:
    """The polynomial through points, after Lagrange."""
    return sum(
        value * math.prod((at - other) / (knot - other) for other in knots if other != knot)
        for knot, value in zip(knots, values, strict=True)
    )


# How a point read off the load curve moves with the tested points around it.
#
# The torque T* at which the curve meets the wanted value moves so that the value stays met: dT* = -dq / (dq/dT).
# Every interpolated quantity moves with its own knots and along the curve with T*, and what is derived moves with
# those.


#: Quantities without an uncertainty of their own: time stamps only order the rows.
_PLAIN = frozenset({"time"})
QUANTITIES = tuple(name for name in POINT_UNITS if name not in _PLAIN)


@dataclass(frozen=True, eq=False)
class Gradient:
    """Derivatives of each quantity read off: by what was tested at the knots, and by errors of the curve itself.

    ``by_knots`` has a row for each of :data:`QUANTITIES` and a column for each of ``knots``: which knot, and 'torque'
    or an interpolated quantity. ``by_curve`` has a column for each interpolated quantity, whose standard uncertainty
    from interpolating is in ``curve_errors``.
    """

    knots: tuple[tuple[int, str], ...]
    by_knots: Array
    by_curve: Array
    curve_errors: tuple[float, ...]


def read_off_gradients(curve: LoadCurve, wanted: Sequence[tuple[str, float]]) -> list[Gradient | None]:
    """Derivatives of the points at torques where the curve meets wanted values of quantities.

    Parameters
    ----------
    curve : LoadCurve
        The load curve.
    wanted : sequence of (str, float)
        For each point what was wanted, 'current', 'shaft_power' or 'speed', and the torque found. [N*m]

    Returns
    -------
    list of Gradient or None
        In SI units of the quantities; ``None`` where the curve runs level, so that the torque is not determined.

    References
    ----------
    JCGM 100:2008, 5.1; the implicit function theorem for the point of crossing.
    """
    torque = np.array([one for _, one in wanted])
    interpolants = tuple(curve.primary.values())
    by_points = [one.by_points(torque) for one in interpolants]
    slopes = np.array([one.slope(torque) for one in interpolants])
    values = np.array([one(torque) for one in interpolants])
    derived = _derived(curve, torque, values)
    found: list[Gradient | None] = []
    for point, (quantity, at) in enumerate(wanted):
        by_wanted, own = _wanted(curve, quantity, at, values[:, point])
        local = _Local(slopes[:, point], by_wanted, own, derived[:, :, point])
        effects = [(by_ordinate[:, point], by_abscissa[:, point]) for by_ordinate, by_abscissa in by_points]
        found.append(None if local.level else _gradient(curve, local, effects, (at, values[:, point].tolist())))
    return found


def _gradient(
    curve: LoadCurve, local: _Local, effects: Sequence[tuple[Array, Array]], at: tuple[float, Sequence[float]]
) -> Gradient:
    """``effects`` are the slopes of each interpolant by the ordinates and abscissae of its points; ``at`` is the torque
    and the value of each there."""
    torque, values = at
    knots: dict[tuple[int, str], Array] = {}
    for index, ((name, interpolant), of_points) in enumerate(zip(curve.primary.items(), effects, strict=True)):
        places = np.searchsorted(curve.torque, interpolant.x).tolist()
        for slopes, of in zip(of_points, (name, "torque"), strict=True):
            for knot in np.flatnonzero(slopes).tolist():
                knots.setdefault((places[knot], of), np.zeros(len(effects)))[index] = slopes[knot]
    return Gradient(
        knots=tuple(knots),
        by_knots=local.moved(np.array([*knots.values()]).T),
        by_curve=local.moved(np.eye(len(effects))),
        curve_errors=tuple(
            interpolation_error(one, torque, value) for one, value in zip(curve.primary.values(), values, strict=True)
        ),
    )


def _wanted(curve: LoadCurve, quantity: str, torque: float, values: Array) -> tuple[Array, float]:
    """How what is wanted moves with each interpolated quantity at fixed torque, and with torque by itself."""
    of_power = quantity == "shaft_power"
    chosen = np.array([float(name == ("speed" if of_power else quantity)) for name in curve.primary])
    return (chosen * torque, float(chosen @ values)) if of_power else (chosen, 0.0)


@dataclass(frozen=True, eq=False)
class _Local:
    """The curve around one torque: slopes of the interpolated quantities, and how all others follow from them.

    ``by_wanted`` says how the wanted quantity moves with each interpolated one at fixed torque, and ``own`` with
    torque besides; ``derived`` has a row for each quantity, the first column by torque, the others by each of them.
    """

    slopes: Array
    by_wanted: Array
    own: float
    derived: Array

    @property
    def steepness(self) -> float:
        """Slope of the wanted quantity along the curve."""
        return float(self.by_wanted @ self.slopes) + self.own

    @property
    def level(self) -> bool:
        """Whether the wanted quantity does not change with torque."""
        return self.steepness == 0.0 or not math.isfinite(self.steepness)

    def moved(self, effects: Array) -> Array:
        """Change of every quantity read off, from changes of interpolated ones at fixed torque: a column a case."""
        along = -(self.by_wanted @ effects) / self.steepness
        changes = effects + self.slopes[:, None] * along
        return np.asarray(self.derived @ np.vstack([along, changes]))


def _derived(curve: LoadCurve, torque: Array, values: Array) -> Array:
    """Partial derivatives of every quantity by torque and by each interpolated quantity, for m points.

    Shape (quantities, 1 + interpolated ones, m); by differences, all at once.
    """
    at = np.vstack([torque, values])
    count, points = at.shape
    steps, places = steps_of(at), len(STENCIL)
    moved = np.stack([at[:, None, :] + place * np.eye(count)[:, :, None] * steps for place in STENCIL], axis=1)
    columns = {name: np.full(places * count * points, math.nan) for name in PRIMARY}
    columns.update(zip(curve.primary, moved[1:].reshape(count - 1, -1), strict=True))
    found = curve.derive(moved[0].ravel(), columns)
    stack = np.array([getattr(found, quantity) for quantity in QUANTITIES]).reshape(-1, places, count, points)
    slopes = np.einsum("p,qpcm->qcm", [*STENCIL.values()], stack) / steps
    return np.where(np.isfinite(slopes), slopes, 0.0)


# What is interpolated over torque, at any torque of the load curve, with the errors of the tested points around.


@dataclass(frozen=True, eq=False)
class AlongCurve:
    """The load curve and the errors of its knots.

    ``at_knot`` gives the error, about zero, of a quantity or of torque at a knot of the curve; ``between`` that of
    interpolating, from its size.
    """

    curve: LoadCurve
    at_knot: Callable[[int, str], Correlated]
    between: Callable[[float], Correlated]

    def at(self, torque: Array) -> dict[str, list[Correlated]]:
        """Every interpolated quantity at fixed torques of shape (m,) [N*m]; m values each. [SI]"""
        return {name: self._quantity(name, one, torque) for name, one in self.curve.primary.items()}

    def read_off(self, points: Sequence[tuple[str, LoadPoints]]) -> list[dict[str, Correlated]]:
        """Every quantity of points read off where the curve meets a wanted current, shaft power or speed.

        Parameters
        ----------
        points : sequence of (str, LoadPoints)
            What was wanted, 'current', 'shaft_power' or 'speed', and the point found, of one row. [SI]

        Returns
        -------
        list of dict
            For each point by name; empty where the curve runs level there. [SI]
        """
        wanted = [(quantity, float(point.torque[0])) for quantity, point in points]
        gradients = read_off_gradients(self.curve, wanted) if wanted else []
        return [
            {} if gradient is None else self._at_point(point, gradient)
            for (_, point), gradient in zip(points, gradients, strict=True)
        ]

    def _at_point(self, point: LoadPoints, gradient: Gradient) -> dict[str, Correlated]:
        between = [(row, size) for row, size in enumerate(gradient.curve_errors) if size > 0.0]
        slopes = np.hstack([gradient.by_knots, gradient.by_curve[:, [row for row, _ in between]]])
        errors = [self.at_knot(*place) for place in gradient.knots] + [self.between(size) for _, size in between]
        values = [float(getattr(point, name)[0]) for name in QUANTITIES]
        found = zip(QUANTITIES, values, combined(values, slopes, errors), strict=True)
        return {name: one for name, value, one in found if math.isfinite(value)}

    def _quantity(self, name: str, interpolant: ShapePreserving, torque: Array) -> list[Correlated]:
        places = np.searchsorted(self.curve.torque, interpolant.x).tolist()
        errors = [self.at_knot(place, of) for of in (name, "torque") for place in places]
        values = np.asarray(interpolant(torque)).tolist()
        sizes = [interpolation_error(interpolant, *one) for one in zip(torque.tolist(), values, strict=True)]
        slopes = np.concatenate([*interpolant.by_points(torque), np.diag(np.sign(sizes))]).T
        errors += [self.between(size) if size > 0.0 else 0.0 for size in sizes]
        return combined(values, slopes, errors)
