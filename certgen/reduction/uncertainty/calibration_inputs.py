"""What is not sure of a scale's calibration: the line through it, and the loads that were applied."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from certgen.document.build import Dimensioned
from certgen.job.rig import Calibration, Scale
from certgen.physics.curves import Line, straight_line
from certgen.physics.uncertainty import half_width_to_standard
from certgen.reduction.uncertainty.limits import unstated
from certgen.reduction.uncertainty.model import Measured, Shift, UncertainInput

Array = NDArray[np.float64]

#: Scatter below this part of the indications is rounding of binary numbers.
_NONE = 1e-9


@dataclass(frozen=True)
class Scatter:
    """How far a single indication strays: standard deviation [as indicated] and its degrees of freedom."""

    standard: float
    degrees_of_freedom: float
    distribution: str
    cause: str


def rounding(resolution: float | None) -> Scatter | None:
    """Scatter by rounding to a step [as indicated], if the step is known.

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1: a step q gives q / sqrt(12).
    """
    if resolution is None:
        return None
    standard = float(half_width_to_standard(0.5 * resolution, "rectangular"))
    return Scatter(standard, math.inf, "rectangular", "resolution")


def about_line(calibration: Calibration) -> Scatter | None:
    """Scatter of the indications about their line, n - 2 degrees of freedom; ``None`` where there is none to see.

    References
    ----------
    JCGM 100:2008 (GUM), H.3.2, equation (H.13f).
    """
    line, applied = _line(calibration)
    standard = line.residual_standard_deviation
    span = abs(line.slope) * float(np.ptp(applied))
    if not math.isfinite(standard) or standard <= _NONE * span:
        return None
    return Scatter(standard, applied.size - 2, "normal", "scatter about its calibration line")


def largest(*estimates: Scatter | None) -> Scatter | None:
    """The largest of several estimates of one scatter; ``None`` where there is none.

    Readings that scatter are rounded too, so that the estimates are not added.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.10: no component is counted twice.
    """
    known = [one for one in estimates if one is not None]
    return max(known, key=lambda one: one.standard, default=None)


def calibration_inputs(scale: Scale, *, zero_is_read: bool) -> Iterator[UncertainInput]:
    """The errors of a scale's calibration.

    Parameters
    ----------
    scale : Scale
        With a calibration. [SI]
    zero_is_read : bool
        Whether every balance has a zero reading in the test; the line's height then does not enter the torque.

    Yields
    ------
    UncertainInput
        The height of the line at its mean load [as indicated] and its slope [1], which are not correlated; and the
        loads applied [1], where the rig says how sure they are.

    References
    ----------
    JCGM 100:2008 (GUM), H.3.2 and H.3.5: referred to the mean, the two estimates of a line are uncorrelated.
    """
    calibration = scale.calibration
    assert calibration is not None  # the caller has seen one
    step = None if scale.resolution is None else scale.resolution.value
    scatter = largest(rounding(step), about_line(calibration))
    line, applied = _line(calibration)
    unit = "kg" if scale.reads == "mass" else "N"
    if not zero_is_read:
        height = None if scatter is None else scatter.standard / math.sqrt(applied.size)
        middle = float(line.intercept + line.slope * applied.mean())
        yield _of_line(
            "scale calibration, height of its line", unit, middle, height, scatter=scatter, shift=_tilted(0.0)
        )
    spread = math.sqrt(float(np.sum((applied - applied.mean()) ** 2)))
    tilt = None if scatter is None else scatter.standard / spread
    yield _of_line("scale calibration, slope", "1", line.slope, tilt, scatter=scatter, shift=_tilted(1.0))
    if calibration.expanded_uncertainty is not None:
        yield _applied_loads(calibration.expanded_uncertainty, float(np.abs(applied).max()))


def _of_line(
    name: str, unit: str, estimate: float, standard: float | None, *, scatter: Scatter | None, shift: Shift
) -> UncertainInput:
    if standard is None or scatter is None:
        lacking = "scale.resolution in the rig file, or a third load in scale.calibration"
        return replace(unstated(name, unit, shift, size=estimate, lacking=lacking), alone=True)
    return UncertainInput(
        name, unit, standard, shift, shared=True, step=standard, estimate=estimate,
        degrees_of_freedom=scatter.degrees_of_freedom, distribution="normal", alone=True,
    )  # fmt: skip


def _applied_loads(stated: Dimensioned, largest_load: float) -> UncertainInput:
    """Loads of one set err together, by the same part: what is stated for the largest holds for each in proportion.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.3 (expanded uncertainty), 5.2.2 example (items calibrated alike err alike).
    """
    part = stated.value if stated.dimension == "ratio" else stated.value / largest_load
    standard = float(half_width_to_standard(part, "normal"))
    return UncertainInput(
        "scale calibration, applied loads", "1", standard, _heavier, shared=True, step=standard,
        distribution="normal", alone=True,
    )  # fmt: skip


def _line(calibration: Calibration) -> tuple[Line, Array]:
    applied = np.array([one.value for one in calibration.applied])
    return straight_line(applied, [one.value for one in calibration.indicated]), applied


def _tilted(power: float) -> Shift:
    """The calibration line raised everywhere (power 0), or turned about its mean load (power 1)."""

    def shift(measured: Measured, error: float | Array) -> Measured:
        calibration = _calibration_of(measured)
        applied = np.array([one.value for one in calibration.applied])
        raised = float(np.mean(error)) * (applied - applied.mean()) ** power
        pairs = zip(calibration.indicated, raised, strict=True)
        indicated = tuple(replace(one, value=one.value + float(by)) for one, by in pairs)
        return _with_calibration(measured, replace(calibration, indicated=indicated))

    return shift


def _heavier(measured: Measured, error: float | Array) -> Measured:
    calibration = _calibration_of(measured)
    factor = 1.0 + float(np.mean(error))
    applied = tuple(replace(one, value=one.value * factor) for one in calibration.applied)
    return _with_calibration(measured, replace(calibration, applied=applied))


def _calibration_of(measured: Measured) -> Calibration:
    scale = measured.rig.scale
    assert scale is not None and scale.calibration is not None  # these shifts are made for calibrated scales
    return scale.calibration


def _with_calibration(measured: Measured, calibration: Calibration) -> Measured:
    assert measured.rig.scale is not None
    return replace(measured, rig=replace(measured.rig, scale=replace(measured.rig.scale, calibration=calibration)))
