"""What is interpolated over torque, at any torque of the load curve, with the errors of the tested points around."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving
from certgen.reduction.load_curve import LoadCurve
from certgen.reduction.model import LoadPoints
from certgen.reduction.uncertainty.interpolation import interpolation_error
from certgen.reduction.uncertainty.linear import Correlated, combined
from certgen.reduction.uncertainty.read_off import QUANTITIES, Gradient, read_off_gradients

Array = NDArray[np.float64]


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
