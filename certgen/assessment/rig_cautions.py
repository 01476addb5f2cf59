"""Cautions of the rig: calibration, zero, use of the scale's span, and loads past what the rig can stand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from certgen.job.model import Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.reduction.model import Reduction
from certgen.results.model import Caution
from certgen.results.rig_use import RigUse

# Whether the rig was fit to measure this test: calibration in date and wide enough, zero steady, scale well used.


_DAY = 86400.0
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
        text = "The scale was calibrated after this test: its calibration may not hold for it."
        yield Caution("calibration_later", text, f"calibrated {on.isoformat()}, tested {tested.isoformat()}")
    elif calibration.valid is not None:
        days = math.ceil(calibration.valid / _DAY)  # months and years are of mean length; a day is left for that
        if (tested - on).days > days:
            text = "The calibration of the scale was out of date: calibrate it again, and doubt the torque."
            due = on + timedelta(days=days)
            yield Caution("calibration_due", text, f"valid until {due.isoformat()}, tested {tested.isoformat()}")


def _drift(job: Job, rig: Rig) -> Iterator[Caution]:
    step, read = _step(rig), job.readings
    pairs = (("zero", read.zero_before, read.zero_after), ("zero_2", read.zero_before_2, read.zero_after_2))
    for name, before, after in pairs:
        if step is None or before is None or after is None:
            continue
        steps = abs(after.value - before.value) / step
        if steps > _STEPS_OF_DRIFT + _ROUNDING:
            balance = " of the slack-side balance" if name == "zero_2" else ""
            text = f"The zero{balance} moved during the test: look for rubbing, heat or a slipping mount."
            unit = _unit(rig)
            because = f"{before.value:.5g} {unit} before, {after.value:.5g} {unit} after, {steps:.0f} steps"
            yield Caution(f"{name}_drift", text, because)


def _step(rig: Rig) -> float | None:
    if rig.absorber.kind == TORQUE_SENSOR:
        meter = rig.meters.torque if rig.meters is not None else None
        return None if meter is None else meter.resolution
    return None if rig.scale is None or rig.scale.resolution is None else rig.scale.resolution.value


def _unit(rig: Rig) -> str:
    if rig.absorber.kind == TORQUE_SENSOR:
        return "N·m"
    return "kg" if rig.scale is not None and rig.scale.reads == "mass" else "N"


def _span(rig: Rig, use: RigUse) -> Iterator[Caution]:
    """Whether the heaviest load lies beyond the loads of the calibration."""
    calibration = rig.scale.calibration if rig.scale is not None else None
    shown = use.greatest_indication
    if calibration is None:
        return
    most = max(load.value for load in calibration.indicated)
    if shown > most * (1.0 + _ROUNDING):
        text = "The scale was used beyond the loads it was calibrated with: its line is not known there."
        because = f"{shown:.4g} {_unit(rig)} shown, calibrated up to {most:.4g} {_unit(rig)}"
        yield Caution("beyond_calibration", text, because)


def _use(rig: Rig, use: RigUse) -> Iterator[Caution]:
    span, shown = rig.limits.scale, use.indication
    if span is None or use.place is None:
        return
    if shown < _LEAST_USE * span.value * (1.0 - _ROUNDING):
        text = "The scale was used in the lowest tenth of its span: a lighter scale or a shorter arm measures better."
        because = f"{shown:.3g} {_unit(rig)} at {use.place}, span {span.value:.3g} {_unit(rig)}"
        yield Caution("scale_little_used", text, because)


def _tare(rig: Rig, use: RigUse) -> Iterator[Caution]:
    if rig.tare_torque is None or use.place is None:
        return
    part = rig.tare_torque.value / use.absorber_torque
    if part > _LARGE_TARE:
        text = "Much of the torque is friction the scale does not see: free the trunnions, or measure it anew."
        because = f"tare {rig.tare_torque.value:.3g} N·m, {part:.0%} of the torque at {use.place}"
        yield Caution("tare_torque", text, because)


# Whether the test went beyond what the rig can stand.


#: How an SI unit is printed: its name, and the factor to it.
_PRINTED = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "N*m": ("N·m", 1.0)}


def full_span(rig: Rig, reduction: Reduction, use: RigUse) -> Iterator[Caution]:
    """A caution where a row was read at the end of the scale's span."""
    rows = np.flatnonzero(use.full_span)
    if rows.size and rig.limits.scale is not None:
        unit = "kg" if rig.limits.scale.dimension == "mass" else "N"
        text = "The scale stood at its full span, so it may have shown less than the load: repeat with less load."
        numbers = ", ".join(str(row + 1) for row in rows)
        because = f"row {numbers}: {float(reduction.scale_indication[rows].max()):.4g} {unit}, "
        yield Caution("scale_full_span", text, because + f"span {rig.limits.scale.value:.4g} {unit}")


def passed_limits(use: RigUse) -> Iterator[Caution]:
    """One caution for each limit of the rig that a load point passed, with both numbers."""
    for limit in use.limits:
        worst = limit.worst
        if worst is not None and limit.passed[worst]:
            unit, factor = _PRINTED.get(limit.unit, (limit.unit, 1.0))
            asked, stated = float(limit.asked[worst]) * factor, float(limit.limit[worst]) * factor
            text = f"The rig was loaded past its limit of {limit.name}: do not repeat this load, and doubt the reading."
            because = f"{limit.name} {asked:.4g} {unit}, limit {stated:.4g} {unit}"
            yield Caution(f"rig_{limit.name.replace(' ', '_')}", text, because)
