"""Cautions: what whoever handles the motor or trusts the page must know, each with what in this test raised it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.findings import IMPOSSIBLE_CAUSES, NOT_STEADY
from certgen.assessment.insulation import OF_INSULATION, RESISTANCE, UNSOUND
from certgen.assessment.supply import CURRENT_UNBALANCE, FREQUENCY, VOLTAGE, VOLTAGE_UNBALANCE
from certgen.job.model import DC, INDUCTION, SINGLE_PHASE, UNIVERSAL, Job
from certgen.job.rig import TORQUE_SENSOR, Rig
from certgen.physics.domain import Array
from certgen.physics.electrics import power_factor
from certgen.readings.model import Table
from certgen.reduction.model import METERS_AGREE, Reduction
from certgen.reduction.rig_demand import Demand, asked_of
from certgen.results.changing_speed import run_down_cautions, sweep_cautions
from certgen.results.characteristic import gear_cautions
from certgen.results.log import log_cautions
from certgen.results.model import Caution, Finding

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


# Whether the test went beyond what the rig can stand.


#: How an SI unit is told: unit printed, factor.
_TOLD = {"rad/s": ("rpm", 60.0 / (2.0 * math.pi)), "N*m": ("N·m", 1.0)}


def at_full_span(rig: Rig, reduction: Reduction) -> NDArray[np.bool_]:
    """Load points at which the scale stood at the end of its span, shape (n,): it may show less than the load."""
    span = rig.limits.scale
    if span is None:
        return np.zeros(reduction.points.count, dtype=bool)
    return np.asarray(reduction.scale_indication >= span.value * (1.0 - _ROUNDING))


def full_span(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """A caution where a row was read at the end of the scale's span."""
    rows = np.flatnonzero(at_full_span(rig, reduction))
    if rows.size and rig.limits.scale is not None:
        unit = "kg" if rig.limits.scale.dimension == "mass" else "N"
        text = "The scale stood at its full span, so it may have shown less than the load: repeat with less load."
        told = ", ".join(str(row + 1) for row in rows)
        because = f"row {told}: {float(reduction.scale_indication[rows].max()):.4g} {unit}, "
        yield Caution("scale_full_span", text, because + f"span {rig.limits.scale.value:.4g} {unit}")


def passed_limits(rig: Rig, reduction: Reduction, envelope: Table | None = None) -> Iterator[Caution]:
    """One caution for each limit of the rig that a load point passed, with both numbers."""
    demand = Demand(
        shaft_torque=reduction.points.torque,
        shaft_speed=reduction.points.speed,
        absorber_torque=reduction.absorber_torque,
        absorber_speed=reduction.absorber_speed,
        scale_indication=reduction.scale_indication,
        brake_current=reduction.brake_current,
    )
    for one in asked_of(rig, envelope, demand):
        worst = one.worst
        if worst is not None and one.passed[worst]:
            unit, factor = _TOLD.get(one.unit, (one.unit, 1.0))
            asked, limit = float(one.asked[worst]) * factor, float(one.limit[worst]) * factor
            text = f"The rig was loaded past its limit of {one.name}: do not repeat this load, and doubt the reading."
            because = f"{one.name} {asked:.4g} {unit}, limit {limit:.4g} {unit}"
            yield Caution(f"rig_{one.name.replace(' ', '_')}", text, because)


# Cautions: what whoever handles the motor or trusts the page must know, each with what in this test raised it.


_RPM = 60.0 / (2.0 * math.pi)
#: Metal this hot burns at a touch of a second. Common practice, no source.
_HOT = 273.15 + 60.0

#: Plate power over the greatest power tested that no light test explains; the same where rated current was drawn, and
#: the part of it that counts as drawn. Common practice, no source.
_FAR_OFF, _WEAK, _NEARLY = 50.0, 4.0, 0.9


def cautions_of(
    job: Job, rig: Rig, reduction: Reduction, findings: tuple[Finding, ...], *, envelope: Table | None = None
) -> tuple[Caution, ...]:
    """Every caution of a test, those about people first, then those about the figures; ``envelope`` is the brake's."""
    return (
        *_insulation(job, findings),
        *_for_people(job, reduction),
        *run_down_cautions(rig, reduction),
        *_heat(findings),
        *_supply(findings),
        *log_cautions(reduction),
        *passed_limits(rig, reduction, envelope),
        *full_span(rig, reduction),
        *rig_health(job, rig, reduction),
        *sweep_cautions(reduction),
        *_figures(job, reduction),
        *gear_cautions(job, reduction),
        *_service_factor(findings),
    )


def _for_people(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    kind = job.motor.type
    if kind == UNIVERSAL:
        text = "Never run this motor without load: a series motor races until it flies apart."
        yield Caution("no_load_speed", text, "motor type universal")
    if kind == DC:
        text = (
            "If series wound, never run without load; if shunt wound, never open the field: either way the motor races."
        )
        yield Caution("no_load_speed", text, "motor type dc")
    if kind in (DC, UNIVERSAL):
        yield _commutation(job, reduction)
    if kind == SINGLE_PHASE:
        yield Caution(
            "start_winding",
            "A start winding burns within seconds if left on: watch that its switch drops out on running up.",
            "motor type single-phase induction",
        )
        text = (
            "Capacitors hold a charge after switching off: discharge them through a resistor before touching terminals."
        )
        yield Caution("capacitor", text, "motor type single-phase induction")
    logged = () if reduction.log is None else reduction.log.trace.speed
    fastest = float(np.nanmax([*points.speed, *logged], initial=0.0)) * _RPM
    yield Caution(
        "rotation",
        "Guard shaft, coupling and belt; keep hair and sleeves away.",
        f"the shaft turned at up to {fastest:.0f} rpm",
    )
    hottest = float(np.nanmax(points.temperature, initial=0.0))
    if hottest > _HOT:
        yield Caution(
            "heat",
            "The motor is hot enough to burn after a load run.",
            f"winding at {hottest - 273.15:.0f} °C in this test",
        )
    volts = float(np.nanmax(points.voltage, initial=0.0)) or (job.nameplate.voltage or 0.0)
    because = f"supply of up to {volts:.0f} V" if volts else "electrical supply"
    yield Caution("installation", "Connection and protection by licensed practice under the local code.", because)


def _commutation(job: Job, reduction: Reduction) -> Caution:
    """Sparking is seen, not measured: what the bench wrote on it stands beside the warning."""
    remarks = reduction.points.remarks
    rows = [str(row + 1) for row, remark in enumerate(remarks) if "spark" in remark.casefold()]
    because = f"motor type {job.motor.type}, no remark on sparking"
    if rows:
        because = f"sparking remarked in row {', '.join(rows)}"
    text = "Brushes spark: keep solvents, dust and gas away; watch the commutator at full load, it is not judged here."
    return Caution("commutation", text, because)


#: What a supply off its limits means for the figures, by the finding that states the numbers.
_SUPPLY_TEXTS = {
    VOLTAGE: "The supply voltage was off the plate; figures at rated voltage differ.",
    FREQUENCY: "The supply frequency was off the plate; figures at rated frequency differ.",
    VOLTAGE_UNBALANCE: "The supply was unbalanced: currents and heating are worse than on a sound supply.",
}


def _supply(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for one in findings:
        if one.id == CURRENT_UNBALANCE and one.matters:
            text = "One line carried far less than the others: check fuses, terminals and clamps before running again."
            yield Caution(one.id, text, f"current unbalance {one.measured:.0%} near the rating")
        if one.id in _SUPPLY_TEXTS and one.outcome == "fail" and one.measured is not None:
            off = one.measured if one.declared is None else one.measured / one.declared - 1.0
            because = f"{100.0 * off:.1f} % at most" if one.declared is None else f"{100.0 * off:+.1f} % from the plate"
            yield Caution(one.id, _SUPPLY_TEXTS[one.id], because)


def _insulation(job: Job, findings: tuple[Finding, ...]) -> Iterator[Caution]:
    """What stands first among the cautions: that a motor must not, or not yet, be energised."""
    judged = [one for one in findings if one.id in OF_INSULATION]
    failed = [one.title.lower() for one in judged if one.outcome in UNSOUND and one.matters]
    low_index = [one for one in judged if one.outcome in UNSOUND and not one.matters]
    unsure = [one.note for one in judged if one.outcome == "not tested"]
    if failed:
        text = "Do not energise this motor: its insulation to the frame failed. Dry, clean or repair it and test again."
        yield Caution(RESISTANCE, text, f"{' and '.join(failed)} below the least allowed")
    elif job.readings.insulation is None:
        text = "Test the insulation to the frame before this motor is energised."
        yield Caution(RESISTANCE, text, "no insulation reading in the job")
    elif unsure:
        text = "The insulation reading could not be judged; test it again before this motor is energised."
        yield Caution(RESISTANCE, text, unsure[0])
    elif low_index:
        text = "The insulation may be damp or dirty: dry and clean the winding, and test it again."
        yield Caution(RESISTANCE, text, f"polarization index {low_index[0].measured:.2g}")


def _heat(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for one in findings:
        above = one.measured is not None and one.required is not None and one.measured > (one.required.high or np.inf)
        if one.id == "winding_rise" and above and one.outcome == "not tested":
            text = "The winding became warmer than its class allows: find out why before loading the motor again."
            yield Caution("winding_rise", text, f"rise of {one.measured:.0f} K, {one.note}")


def _figures(job: Job, reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    if points.impossible.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(points.impossible))
        text = (
            "More shaft power than input power is impossible; those points are left out of the curve. "
            f"{IMPOSSIBLE_CAUSES.capitalize()}."
        )
        yield Caution("impossible", text, f"row {rows}")
    names = {
        "at_rated_current": "rated current",
        "at_rated_power": "rated power",
        "at_service_factor": "the service-factor load",
        "at_rated_speed": "rated speed",
    }
    beyond = [names[name] for name, found in reduction.operating.items() if found is not None and found.extrapolated]
    if beyond:
        yield Caution("extrapolated", "Values at this point lie up to 5 % beyond the tested range.", ", ".join(beyond))
    least = float(np.nanmin(points.torque, initial=0.0))
    if least < -0.02 * float(np.nanmax(np.abs(points.torque), initial=0.0)):
        yield Caution(
            "negative_torque",
            "A loaded motor has no negative torque: check zero, arm side and sign.",
            f"{least:.2f} N·m read",
        )
    fastest = float(np.nanmin(points.slip, initial=1.0))
    if job.motor.type in INDUCTION and fastest < -0.005:
        text = "An induction motor does not pass synchronous speed by itself: check frequency, poles and tachometer."
        yield Caution("above_synchronous", text, f"slip of {fastest:.1%}")
    yield from _plate(job, reduction)
    yield from _meters(reduction)


def _plate(job: Job, reduction: Reduction) -> Iterator[Caution]:
    """A rated power that the test contradicts by so much that a unit or a decimal point is wrong somewhere."""
    rated, current = job.nameplate.power, job.nameplate.current
    heaviest = float(np.nanmax(reduction.points.shaft_power, initial=0.0))
    drawn = float(np.nanmax(reduction.points.current, initial=0.0))
    if rated is None or not heaviest > 0.0:
        return
    loaded = current is not None and drawn >= _NEARLY * current
    if rated > _FAR_OFF * heaviest or (loaded and rated > _WEAK * heaviest) or heaviest > _WEAK * rated:
        text = "The plate's power and the test do not belong together: check the unit of the power, arm and scale."
        yield Caution("plate_power", text, f"{rated:.4g} W on the plate, {heaviest:.4g} W at the heaviest load")


def _meters(reduction: Reduction) -> Iterator[Caution]:
    points = reduction.points
    watts = np.asarray(power_factor(points.input_power, points.apparent_power))
    over = points.above_volt_amperes
    if over.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(over))
        text = "Watts above volts times amperes cannot be: check the wattmeter's ranges and connections."
        yield Caution("watts_above_volt_amperes", text, f"row {rows}")
    off = np.abs(np.asarray(power_factor(watts, reduction.meter_power_factor)) - 1.0)
    apart = np.isfinite(off) & (off > METERS_AGREE) & ~over
    if apart.any():
        rows = ", ".join(str(index + 1) for index in np.flatnonzero(apart))
        because = f"up to {float(off[apart].max()):.1%} in row {rows}"
        yield Caution(
            "meters_disagree",
            "The power-factor meter disagrees with watts over volt-amperes; the watts are used.",
            because,
        )


def _service_factor(findings: tuple[Finding, ...]) -> Iterator[Caution]:
    for one in findings:
        brief = "held for" not in one.note or NOT_STEADY in one.note
        if one.id == "service_factor" and one.outcome == "pass" and brief:
            text = (
                "The service-factor load was shown, not held to a steady temperature: it does not prove the motor can "
                "carry it continuously."
            )
            yield Caution("service_factor_brief", text, one.note)
