"""What is not sure of what shows the load: rounding, scatter, zero, hysteresis of a scale, a balance, a sensor."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Rig
from certgen.readings.model import Zero
from certgen.reduction.uncertainty.calibration_inputs import Scatter, about_line, calibration_inputs, largest, rounding
from certgen.reduction.uncertainty.limits import unstated, within
from certgen.reduction.uncertainty.model import Measured, UncertainInput
from certgen.reduction.uncertainty.repeats import repeat_scatter
from certgen.reduction.uncertainty.shifts import shift_columns, shift_rows, shift_zero


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
        yield within(f"{one.name} hysteresis", one.unit, limit, shift_columns(column), shared=True)
    if scale.calibration is None and scale.tolerance is not None:
        yield within(f"{one.name}, limit of error", one.unit, scale.tolerance.value, shift_columns(column), shared=True)
    elif scale.calibration is None:
        lacking = "scale.calibration or scale.tolerance in the rig file"
        yield unstated(one.name, one.unit, shift_columns(column), size=_greatest(one, measured), lacking=lacking)


def _single_readings(one: _Indicator, measured: Measured) -> Iterator[UncertainInput]:
    """The scatter of each indication by itself: the largest of what rounding, calibration and repeats show."""
    shift, scatter = shift_rows(one.column), _scatter(one, measured)
    if scatter is not None:
        yield UncertainInput(
            f"{one.name} {scatter.cause}" if scatter.cause == "resolution" else f"{one.name}, {scatter.cause}",
            one.unit, scatter.standard, shift, shared=False, step=scatter.standard,
            degrees_of_freedom=scatter.degrees_of_freedom, distribution=scatter.distribution,
        )  # fmt: skip
    elif measured.rig.absorber.kind != TORQUE_SENSOR:
        lacking = "scale.resolution in the rig file"
        size = _greatest(one, measured)
        yield unstated(f"{one.name} resolution", one.unit, shift, size=size, lacking=lacking, shared=False)


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
                f"{one.name}, zero {end}", one.unit, scatter.standard, shift_zero(one.zero, (end,)), shared=True,
                step=scatter.standard, estimate=getattr(zero, end), degrees_of_freedom=scatter.degrees_of_freedom,
                distribution=scatter.distribution,
            )  # fmt: skip
    name = f"{one.name}, zero drift"
    if zero.before is not None and zero.after is not None:
        if zero.before != zero.after:
            limit, shift = 0.5 * abs(zero.after - zero.before), shift_zero(one.zero, ("before", "after"))
            yield within(name, one.unit, limit, shift, shared=True)
    elif not _holds_zero(measured.rig):
        shift = shift_zero(one.zero, ("before", "after")) if _is_read(zero) else shift_columns((one.column,))
        lacking = f"{_unread(one, zero)} in the readings"
        yield unstated(name, one.unit, shift, size=_greatest(one, measured), lacking=lacking)


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
