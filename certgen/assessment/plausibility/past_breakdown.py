"""Rows of an induction motor's load test near and past breakdown, where the smooth curve of the load turns back."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from certgen.assessment.plausibility.row_relations import INDUCTION, LoadRows
from certgen.physics.domain import Array, Mask

#: Torque per slip under this part of that of the steep rows is near breakdown (Kloss: 1/(1 + (s/sb)^2)).
STEEP = 0.7
#: Current of such rows over that of the steep ones.
CURRENT_OF_SEVERAL = 1.15
#: No motor draws more than this over the current of its steep rows. Common practice, no source.
GREATEST_CURRENT = 12.0


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
        All False for other motors, and where synchronous speed is not known.
    """
    none = np.zeros(len(whole), dtype=bool)
    if rows.kind not in INDUCTION or not rows.synchronous_speed or whole.sum() < 4:
        return none
    slip = 1.0 - read["speed"] / rows.synchronous_speed
    stiffness = np.where(slip > 1e-4, read["torque"] / np.where(slip > 1e-4, slip, 1.0), np.nan)
    if "voltage" in read:
        stiffness = stiffness / np.where(read["voltage"] > 0.0, read["voltage"], np.nan) ** 2
    usable = whole & np.isfinite(stiffness) & (stiffness > 0.0)
    if usable.sum() < 4:
        return none
    reference = np.sort(stiffness[usable])[-3]
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
