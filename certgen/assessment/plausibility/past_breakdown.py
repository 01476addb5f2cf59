"""Rows of an induction motor's load test near and past breakdown, where the smooth curve of the load turns back."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from certgen.assessment.plausibility.row_relations import INDUCTION, LoadRows
from certgen.physics.domain import Array, Mask
from certgen.physics.induction import synchronous_speed

#: Torque per slip under this part of that of the steep rows is near breakdown (Kloss: 1/(1 + (s/sb)^2)).
STEEP = 0.7
#: Current of such rows over that of the steep ones.
CURRENT_OF_SEVERAL = 1.15
#: No motor draws more than this over the current of its steep rows. Common practice, no source.
GREATEST_CURRENT = 12.0
#: Part of the greatest torque from which a row is no light load, and how many of them tell by themselves. [1]
LOADED, FEWEST_LOADED = 0.25, 4
#: Synchronous speeds of motors of 2 to 12 poles on public grids. [rad/s]
GRID_SPEEDS = np.array(
    sorted(float(synchronous_speed(hertz, poles)) for hertz in (50.0, 60.0) for poles in range(2, 13, 2))
)


def rows_past_breakdown(rows: LoadRows, read: Mapping[str, Array], whole: Mask) -> Mask:
    """Rows that are no part of the steep curve.

    By Kloss's formula torque per slip falls with 1/(1 + (s/sb)^2), sb the slip at breakdown. A row counts as past it
    when its torque per slip is low, its slip is as large as that asks for, and its current has risen with it: a slip
    of the pen does one of the three, not all.

    Parameters
    ----------
    rows : LoadRows
    read : mapping of str to array, shape (n,)
        Quantities as read; speed at the motor's shaft. [SI]
    whole : array of bool, shape (n,)
        Rows that are complete.

    Returns
    -------
    array of bool, shape (n,)
        All False for other motors. Where synchronous speed is not known, it is that of a public grid next above the
        fastest row.
    """
    none = np.zeros(len(whole), dtype=bool)
    if rows.kind not in INDUCTION or whole.sum() < 4:
        return none
    synchronous = rows.synchronous_speed or _next_above(float(np.max(read["speed"][whole])))
    if synchronous is None:
        return none
    slip = 1.0 - read["speed"] / synchronous
    stiffness = np.where(slip > 1e-4, read["torque"] / np.where(slip > 1e-4, slip, 1.0), np.nan)
    if "voltage" in read:
        stiffness = stiffness / np.where(read["voltage"] > 0.0, read["voltage"], np.nan) ** 2
    usable = whole & np.isfinite(stiffness) & (stiffness > 0.0)
    if usable.sum() < 4:
        return none
    reference = _reference(stiffness, read["torque"], usable)
    share = np.where(usable, stiffness / reference, 1.0)
    steep = usable & (share >= STEEP)
    slip_of_steep = float(np.max(slip[steep]))
    asked = np.maximum(1.0, 0.75 * np.sqrt(np.maximum(1.0 / share - 1.0, 0.0)))
    past = usable & (share < STEEP) & (slip / slip_of_steep >= asked)
    if "current" not in read or not past.any():
        return past
    current_ratio = read["current"] / float(np.max(read["current"][steep]))
    past &= current_ratio <= GREATEST_CURRENT
    if past.sum() > 1:
        return past & (current_ratio >= CURRENT_OF_SEVERAL)
    needed = np.minimum(1.6, np.maximum(1.25, 1.0 + 0.3 * (slip / slip_of_steep - 1.0)))
    return past & (current_ratio >= needed)


def _reference(stiffness: Array, torque: Array, usable: Mask) -> float:
    """Torque per slip of the steep rows, whichever one row may be wrong.

    A light load's slip is a few revolutions and its torque hangs on the tare, so that the second largest of the rows that
    are no light loads may tell more; where rows past breakdown are most of these, the third largest of all does.
    """
    third = float(np.sort(stiffness[usable])[-3])
    loaded = usable & (torque >= LOADED * float(np.max(torque[usable])))
    return max(third, float(np.sort(stiffness[loaded])[-2])) if loaded.sum() >= FEWEST_LOADED else third


def _next_above(fastest: float) -> float | None:
    """The synchronous speed of a grid next above a speed, None above them all. [rad/s]"""
    above = GRID_SPEEDS[fastest < GRID_SPEEDS]
    return float(above[0]) if above.size else None
