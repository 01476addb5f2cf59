"""What is interpolated over torque, at any torque of the load curve, with the errors of the tested points around."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from certgen.physics.curves import ShapePreserving
from certgen.reduction.load_curve import LoadCurve
from certgen.reduction.model import LoadPoints
from certgen.reduction.uncertainty.interpolation import interpolation_error
from certgen.reduction.uncertainty.linear import Correlated, combined
from certgen.reduction.uncertainty.read_off import QUANTITIES, read_off_gradient

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

    def read_off(self, quantity: str, point: LoadPoints) -> dict[str, Correlated]:
        """Every quantity of a point read off where the curve meets a wanted current, shaft power or speed.

        Parameters
        ----------
        quantity : {'current', 'shaft_power', 'speed'}
            What was wanted.
        point : LoadPoints
            The point found, of one row. [SI]

        Returns
        -------
        dict
            By name; empty where the curve runs level there. [SI]
        """
        gradient = read_off_gradient(self.curve, quantity, float(point.torque[0]))
        if gradient is None:
            return {}
        between = [(row, size) for row, size in enumerate(gradient.curve_errors) if size > 0.0]
        slopes = np.concatenate([gradient.by_knots, gradient.by_curve[:, [row for row, _ in between]]], axis=1)
        errors = [self.at_knot(*place) for place in gradient.knots] + [self.between(size) for _, size in between]
        values = [float(getattr(point, name)[0]) for name in QUANTITIES]
        found = zip(QUANTITIES, values, combined(values, slopes, errors), strict=True)
        return {name: one for name, value, one in found if math.isfinite(value)}

    def _quantity(self, name: str, interpolant: ShapePreserving, torque: Array) -> list[Correlated]:
        places = np.searchsorted(self.curve.torque, interpolant.x).tolist()
        errors = [self.at_knot(place, of) for of in (name, "torque") for place in places]
        sizes = [interpolation_error(interpolant, one) for one in torque.tolist()]
        slopes = np.concatenate([*interpolant.by_points(torque), np.diag(np.sign(sizes))]).T
        errors += [self.between(size) if size > 0.0 else 0.0 for size in sizes]
        return combined(np.asarray(interpolant(torque)).tolist(), slopes, errors)
