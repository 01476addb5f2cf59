"""How warm the motor became: figures of the heat run and of the winding, and how far from steady."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from certgen.assessment.decision import SIMPLE_ACCEPTANCE, Decision, as_found, decide
from certgen.job.model import Job
from certgen.physics.thermal import Exponential
from certgen.quantity import measured
from certgen.readings.model import Readings
from certgen.reduction.heat import WindingRise, winding_rise
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.reduction.uncertainty.winding_errors import RiseErrors, hot_as_read, rise_errors, run_errors
from certgen.results.model import Finding, Limits, Thermal
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards.criteria import NEMA, standard_behind
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import (
    RATED,
    SERVICE_FACTOR,
    RiseLimit,
    SteadyRule,
    at_ambient,
    rise_limit,
    short_time,
    steady_rule,
)

# How long a load must be held before a rise of temperature says something, by the duty on the plate.


#: Duty types by their letters: IEC 60034-1, 4.2, from memory. 'CONT' and a bare time are how NEMA plates write it.
_CONTINUOUS = re.compile(r"S ?1\b.*|CONT.*", re.IGNORECASE)
_SHORT_TIME = re.compile(r"(?:S ?2\b\D*)?(\d+) ?MIN.*", re.IGNORECASE)


@dataclass(frozen=True)
class Duty:
    """Continuous, short-time with its running time [s], or a kind that is not judged (both fields unset)."""

    continuous: bool = False
    running_time: float | None = None


def duty_of(written: str | None) -> Duty:
    """The duty as the plate writes it; a plate that writes none means continuous duty."""
    text = (written or "S1").strip()
    if _CONTINUOUS.fullmatch(text):
        return Duty(continuous=True)
    short = _SHORT_TIME.fullmatch(text)
    return Duty(running_time=60.0 * float(short[1])) if short and float(short[1]) > 0.0 else Duty()


# The winding's rise held against its insulation class: what it proves, and what it cannot.


#: A load this near counts as the wanted one. Common practice, no source.
_NEAR = 0.02
#: Least service factor that has limits of its own. NEMA MG 1, 12.43.
_SERVICE_FACTOR = 1.15
#: How much longer a short-time load may be held, and how warm it may start [K]: IEC 60034-1, 8.5.3, from memory.
_OVERRUN, _COLD = 1.05, 5.0


@dataclass
class _Weight:
    """What a measured rise is worth."""

    too_low: list[str] = field(default_factory=list)  # why the true rise may be higher: it cannot pass
    too_high: list[str] = field(default_factory=list)  # why rated load may warm it less: it cannot fail
    told: list[str] = field(default_factory=list)  # what else a reader must know


def ending_run(reduction: Reduction) -> HeldRun | None:
    """The run at one load after which the motor was switched off."""
    return next((run for run in reduction.held_runs if run.ends_the_test), None)


def allowed_rise(job: Job, run: HeldRun | None, criteria: str) -> RiseLimit | str:
    """Greatest rise the plate's class, ambient and duty allow at the load held, or why there is none."""
    plate, standard = job.nameplate, standard_behind(criteria)
    if plate.insulation_class is None:
        return "the plate gives no insulation class"
    load = SERVICE_FACTOR if _at_service_factor(job, run, standard) else RATED
    limit = rise_limit(standard, plate.insulation_class, motor_type=job.motor.type, power=plate.power, load=load)
    if limit is None:
        return f"the standard's table has no rise for class {plate.insulation_class}, {job.motor.type}, {load} load"
    if duty_of(plate.duty).running_time is not None:
        limit = short_time(limit, standard)
    return at_ambient(limit, standard, plate.ambient) or "the plate's ambient lies beyond the standard's rule"


def _at_service_factor(job: Job, run: HeldRun | None, standard: str) -> bool:
    power, factor = job.nameplate.power, job.nameplate.service_factor
    if standard != NEMA or power is None or factor is None or factor < _SERVICE_FACTOR:
        return False
    return run is not None and run.load is not None and abs(run.load / (power * factor) - 1.0) <= _NEAR


def winding_rise_finding(
    job: Job, reduction: Reduction, rise: WindingRise | str, criteria: str, sure: Uncertainty | None = None
) -> Finding | None:
    """The winding's rise against what its class allows; ``None`` where the plate gives no class or nothing was read.

    A rise passes only where the load was held long enough and the reading was taken in time. A rise above the limit
    fails whenever, unless the load may have been above the rated one.
    """
    winding = job.readings.winding
    if job.nameplate.insulation_class is None or winding is None or winding.hot is None:
        return None
    run = ending_run(reduction)
    limit = allowed_rise(job, run, criteria)
    if isinstance(rise, str) or isinstance(limit, str):
        reason = next(one for one in (rise, limit) if isinstance(one, str))
        value = None if isinstance(rise, str) else rise.rise
        return _finding(Decision("not tested", SIMPLE_ACCEPTANCE), reason, value, None)
    weight = _Weight()
    if rise.note:
        weight.told.append(rise.note)
    _weigh_reading(weight, rise, job, criteria)
    _weigh_load(weight, run, job, reduction, criteria)
    if run is not None:
        _weigh_length(weight, run, duty_of(job.nameplate.duty), criteria)
    above = rise.rise > limit.rise
    against = weight.too_high if above else weight.too_low
    decision = decide(rise.rise, Limits(high=limit.rise), sure, job.decision_rule)
    if against:
        decision = Decision("not tested", SIMPLE_ACCEPTANCE)
    return _finding(decision, "; ".join((*against, *weight.told)), rise.rise, limit)


def _finding(decision: Decision, note: str, rise: float | None, limit: RiseLimit | None) -> Finding:
    return Finding(
        id="winding_rise",
        title="Winding temperature rise",
        **as_found(decision),
        unit="K",
        declared=None if limit is None else limit.rise,
        measured=rise,
        required=None if limit is None else Limits(high=limit.rise),
        source="" if limit is None else limit.source,
        note=note,
    )


def _weigh_reading(weight: _Weight, rise: WindingRise, job: Job, criteria: str) -> None:
    procedure = procedure_of(criteria)
    allowed = procedure.delay_allowed(job.nameplate.power)
    if rise.after is None:
        weight.too_low.append("the time from switching off to the reading is not recorded, so the rise may be low")
    elif rise.after > allowed:
        source = procedure.source("reading_delay")
        weight.too_low.append(
            f"read {rise.after:.0f} s after switching off, {allowed:.0f} s allowed ({source}): the rise is low"
        )
    elif rise.after > 0.0:
        weight.told.append(f"read {rise.after:.0f} s after switching off, {allowed:.0f} s allowed")


def _weigh_load(weight: _Weight, run: HeldRun | None, job: Job, reduction: Reduction, criteria: str) -> None:
    power = job.nameplate.power
    if run is None:
        weight.too_low.append("not held long enough: no run at one load with its temperatures is recorded")
        if power is None or _greatest(reduction) > (1.0 + _NEAR) * power:
            weight.too_high.append("the load before switching off is not known, and loads above the rated were tested")
        return
    if run.load is None or power is None:
        missing = run.load_missing or "the plate gives no rated power"
        weight.too_low.append(missing)
        weight.too_high.append(missing)
        return
    part = run.load / power
    wanted = 1.0
    if _at_service_factor(job, run, standard_behind(criteria)) and job.nameplate.service_factor:
        wanted = job.nameplate.service_factor
    said = f"{run.where} at {100.0 * part:.0f} % of rated load"
    if part < (1.0 - _NEAR) * wanted:
        weight.too_low.append(f"{said}, so rated load may warm it more")
    elif part > (1.0 + _NEAR) * wanted:
        weight.too_high.append(f"{said}, so rated load may warm it less")
    weight.told.append(f"{said}, held {run.length / 60.0:.0f} min")


def _greatest(reduction: Reduction) -> float:
    points = reduction.points
    return float(np.nanmax(np.where(points.impossible, np.nan, points.shaft_power), initial=-np.inf))


def _weigh_length(weight: _Weight, run: HeldRun, duty: Duty, criteria: str) -> None:
    minutes = run.length / 60.0
    if duty.continuous:
        rule = steady_rule(standard_behind(criteria))
        change = run.change_within(rule.within)
        if change is None:
            weight.too_low.append(f"not held long enough: {minutes:.0f} min tell nothing of the last half hour")
        elif abs(change) > rule.change:
            weight.too_low.append(f"not held long enough: {change:+.1f} K in the last half hour")
        return
    if duty.running_time is None:
        weight.too_low.append("the duty on the plate is not judged")
        weight.too_high.append("the duty on the plate is not judged")
        return
    if run.length < (1.0 - _NEAR) * duty.running_time:
        weight.too_low.append(f"not held long enough: {minutes:.0f} min of {duty.running_time / 60.0:.0f} min")
    if run.length > _OVERRUN * duty.running_time:
        weight.too_high.append(f"held {minutes:.0f} min, longer than the duty on the plate")
    if run.ambient_known and run.rise[0] > _COLD:
        weight.too_high.append("the run did not start cold")


# How warm the motor became: figures of the heat run and of the winding, and how far from steady.


def heat_of(
    job: Job, readings: Readings, reduction: Reduction, criteria: str
) -> tuple[Thermal | None, tuple[Finding, ...]]:
    """Figures of heat, and the finding on the winding's rise where there is something to judge.

    Parameters
    ----------
    job : Job
        Plate, winding readings, conditions. [SI]
    readings : Readings
        The tables. [SI]
    reduction : Reduction
        Holds the runs at one load. [SI]
    criteria : str
        Name of the criteria set.

    Returns
    -------
    tuple of (Thermal or None, tuple of Finding)
        No figures where neither a run at one load nor a hot winding was read.
    """
    rise = winding_rise(job, readings, constant=procedure_of(criteria).copper_constant)
    run = ending_run(reduction)
    winding = rise_with_errors(job, readings, reduction, criteria)
    errors = errors_of(reduction)
    sure = None if errors is None or winding.rise is None else errors.uncertainty(winding.rise)
    finding = winding_rise_finding(job, reduction, rise, criteria, sure)
    findings = () if finding is None else (finding,)
    if run is None and isinstance(rise, str):
        return None, findings
    fit = None if run is None else run.exponential()
    rule = steady_rule(standard_behind(criteria))
    thermal = _thermal(rise, allowed_rise(job, run, criteria), run, fit, rule=rule)
    found: dict[str, Correlated] = {"winding_rise": winding.rise, "hot_resistance": winding.resistance}
    if errors is not None and run is not None and isinstance(fit, Exponential):
        found |= run_errors(errors, job, run, fit)
    return _with_errors(thermal, found, errors), findings


def rise_with_errors(job: Job, readings: Readings, reduction: Reduction, criteria: str) -> RiseErrors:
    """The winding's rise [K] and hot resistance [ohm] with their errors; no rise where it is not known."""
    constant, errors = procedure_of(criteria).copper_constant, errors_of(reduction)
    rise = winding_rise(job, readings, constant=constant)
    if errors is None:
        return RiseErrors()
    if isinstance(rise, str):
        return RiseErrors(None, hot_as_read(errors))
    return rise_errors(errors, rise, constant=constant)


def _with_errors(thermal: Thermal, found: dict[str, Correlated], errors: Errors | None) -> Thermal:
    """The figures of heat with their uncertainties."""
    sure: dict[str, Any] = {name: with_errors(getattr(thermal, name), one, errors) for name, one in found.items()}
    return replace(thermal, **sure)


def missing_heat(job: Job) -> Iterator[str]:
    """One sentence where a reader would expect the winding's rise and no hot resistance was read."""
    winding = job.readings.winding
    if job.nameplate.insulation_class is not None and (winding is None or winding.hot is None):
        yield "Winding temperature rise: no winding resistance was read after switching off."


def _thermal(
    rise: WindingRise | str,
    allowed: RiseLimit | str,
    run: HeldRun | None,
    fit: Exponential | str | None,
    *,
    rule: SteadyRule,
) -> Thermal:
    figures = rise if isinstance(rise, WindingRise) else None
    limit = allowed if figures is not None and isinstance(allowed, RiseLimit) else None
    sure = fit if isinstance(fit, Exponential) else None
    final = sure.final if sure is not None and run is not None and run.ambient_known else None
    return Thermal(
        winding_rise=None if figures is None else measured(figures.rise, "K"),
        hot_resistance=None if figures is None else measured(figures.resistance, "ohm"),
        rise_limit=None if limit is None else measured(limit.rise, "K"),
        rise_limit_source="" if limit is None else limit.source,
        heat_run_part="" if run is None else run.part,
        final_rise=measured(final, "K"),
        time_constant=None if sure is None else measured(sure.time_constant, "s"),
        remaining_rise=None if sure is None or run is None else measured(sure.final - float(run.rise[-1]), "K"),
        steady=_steady(run, rule),
        steady_criterion=f"at most {rule.change:g} K in {rule.within / 60.0:.0f} min ({rule.source})",
        notes=tuple(_notes(rise, run, fit, rule)),
    )


def _steady(run: HeldRun | None, rule: SteadyRule) -> bool | None:
    change = None if run is None else run.change_within(rule.within)
    return None if change is None else abs(change) <= rule.change


def _notes(
    rise: WindingRise | str, run: HeldRun | None, fit: Exponential | str | None, rule: SteadyRule
) -> Iterator[str]:
    if isinstance(rise, WindingRise):
        how = rise.note or "by one reading" + ("" if rise.after is None else f" {rise.after:.0f} s after switching off")
        yield f"Winding rise by resistance, copper, {how}."
    if run is None:
        return
    yield f"Temperatures of the {run.part}, {run.where}, over {run.length / 60.0:.0f} min."
    change = run.change_within(rule.within)
    if change is None:
        yield f"Whether steady is not judged: the run is shorter than {rule.within / 60.0:.0f} min."
    else:
        yield f"Changed by {change:+.1f} K in the last {rule.within / 60.0:.0f} min."
    if isinstance(fit, str):
        yield f"No final rise: {fit}."
    elif not run.ambient_known:
        yield "No final rise: the room's temperature was not recorded."
