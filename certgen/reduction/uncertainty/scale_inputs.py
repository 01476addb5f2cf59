"""What is not sure of what shows the load: rounding, scatter, zero, hysteresis of a scale, a balance, a sensor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from certgen.document.build import Dimensioned
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Calibration, Rig, Scale
from certgen.physics.curves import Line, straight_line
from certgen.physics.domain import Array
from certgen.physics.uncertainty import half_width_to_standard
from certgen.readings.model import Zero
from certgen.reduction.uncertainty.model import (
    Measured,
    Perturbation,
    UncertainInput,
    perturb_columns,
    perturb_rows,
    perturb_zero,
    unstated,
    within,
)

# What is not sure of a scale's calibration: the line through it, and the loads that were applied.


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
            "scale calibration, height of its line", unit, middle, height, scatter=scatter, perturb=_tilted(0.0)
        )
    spread = math.sqrt(float(np.sum((applied - applied.mean()) ** 2)))
    tilt = None if scatter is None else scatter.standard / spread
    yield _of_line("scale calibration, slope", "1", line.slope, tilt, scatter=scatter, perturb=_tilted(1.0))
    if calibration.expanded_uncertainty is not None:
        yield _applied_loads(calibration.expanded_uncertainty, float(np.abs(applied).max()))


def _of_line(
    name: str, unit: str, estimate: float, standard: float | None, *, scatter: Scatter | None, perturb: Perturbation
) -> UncertainInput:
    if standard is None or scatter is None:
        lacking = "scale.resolution in the rig file, or a third load in scale.calibration"
        return replace(unstated(name, unit, perturb, size=estimate, lacking=lacking), alone=True)
    return UncertainInput(
        name, unit, standard, perturb, shared=True, step=standard, estimate=estimate,
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


def _tilted(power: float) -> Perturbation:
    """The calibration line raised everywhere (power 0), or turned about its mean load (power 1)."""

    def perturb(measured: Measured, error: float | Array) -> Measured:
        calibration = _calibration_of(measured)
        applied = np.array([one.value for one in calibration.applied])
        raised = float(np.mean(error)) * (applied - applied.mean()) ** power
        pairs = zip(calibration.indicated, raised, strict=True)
        indicated = tuple(replace(one, value=one.value + float(by)) for one, by in pairs)
        return _with_calibration(measured, replace(calibration, indicated=indicated))

    return perturb


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


# How far readings scatter that were taken again at the same load.


def repeat_scatter(readings: Array, setting: Array) -> tuple[float, float] | None:
    """Standard deviation of a reading from rows taken one after the other at the same setting of the load.

    Parameters
    ----------
    readings : array, shape (n,)
        What was read. [any]
    setting : array, shape (n,)
        What the load was set by (current that excites the brake); ``nan`` where not recorded. [any]

    Returns
    -------
    tuple of (float, float), or None
        Standard deviation [as readings] and its degrees of freedom; ``None`` where no load was read twice
        running, or all repeats agree to the last digit.

    References
    ----------
    J. von Neumann, R. H. Kent, H. R. Bellinson and B. I. Hart, Ann. Math. Statist. 12 (1941) 153 (from memory): half
    the mean square successive difference, which a slow change of the load does not enter; its variance gives
    2 (m - 1)^2 / (3 m - 4) degrees of freedom for m readings. JCGM 100:2008 (GUM), 4.2 (type A evaluation).
    """
    squares, pairs, spread = 0.0, 0, 0
    for start, stop in _runs(readings, setting):
        differences = np.diff(readings[start:stop])
        squares += float(differences @ differences)
        pairs += differences.size
        spread += 3 * (stop - start) - 4
    if squares == 0.0:
        return None
    return math.sqrt(squares / (2.0 * pairs)), 2.0 * pairs**2 / spread


def _runs(readings: Array, setting: Array) -> list[tuple[int, int]]:
    """First row and row after the last of every stretch of two or more rows at one setting."""
    same = np.isfinite(readings[1:]) & np.isfinite(readings[:-1]) & (setting[1:] == setting[:-1])
    edges = np.flatnonzero(np.diff(np.concatenate(([False], same, [False])).astype(int)))
    return [(int(first), int(last) + 1) for first, last in zip(edges[::2], edges[1::2], strict=True)]


# What is not sure of what shows the load: rounding, scatter, zero, hysteresis of a scale, a balance, a sensor.


@dataclass(frozen=True)
class _Indicator:
    """What shows the load, its column, and its readings without load."""

    name: str
    column: str
    zero: str  # its field of the readings
    unit: str


def scale_inputs(measured: Measured) -> Iterator[UncertainInput]:
    """Everything not sure of the indications of load."""
    rig = measured.rig
    indicators = _indicators(rig)
    for one in indicators:
        yield from _readings_of(one, measured)
        yield from _zero_of(one, measured)
    scale = rig.scale
    if rig.absorber.kind == TORQUE_SENSOR or scale is None:
        return
    if scale.calibration is not None:
        zeros = [getattr(measured.readings, one.zero) for one in indicators]
        yield from calibration_inputs(scale, zero_is_read=all(_is_read(zero) for zero in zeros))


def _indicators(rig: Rig) -> tuple[_Indicator, ...]:
    unit = "kg" if rig.scale is not None and rig.scale.reads == "mass" else "N"
    return {
        ARM: (_Indicator("scale", "scale", "zero", unit),),
        ROPE: (
            _Indicator("tight-side balance", "scale", "zero", unit),
            _Indicator("slack-side balance", "scale_2", "zero_2", unit),
        ),
        TORQUE_SENSOR: (_Indicator("torque sensor", "torque", "zero", "N*m"),),
    }[rig.absorber.kind]


def _readings_of(one: _Indicator, measured: Measured) -> Iterator[UncertainInput]:
    yield from _single_readings(one, measured)
    scale, column = measured.rig.scale, (one.column,)
    if measured.rig.absorber.kind == TORQUE_SENSOR or scale is None:
        return
    if scale.hysteresis is not None:
        limit = 0.5 * scale.hysteresis.value
        yield within(f"{one.name} hysteresis", one.unit, limit, perturb_columns(column), shared=True)
    if scale.calibration is None and scale.tolerance is not None:
        yield within(f"{one.name}, limit of error", one.unit, scale.tolerance.value, perturb_columns(column), shared=True)
    elif scale.calibration is None:
        lacking = "scale.calibration or scale.tolerance in the rig file"
        yield unstated(one.name, one.unit, perturb_columns(column), size=_greatest(one, measured), lacking=lacking)


def _single_readings(one: _Indicator, measured: Measured) -> Iterator[UncertainInput]:
    """The scatter of each indication by itself: the largest of what rounding, calibration and repeats show."""
    perturb, scatter = perturb_rows(one.column), _scatter(one, measured)
    if scatter is not None:
        yield UncertainInput(
            f"{one.name} {scatter.cause}" if scatter.cause == "resolution" else f"{one.name}, {scatter.cause}",
            one.unit, scatter.standard, perturb, shared=False, step=scatter.standard,
            degrees_of_freedom=scatter.degrees_of_freedom, distribution=scatter.distribution,
        )  # fmt: skip
    elif measured.rig.absorber.kind != TORQUE_SENSOR:
        lacking = "scale.resolution in the rig file"
        size = _greatest(one, measured)
        yield unstated(f"{one.name} resolution", one.unit, perturb, size=size, lacking=lacking, shared=False)


def _scatter(one: _Indicator, measured: Measured) -> Scatter | None:
    """How much a loaded indication scatters: as an unloaded one, or as loads read again show."""
    table = measured.readings.load_test
    repeats = repeat_scatter(table.column(one.column), table.column("brake_current"))
    repeated = None if repeats is None else Scatter(*repeats, "normal", "repeatability")
    return largest(_unloaded_scatter(measured.rig), repeated)


def _unloaded_scatter(rig: Rig) -> Scatter | None:
    """How much any indication scatters: by its rounding, or about the calibration line."""
    calibration = None if rig.absorber.kind == TORQUE_SENSOR or rig.scale is None else rig.scale.calibration
    of_line = None if calibration is None else about_line(calibration)
    return largest(rounding(_resolution(rig)), of_line)


def _resolution(rig: Rig) -> float | None:
    """The step that the display of load jumps by, if the rig states it. [as indicated]"""
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return None if meter is None or meter.digits is not None else meter.resolution
    return None if rig.scale is None or rig.scale.resolution is None else rig.scale.resolution.value


def _zero_of(one: _Indicator, measured: Measured) -> Iterator[UncertainInput]:
    """Readings without load scatter as others do; between them the zero may have drifted otherwise than linearly.

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1 and 4.3.7. A zero that moved from one reading to the other is taken to lie between the
    two, so that half their difference limits the error: common practice, no source.
    """
    zero: Zero = getattr(measured.readings, one.zero)
    scatter = _unloaded_scatter(measured.rig)
    for end in ("before", "after"):
        if getattr(zero, end) is not None and scatter is not None:
            yield UncertainInput(
                f"{one.name}, zero {end}", one.unit, scatter.standard, perturb_zero(one.zero, (end,)), shared=True,
                step=scatter.standard, estimate=getattr(zero, end), degrees_of_freedom=scatter.degrees_of_freedom,
                distribution=scatter.distribution,
            )  # fmt: skip
    name = f"{one.name}, zero drift"
    if zero.before is not None and zero.after is not None:
        if zero.before != zero.after:
            limit, perturb = 0.5 * abs(zero.after - zero.before), perturb_zero(one.zero, ("before", "after"))
            yield within(name, one.unit, limit, perturb, shared=True)
    elif not _holds_zero(measured.rig):
        perturb = perturb_zero(one.zero, ("before", "after")) if _is_read(zero) else perturb_columns((one.column,))
        lacking = f"{_unread(one, zero)} in the readings"
        yield unstated(name, one.unit, perturb, size=_greatest(one, measured), lacking=lacking)


def _holds_zero(rig: Rig) -> bool:
    """Whether a stated limit of error covers the zero as well."""
    if rig.absorber.kind == TORQUE_SENSOR:
        return True
    return rig.scale is not None and rig.scale.calibration is None and rig.scale.tolerance is not None


def _is_read(zero: Zero) -> bool:
    return zero.before is not None or zero.after is not None


def _unread(one: _Indicator, zero: Zero) -> str:
    suffix = "_2" if one.zero == "zero_2" else ""
    ends = [end for end in ("before", "after") if getattr(zero, end) is None]
    return " and ".join(f"zero_{end}{suffix}" for end in ends)


def _greatest(one: _Indicator, measured: Measured) -> float:
    values = measured.readings.load_test.column(one.column)
    return float(np.nanmax(np.abs(values))) if np.isfinite(values).any() else 0.0
