"""Cautions of the rig: calibration, zero, use of the scale's span, and loads past what the rig can stand."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from certgen.job.model import Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.messages.catalogue import Message
from certgen.quantity import Quantity
from certgen.reduction.log.spans import METER_OF
from certgen.reduction.model import Reduction
from certgen.results.model import TO_THE_MOTOR, Caution
from certgen.results.rig_use import RigUse

# Whether the rig was fit to measure this test: calibration in date and wide enough, zero steady, scale well used.


#: Steps of the display a zero may move in a test before the page says so. Common practice, no source.
_STEPS_OF_DRIFT = 2
#: Part of its span below which a scale is used poorly: its errors of zero and of rounding then count tenfold.
#: Common practice, no source.
_LEAST_USE = 0.1
#: Part of the measured torque above which a tare torque is too large to be added from a table. Common practice,
#: no source.
_LARGE_TARE = 0.05
#: Steps and spans are compared as decimal numbers, whatever their binary form.
_ROUNDING = 1e-9


def rig_health(job: Job, rig: Rig, use: RigUse) -> Iterator[Caution]:
    """One caution for each thing of the rig that makes its readings doubtful, with both numbers."""
    yield from _calibration_date(job, rig)
    yield from _drift(job, rig)
    if rig.absorber.kind != TORQUE_SENSOR:
        yield from _span(rig, use)
        yield from _use(rig, use)
    yield from _tare(rig, use)


def _calibration_date(job: Job, rig: Rig) -> Iterator[Caution]:
    calibration = rig.scale.calibration if rig.scale is not None else None
    if calibration is None or calibration.on is None:
        return
    tested, on = job.certificate.tested_on, calibration.on
    if tested < on:
        because = Message("because.calibrated", on=on, tested=tested)
        yield Caution("calibration_later", Message("caution.calibration_later"), because)
    elif calibration.valid_until is not None and tested > calibration.valid_until:
        because = Message("because.valid_until", due=calibration.valid_until, tested=tested)
        yield Caution("calibration_due", Message("caution.calibration_due"), because)


def _drift(job: Job, rig: Rig) -> Iterator[Caution]:
    step, read = _step(rig), job.readings
    pairs = (("zero", read.zero_before, read.zero_after), ("zero_2", read.zero_before_2, read.zero_after_2))
    for name, before, after in pairs:
        if step is None or before is None or after is None:
            continue
        steps = abs(after.value - before.value) / step
        if steps > _STEPS_OF_DRIFT + _ROUNDING:
            was, is_now = (Quantity(read.value, _unit(rig)) for read in (before, after))
            because = Message("because.zero_drift", before=was, after=is_now, steps=steps)
            yield Caution(f"{name}_drift", Message(f"caution.{name}_drift"), because)


def _step(rig: Rig) -> float | None:
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return None if meter is None else meter.resolution
    return None if rig.scale is None or rig.scale.resolution is None else rig.scale.resolution.value


def _unit(rig: Rig) -> str:
    if rig.absorber.kind == TORQUE_SENSOR:
        return "N*m"
    return "kg" if rig.scale is not None and rig.scale.reads == "mass" else "N"


def _span(rig: Rig, use: RigUse) -> Iterator[Caution]:
    """Whether the heaviest load lies beyond the loads of the calibration."""
    calibration = rig.scale.calibration if rig.scale is not None else None
    shown = use.greatest_indication
    if calibration is None:
        return
    most = max(load.value for load in calibration.indicated)
    if shown > most * (1.0 + _ROUNDING):
        unit = _unit(rig)
        because = Message("because.beyond_calibration", shown=Quantity(shown, unit), most=Quantity(most, unit))
        yield Caution("beyond_calibration", Message("caution.beyond_calibration"), because)


def _use(rig: Rig, use: RigUse) -> Iterator[Caution]:
    span, shown = rig.limits.scale, use.indication
    if span is None or use.place is None:
        return
    if shown < _LEAST_USE * span.value * (1.0 - _ROUNDING):
        read, whole = Quantity(shown, _unit(rig)), Quantity(span.value, _unit(rig))
        because = Message("because.scale_little_used", shown=read, place=use.place, span=whole)
        yield Caution("scale_little_used", Message("caution.scale_little_used"), because)


def _tare(rig: Rig, use: RigUse) -> Iterator[Caution]:
    if rig.tare_torque is None or use.place is None:
        return
    part = rig.tare_torque.value / use.absorber_torque
    if part > _LARGE_TARE:
        because = Message("because.tare_torque", tare=rig.tare_torque.value, part=part, place=use.place)
        yield Caution("tare_torque", Message("caution.tare_torque"), because)


# Whether the test went beyond what the rig can stand.


def full_span(rig: Rig, reduction: Reduction, use: RigUse) -> Iterator[Caution]:
    """A caution where a row was read at the end of the scale's span."""
    rows, numbers = np.flatnonzero(use.full_span), tuple(int(row) + 1 for row in np.flatnonzero(use.full_span))
    sensor = None if rig.meters is None else rig.meters.torque
    if rows.size and rig.absorber.kind == TORQUE_SENSOR and sensor is not None:
        because = Message("because.sensor_full_span", rows=numbers, span=sensor.full_scale)
        yield Caution("scale_full_span", Message("caution.full_span"), because)
    elif rows.size and rig.limits.scale is not None:
        unit = "kg" if rig.limits.scale.dimension == "mass" else "N"
        shown = Quantity(float(reduction.scale_indication[rows].max()), unit)
        whole = Quantity(rig.limits.scale.value, unit)
        yield Caution(
            "scale_full_span",
            Message("caution.full_span"),
            Message("because.full_span", rows=numbers, shown=shown, span=whole),
        )
    if reduction.at_full_scale:
        rows_of: dict[str, list[int]] = {}
        for name, row in reduction.at_full_scale:
            rows_of.setdefault(METER_OF[name], []).append(row + 1)
        reasons = tuple(
            Message("because.meter_full_scale", what=Message(f"name.{meter}"), rows=tuple(sorted(set(of_meter))))
            for meter, of_meter in rows_of.items()
        )
        yield Caution(
            "meter_full_scale", Message("caution.meter_full_scale"), Message("because.reasons", reasons=reasons)
        )


def passed_limits(use: RigUse) -> Iterator[Caution]:
    """One caution for each limit of the rig that a load point passed, with both numbers."""
    for limit in use.limits:
        worst = limit.worst
        if worst is not None and limit.passed[worst]:
            asked, stated = (Quantity(float(values[worst]), limit.unit) for values in (limit.asked, limit.limit))
            because = Message("because.past_limit", limit=limit.title, asked=asked, stated=stated)
            text = Message("caution.past_limit", limit=limit.title)
            yield Caution(f"rig_{limit.name.replace(' ', '_')}", text, because, TO_THE_MOTOR)
