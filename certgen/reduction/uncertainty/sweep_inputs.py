"""What is not sure of the points of a sweep besides its instruments: scatter about the low-pass, and the inertia."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from certgen.readings.swept import ACCELERATION
from certgen.reduction.uncertainty.limits import toleranced
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.shifts import Moved, shift_rig, shift_rows

Array = NDArray[np.float64]

_WORDS = {ACCELERATION: "rate of change of speed", "scale_2": "slack-side balance"}


def sweep_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """Scatter of each column, independent from point to point, and the inertias; none where there is no sweep.

    References
    ----------
    JCGM 100:2008 (GUM), 4.2 (scatter, type A), 4.3 (limits stated for the inertia, type B).
    """
    sweep = measured.readings.sweep
    if sweep is None:
        return
    for name, deviations in sweep.deviations.items():
        known = np.where(np.isfinite(deviations), deviations, 0.0)
        if known.any():
            words = _WORDS.get(name, name.replace("_", " "))
            yield UncertainInput(
                f"scatter of the sweep, {words}", "1", 1.0, shift_rows(name, _scattered(known)), shared=False,
                step=1.0, distribution="normal",
            )  # fmt: skip
    if measured.rig.inertia is not None:
        lacking, shift = "inertia.tolerance in the rig file", shift_rig("inertia", "value")
        yield toleranced("inertia of the rig", "kg*m^2", measured.rig.inertia, shift, lacking=lacking)
    if sweep.rotor_inertia is not None:
        lacking = "motor.rotor_inertia.tolerance in the job file"
        yield toleranced("inertia of the rotor", "kg*m^2", sweep.rotor_inertia, _heavier_rotor, lacking=lacking)


def _scattered(deviations: Array) -> Moved:
    """An error of one standard deviation of each row, times a number."""

    def moved(values: Array, error: float | Array) -> Array:
        return values + np.asarray(error) * deviations

    return moved


def _heavier_rotor(measured: Measured, error: Any) -> Measured:
    sweep = measured.readings.sweep
    assert sweep is not None and sweep.rotor_inertia is not None  # else there is no such input
    heavier = replace(sweep.rotor_inertia, value=sweep.rotor_inertia.value + error)
    return replace(measured, readings=replace(measured.readings, sweep=replace(sweep, rotor_inertia=heavier)))
