"""Uncertain inputs of what shows the load: rounding, scatter, zero, hysteresis of a scale, a balance, a sensor."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from certgen.document.build import Dimensioned
from certgen.job.rig import ARM, ROPE, TORQUE_SENSOR, Calibration, Rig, Scale
from certgen.messages.catalogue import Message
from certgen.physics.curves import Line, straight_line
from certgen.physics.domain import Array
from certgen.physics.uncertainty import half_width_to_standard
from certgen.readings.model import Zero
from certgen.reduction.uncertainty.assumed_inputs import (
    AssumedInstrument,
    assumed_input,
    greatest_of,
    instrument_inputs,
    last_digit,
    limit_in_words,
)
from certgen.reduction.uncertainty.model import (
    Measured,
    Perturbation,
    UncertainInput,
    perturb_columns,
    perturb_rows,
    perturb_zero,
    unknown,
    within,
)
from certgen.standards.assumed_accuracy import assumed_accuracy

# A scale's calibration: the line through it, and the loads that were applied.


#: Scatter below this part of the indications is rounding of binary numbers.
_NONE = 1e-9


@dataclass(frozen=True)
class Scatter:
    """How far a single indication strays: standard deviation [as indicated] and its degrees of freedom.

    ``cause`` is the end of the key of its name; ``half_step`` is set where the step of the display was assumed.
    """

    standard: float
    degrees_of_freedom: float
    distribution: str
    cause: str
    half_step: float | None = None


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
    return Scatter(standard, applied.size - 2, "normal", "calibration_scatter")


def largest(*estimates: Scatter | None) -> Scatter | None:
    """The largest of several estimates of one scatter; ``None`` where there is none.

    Readings that scatter are rounded too, so that the estimates are not added.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.10: no component is counted twice.
    """
    known = [one for one in estimates if one is not None]
    return max(known, key=lambda one: one.standard, default=None)


def calibration_inputs(
    scale: Scale, *, zero_is_read: bool, indication: Scatter | None = None
) -> Iterator[UncertainInput]:
    """The errors of a scale's calibration.

    Parameters
    ----------
    scale : Scale
        With a calibration. [SI]
    zero_is_read : bool
        Whether every balance has a zero reading in the test; the line's height then does not enter the torque.
    indication : Scatter or None
        Rounding of an indication, where the rig does not state the resolution. [as indicated]

    Yields
    ------
    UncertainInput
        The height of the line at its mean load [as indicated] and its slope [1], which are not correlated; and the
        loads applied [1].

    References
    ----------
    JCGM 100:2008 (GUM), H.3.2 and H.3.5: referred to the mean, the two estimates of a line are uncorrelated.
    """
    calibration = scale.calibration
    assert calibration is not None  # the caller has seen one
    rounded = indication if scale.resolution is None else rounding(scale.resolution.value)
    scatter = largest(rounded, about_line(calibration))
    line, applied = _line(calibration)
    unit = "kg" if scale.reads == "mass" else "N"
    if not zero_is_read:
        height = None if scatter is None else scatter.standard / math.sqrt(applied.size)
        middle = float(line.intercept + line.slope * applied.mean())
        yield _of_line(Message("input.calibration_height"), unit, middle, height, scatter=scatter, perturb=_tilted(0.0))
    spread = math.sqrt(float(np.sum((applied - applied.mean()) ** 2)))
    tilt = None if scatter is None else scatter.standard / spread
    yield _of_line(Message("input.calibration_slope"), "1", line.slope, tilt, scatter=scatter, perturb=_tilted(1.0))
    yield _applied_loads(calibration.expanded_uncertainty, float(np.abs(applied).max()))


def _of_line(
    name: Message,
    unit: str,
    estimate: float,
    standard: float | None,
    *,
    scatter: Scatter | None,
    perturb: Perturbation,
) -> UncertainInput:
    if standard is None or scatter is None:
        to_state = Message("to_state.scale_resolution")
        return replace(unknown(name, unit, perturb, size=estimate, to_state=to_state), alone=True)
    made = UncertainInput(
        name,
        unit,
        standard,
        perturb,
        shared=True,
        step=standard,
        estimate=estimate,
        degrees_of_freedom=scatter.degrees_of_freedom,
        distribution="normal",
        alone=True,
    )
    return _marked(made, scatter, Message("instrument.scale"), "kg" if unit == "1" else unit)


def _marked(made: UncertainInput, scatter: Scatter, instrument: Message, unit: str) -> UncertainInput:
    """An input that rests on a scatter, marked as assumed where that is an assumed step of the display."""
    if scatter.half_step is None:
        return made
    what = Message("input.resolution", instrument=instrument)
    assumption = Message("assumed.input", what=what, limits=(limit_in_words(scatter.half_step, unit),))
    return replace(made, assumption=assumption, to_state=Message("to_state.scale_resolution"))


def _applied_loads(stated: Dimensioned | None, largest_load: float) -> UncertainInput:
    """Loads of one set err together, by the same part: what is stated for the largest holds for each in proportion.

    Where nothing is stated they are the masses of a shop.

    References
    ----------
    JCGM 100:2008 (GUM), 4.3.3 (expanded uncertainty), 5.2.2 example (items calibrated alike err alike).
    """
    name = Message("input.calibration_loads")
    if stated is None:
        part = assumed_accuracy("calibration_loads").reading
        to_state = Message("to_state.calibration_loads")
        made = assumed_input(name, "1", part, _heavier, kind="calibration_loads", to_state=to_state)
        return replace(made, alone=True)
    part = stated.value if stated.dimension == "ratio" else stated.value / largest_load
    standard = float(half_width_to_standard(part, "normal"))
    return UncertainInput(
        name, "1", standard, _heavier, shared=True, step=standard,
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
    assert scale is not None and scale.calibration is not None  # these errors are made for calibrated scales
    return scale.calibration


def _with_calibration(measured: Measured, calibration: Calibration) -> Measured:
    assert measured.rig.scale is not None
    return replace(measured, rig=replace(measured.rig, scale=replace(measured.rig.scale, calibration=calibration)))


# What shows the load: rounding, scatter, zero, hysteresis of a scale, a balance, a sensor.


@dataclass(frozen=True)
class _Indicator:
    """What shows the load, its column, and its readings without load."""

    kind: str
    column: str
    zero: str  # its field of the readings
    unit: str

    @property
    def name(self) -> Message:
        return Message(f"instrument.{self.kind}")

    def named(self, what: str) -> Message:
        """What one of its inputs is called."""
        return Message(f"input.{what}", instrument=self.name)


def scale_inputs(measured: Measured, steps: Mapping[str, float] | None = None) -> Iterator[UncertainInput]:
    """Everything uncertain of the indications of load; ``steps`` are the last digits as typed, by column. [SI]"""
    rig = measured.rig
    indicators = _indicators(rig)
    rounded = {one.kind: _rounded(one, measured, steps or {}) for one in indicators}
    for one in indicators:
        yield from _readings_of(one, measured, rounded[one.kind])
        yield from _zero_of(one, measured, rounded[one.kind])
    scale = rig.scale
    if rig.absorber.kind == TORQUE_SENSOR or scale is None:
        return
    if scale.calibration is not None:
        zeros = [getattr(measured.readings, one.zero) for one in indicators]
        indication = largest(*rounded.values())
        yield from calibration_inputs(scale, zero_is_read=all(_is_read(zero) for zero in zeros), indication=indication)


def _indicators(rig: Rig) -> tuple[_Indicator, ...]:
    unit = "kg" if rig.scale is not None and rig.scale.reads == "mass" else "N"
    return {
        ARM: (_Indicator("scale", "scale", "zero", unit),),
        ROPE: (
            _Indicator("tight_side_balance", "scale", "zero", unit),
            _Indicator("slack_side_balance", "scale_2", "zero_2", unit),
        ),
        TORQUE_SENSOR: (_Indicator("torque_sensor", "torque", "zero", "N*m"),),
    }[rig.absorber.kind]


def _readings_of(one: _Indicator, measured: Measured, rounded: Scatter | None) -> Iterator[UncertainInput]:
    yield from _single_readings(one, measured, rounded)
    scale, column = measured.rig.scale, (one.column,)
    if measured.rig.absorber.kind == TORQUE_SENSOR or scale is None:
        return
    if scale.hysteresis is not None:
        limit = 0.5 * scale.hysteresis.value
        yield within(one.named("hysteresis"), one.unit, limit, perturb_columns(column), shared=True)
    if scale.calibration is None and scale.tolerance is not None:
        limit = scale.tolerance.value
        yield within(one.named("limit_of_error"), one.unit, limit, perturb_columns(column), shared=True)
    elif scale.calibration is None:
        to_state, greatest = Message("to_state.scale"), _greatest(one, measured)
        yield from instrument_inputs(AssumedInstrument("scale", one.name, one.unit, column, to_state, greatest))


def _single_readings(one: _Indicator, measured: Measured, rounded: Scatter | None) -> Iterator[UncertainInput]:
    """The scatter of each indication by itself: the larger of what rounding and calibration show."""
    perturb, scatter = perturb_rows(one.column), _single_scatter(measured.rig, rounded)
    if scatter is not None:
        made = UncertainInput(
            one.named(scatter.cause), one.unit, scatter.standard, perturb, shared=False, step=scatter.standard,
            degrees_of_freedom=scatter.degrees_of_freedom, distribution=scatter.distribution,
        )  # fmt: skip
        yield _marked(made, scatter, one.name, one.unit)


def _single_scatter(rig: Rig, rounded: Scatter | None) -> Scatter | None:
    """How much any indication scatters: by its rounding, or about the calibration line."""
    calibration = None if rig.absorber.kind == TORQUE_SENSOR or rig.scale is None else rig.scale.calibration
    of_line = None if calibration is None else about_line(calibration)
    return largest(rounded, of_line)


def _rounded(one: _Indicator, measured: Measured, steps: Mapping[str, float]) -> Scatter | None:
    """Scatter by rounding: to the step the rig states, else to the last digit as an ordinary display has it.

    A torque sensor whose limit of error is stated has its rounding in that.
    """
    rig, kind = measured.rig, "scale"
    step = _resolution(rig)
    if step is not None:
        return rounding(step)
    if rig.absorber.kind == TORQUE_SENSOR:
        meter, kind = (None if rig.meters is None else rig.meters.torque), "torque_sensor"
        if meter is not None and any(part is not None for part in (meter.reading, meter.range, meter.digits)):
            return None
    step = last_digit(kind, steps, one.column, _greatest(one, measured))
    found = rounding(step) if step > 0.0 else None
    freedom = assumed_accuracy(kind).degrees_of_freedom
    return None if found is None else replace(found, degrees_of_freedom=freedom, half_step=0.5 * step)


def _resolution(rig: Rig) -> float | None:
    """The step that the display of load jumps by, if the rig states it. [as indicated]"""
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return None if meter is None or meter.digits is not None else meter.resolution
    return None if rig.scale is None or rig.scale.resolution is None else rig.scale.resolution.value


def _zero_of(one: _Indicator, measured: Measured, rounded: Scatter | None) -> Iterator[UncertainInput]:
    """Readings without load scatter as others do; between them the zero may have drifted otherwise than linearly.

    References
    ----------
    JCGM 100:2008 (GUM), F.2.2.1 and 4.3.7. A zero that moved from one reading to the other is taken to lie between the
    two, so that half their difference limits the error: common practice, no source.
    """
    zero: Zero = getattr(measured.readings, one.zero)
    scatter = _single_scatter(measured.rig, rounded)
    for end in ("before", "after"):
        if getattr(zero, end) is not None and scatter is not None:
            made = UncertainInput(
                one.named(f"zero_{end}"), one.unit, scatter.standard, perturb_zero(one.zero, (end,)), shared=True,
                step=scatter.standard, estimate=getattr(zero, end), degrees_of_freedom=scatter.degrees_of_freedom,
                distribution=scatter.distribution,
            )  # fmt: skip
            yield _marked(made, scatter, one.name, one.unit)
    name = one.named("zero_drift")
    if zero.before is not None and zero.after is not None:
        if zero.before != zero.after:
            limit, perturb = 0.5 * abs(zero.after - zero.before), perturb_zero(one.zero, ("before", "after"))
            yield within(name, one.unit, limit, perturb, shared=True)
    elif not _holds_zero(measured.rig):
        perturb = perturb_zero(one.zero, ("before", "after")) if _is_read(zero) else perturb_columns((one.column,))
        to_state = Message("to_state.zero", readings=_unread(one, zero))
        kind, greatest = "zero_read_once" if _is_read(zero) else "zero_not_read", _greatest(one, measured)
        found = assumed_accuracy(kind)
        if greatest > 0.0:
            yield assumed_input(
                name, one.unit, float(found.limit(0.0, greatest)), perturb, kind=kind, to_state=to_state,
                assumption=Message(
                    "assumed.input", what=name, limits=(Message("assumed.of_greatest", part=found.greatest),)
                ),
            )  # fmt: skip


def _holds_zero(rig: Rig) -> bool:
    """Whether a stated limit of error covers the zero as well."""
    if rig.absorber.kind == TORQUE_SENSOR:
        return True
    return rig.scale is not None and rig.scale.calibration is None and rig.scale.tolerance is not None


def _is_read(zero: Zero) -> bool:
    return zero.before is not None or zero.after is not None


def _unread(one: _Indicator, zero: Zero) -> tuple[str, ...]:
    """Keys of the zero readings that were not made."""
    suffix = "_2" if one.zero == "zero_2" else ""
    return tuple(f"zero_{end}{suffix}" for end in ("before", "after") if getattr(zero, end) is None)


def _greatest(one: _Indicator, measured: Measured) -> float:
    return greatest_of(measured.readings.load_test.column(one.column))
