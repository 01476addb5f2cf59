"""Whether the rig was fit to measure this test: calibration in date and wide enough, zero steady, scale well used."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.results import Caution
from certgen.job.model import Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.reduction.model import Reduction

Array = NDArray[np.float64]

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


def rig_health(job: Job, rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """One caution for each thing of the rig that makes its readings doubtful, with both numbers."""
    yield from _calibration_date(job, rig)
    yield from _drift(job, rig)
    if rig.absorber.kind != TORQUE_SENSOR:
        yield from _span(rig, reduction)
        yield from _use(rig, reduction)
    yield from _tare(rig, reduction)


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


def _span(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """Whether the heaviest load lies beyond the loads of the calibration."""
    calibration = rig.scale.calibration if rig.scale is not None else None
    shown = float(np.nanmax(reduction.scale_indication, initial=-math.inf))
    if calibration is None:
        return
    most = max(one.value for one in calibration.indicated)
    if shown > most * (1.0 + _ROUNDING):
        text = "The scale was used beyond the loads it was calibrated with: its line is not known there."
        because = f"{shown:.4g} {_unit(rig)} shown, calibrated up to {most:.4g} {_unit(rig)}"
        yield Caution("beyond_calibration", text, because)


def _use(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    span, found = rig.limits.scale, _where_it_matters(reduction)
    if span is None or found is None:
        return
    where, torque = found
    shown = _at(torque, reduction.points.torque, reduction.scale_indication)
    if shown < _LEAST_USE * span.value * (1.0 - _ROUNDING):
        text = "The scale was used in the lowest tenth of its span: a lighter scale or a shorter arm measures better."
        because = f"{shown:.3g} {_unit(rig)} at {where}, span {span.value:.3g} {_unit(rig)}"
        yield Caution("scale_little_used", text, because)


def _tare(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    found = _where_it_matters(reduction)
    if rig.tare_torque is None or found is None:
        return
    where, torque = found
    at_absorber = _at(torque, reduction.points.torque, reduction.absorber_torque)
    part = rig.tare_torque.value / at_absorber
    if part > _LARGE_TARE:
        text = "Much of the torque is friction the scale does not see: free the trunnions, or measure it anew."
        yield Caution("tare_torque", text, f"tare {rig.tare_torque.value:.3g} N·m, {part:.0%} of the torque at {where}")


def _where_it_matters(reduction: Reduction) -> tuple[str, float] | None:
    """The rated point, or the heaviest that was tested, with its torque; ``None`` where no torque was measured."""
    for name, words in (("at_rated_power", "rated power"), ("at_rated_current", "rated current")):
        found = reduction.operating.get(name)
        if found is not None:
            return words, float(found.point.torque[0])
    greatest = float(np.nanmax(reduction.points.torque, initial=0.0))
    return ("the heaviest load", greatest) if greatest > 0.0 else None


def _at(torque: float, torques: Array, values: Array) -> float:
    """A column at a torque, linear between the tested points."""
    known = np.isfinite(torques) & np.isfinite(values)
    order = np.argsort(torques[known])
    return float(np.interp(torque, torques[known][order], values[known][order]))
