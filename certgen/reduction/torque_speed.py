"""Breakdown and pull-up torque of an induction motor, from its torque over its speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from certgen.reduction.model import LoadPoints, TorqueAtSpeed, TorqueSpeed

Array = NDArray[np.float64]

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
