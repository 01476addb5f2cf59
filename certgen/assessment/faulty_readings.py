"""Readings that cannot be true of any motor: the measurement is at fault, and the motor cannot be judged by it."""

from __future__ import annotations

import numpy as np

from certgen.reduction.model import LoadPoints


def fault_of(points: LoadPoints) -> str:
    """In words, why the load points of a test [SI] cannot be true; empty where nothing speaks against them."""
    of_all = f"of {points.count} load points"
    impossible, over = int(points.impossible.sum()), int(points.above_volt_amperes.sum())
    if impossible:
        return f"{impossible} {of_all} would give more power than they take in, so the measurement is at fault."
    if over:
        return f"{over} {of_all} would take in more watts than volts times amperes, so the measurement is at fault."
    if _runs_backwards(points):
        return "The torque of the load is negative, so the measurement is at fault."
    return ""


def _runs_backwards(points: LoadPoints) -> bool:
    """Whether the greatest torque in size is a negative one: the load pulled the scale the wrong way."""
    least = float(np.nanmin(points.torque, initial=0.0))
    return -least > float(np.nanmax(points.torque, initial=0.0))
