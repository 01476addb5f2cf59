"""How warm the motor became: figures of the heat run and of the winding, and how far from steady."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
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
from certgen.results.model import Curve, Thermal
from certgen.results.uncertainty import errors_of, with_errors
from certgen.standards.criteria import NEMA, TablesBeside
from certgen.standards.duty import SHORT_TIME, read_duty
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import (
    RATED,
    SERVICE_FACTOR,
    RiseLimit,
    SteadyRule,
    at_ambient,
    build_of,
    rise_limit,
    short_time,
    steady_rule,
)

# The rise the winding is allowed: by its class, the plate's ambient and duty, and the load held.


#: A load this near counts as the wanted one. Common practice, no source.
NEAR = 0.02


def ending_run(reduction: Reduction) -> HeldRun | None:
    """The run at one load after which the motor was switched off."""
    return next((run for run in reduction.held_runs if run.ends_the_test), None)


def allowed_rise(job: Job, run: HeldRun | None, standard: str) -> RiseLimit | Message:
    """Greatest rise by a standard that the plate's class, ambient and duty allow at the load held, or why none."""
    plate = job.nameplate
    if plate.insulation_class is None:
        return Message("rise_limit.no_class")
    load = SERVICE_FACTOR if _at_service_factor(job, run, standard) else RATED
    limit = rise_limit(
        standard,
        plate.insulation_class,
        motor_type=job.motor.type,
        power=plate.power,
        load=load,
        service_factor=plate.service_factor,
        build=build_of(job.motor.enclosure, job.motor.cooling, job.motor.frame),
    )
    if limit is None:
        key = "rise_limit.none_rated" if load == RATED else "rise_limit.none_service_factor"
        return Message(key, letter=plate.insulation_class, type=job.motor.type)
    duty = read_duty(plate.duty)
    if duty is not None and duty.type == SHORT_TIME:
        limit = short_time(limit, standard)
    return at_ambient(limit, standard, plate.ambient) or Message("rise_limit.beyond_ambient")


def _at_service_factor(job: Job, run: HeldRun | None, standard: str) -> bool:
    power, factor = job.nameplate.power, job.nameplate.service_factor
    if standard != NEMA or power is None or factor is None or factor <= 1.0:
        return False
    return run is not None and run.load is not None and abs(run.load / (power * factor) - 1.0) <= NEAR


# Figures of the heat run and of the winding.


@dataclass(frozen=True, eq=False)
class HeatFigures:
    """How warm the motor became, and what its rise may be held against."""

    thermal: Thermal | None  # None where neither a run at one load nor a hot winding was read
    rise: WindingRise | Message  # of the winding by resistance, or why it is not known
    rise_uncertainty: Uncertainty | None  # K
    limit: RiseLimit | Message  # allowed at the load held, or why there is none
    limit_load: float  # part of rated load that limit is for: 1, or the service factor
    run: HeldRun | None  # at one load, after which the motor was switched off
    last_change: float | None  # of that run's temperature in the time the rule of steadiness looks back [K]
    greatest_power: float  # of the load points [W]; minus infinity where none was measured
    working_temperature: float | None = None  # of the winding at rated load and steady [K]


def heat_figures(job: Job, readings: Readings, reduction: Reduction, beside: TablesBeside) -> HeatFigures:
    """Figures of heat, and those the winding's rise is judged by.

    Parameters
    ----------
    job : Job
        Plate, winding readings, conditions. [SI]
    readings : Readings
        The tables. [SI]
    reduction : Reduction
        Holds the runs at one load. [SI]
    beside : TablesBeside
        The tables beside the criteria set: whose rises of temperature, and whose procedure.
    """
    rise = winding_rise(job, readings, constant=procedure_of(beside.procedure).copper_constant)
    run, limit = ending_run(reduction), allowed_rise(job, ending_run(reduction), beside.temperature)
    winding, errors = rise_with_errors(job, readings, reduction, beside.procedure), errors_of(reduction)
    rule, service_factor = steady_rule(beside.temperature), job.nameplate.service_factor
    at_service_factor = _at_service_factor(job, run, beside.temperature)
    thermal = None
    if run is not None or isinstance(rise, WindingRise):
        fit = None if run is None else run.exponential()
        figures: dict[str, Correlated] = {"winding_rise": winding.rise, "hot_resistance": winding.resistance}
        if errors is not None and run is not None and isinstance(fit, Exponential):
            figures |= run_errors(errors, job, run, fit)
        thermal = _with_errors(_thermal(rise, limit, run, fit, rule=rule), figures, errors)
    points = reduction.points
    return HeatFigures(
        thermal=thermal,
        rise=rise,
        rise_uncertainty=None if errors is None or winding.rise is None else errors.uncertainty(winding.rise),
        limit=limit,
        limit_load=service_factor if at_service_factor and service_factor else 1.0,
        run=run,
        last_change=None if run is None else run.change_within(rule.within),
        greatest_power=float(np.nanmax(np.where(points.impossible, np.nan, points.shaft_power), initial=-np.inf)),
        working_temperature=_working_temperature(job, rise, thermal, at_service_factor=at_service_factor),
    )


def _working_temperature(
    job: Job, rise: WindingRise | Message, thermal: Thermal | None, *, at_service_factor: bool
) -> float | None:
    """Temperature of the winding at rated load and steady [K], by its resistance after a steady run; else ``None``."""
    winding = job.readings.winding
    if isinstance(rise, Message) or thermal is None or not thermal.steady or at_service_factor or winding is None:
        return None
    air = winding.hot.ambient if winding.hot is not None and winding.hot.ambient is not None else job.conditions.ambient
    return None if air is None else air + rise.rise


def rise_with_errors(job: Job, readings: Readings, reduction: Reduction, procedure: str) -> RiseErrors:
    """The winding's rise [K] and hot resistance [ohm] with their errors; no rise where it is not known."""
    constant, errors = procedure_of(procedure).copper_constant, errors_of(reduction)
    rise = winding_rise(job, readings, constant=constant)
    if errors is None:
        return RiseErrors()
    if isinstance(rise, Message):
        return RiseErrors(None, hot_as_read(errors))
    return rise_errors(errors, rise, constant=constant)


def _with_errors(thermal: Thermal, figures: dict[str, Correlated], errors: Errors | None) -> Thermal:
    """The figures of heat with their uncertainties."""
    changed: dict[str, Any] = {
        name: with_errors(getattr(thermal, name), figure, errors) for name, figure in figures.items()
    }
    return replace(thermal, **changed)


def missing_heat(job: Job) -> Iterator[Message]:
    """One sentence where a reader would expect the winding's rise and no hot resistance was read."""
    winding = job.readings.winding
    if job.nameplate.insulation_class is not None and (winding is None or winding.hot is None):
        yield Message("missing.winding_rise")


def _thermal(
    rise: WindingRise | Message,
    allowed: RiseLimit | Message,
    run: HeldRun | None,
    fit: Exponential | Message | None,
    *,
    rule: SteadyRule,
) -> Thermal:
    figures = rise if isinstance(rise, WindingRise) else None
    limit = allowed if figures is not None and isinstance(allowed, RiseLimit) else None
    exponential = fit if isinstance(fit, Exponential) else None
    final = exponential.final if exponential is not None and run is not None and run.ambient_known else None
    return Thermal(
        winding_rise=None if figures is None else measured(figures.rise, "K"),
        hot_resistance=None if figures is None else measured(figures.resistance, "ohm"),
        rise_limit=None if limit is None else measured(limit.rise, "K"),
        rise_limit_source=None if limit is None else limit.source,
        heat_run_part="" if run is None else run.part,
        final_rise=measured(final, "K"),
        time_constant=None if exponential is None else measured(exponential.time_constant, "s"),
        remaining_rise=None
        if exponential is None or run is None
        else measured(exponential.final - float(run.rise[-1]), "K"),
        steady=_steady(run, rule),
        steady_criterion=Message("heat_run.steady_rule", change=rule.change, within=rule.within, source=rule.source),
        notes=tuple(_notes(rise, run, fit, rule)),
        heat_run=None if run is None else _curve(run.time - run.time[0], run.rise),
        heat_run_fit=None if run is None or exponential is None else _fitted(run, exponential),
    )


#: How far beyond the run its exponential is drawn, in parts of its length, and in how many pieces.
_BEYOND, _PIECES = 0.25, 80


def _fitted(run: HeldRun, fit: Exponential) -> Curve:
    """The exponential from the first reading on, and a quarter of the run's length past its end."""
    time = np.linspace(0.0, (1.0 + _BEYOND) * run.length, _PIECES + 1)
    return _curve(time, fit.final - (fit.final - fit.start) * np.exp(-time / fit.time_constant))


def _curve(time: Array, rise: Array) -> Curve:
    return Curve({"time": tuple(time.tolist()), "rise": tuple(rise.tolist())}, {"time": "s", "rise": "K"})


def _steady(run: HeldRun | None, rule: SteadyRule) -> bool | None:
    change = None if run is None else run.change_within(rule.within)
    return None if change is None else abs(change) <= rule.change


def _notes(
    rise: WindingRise | Message, run: HeldRun | None, fit: Exponential | Message | None, rule: SteadyRule
) -> Iterator[Message]:
    if isinstance(rise, WindingRise):
        yield Message("heat_run.by_resistance", how=rise.note or _one_reading(rise))
    if run is None:
        return
    part = Message(f"heat_run.part.{run.part}")
    yield Message("heat_run.temperatures_of", part=part, where=run.where, length=run.length)
    change = run.change_within(rule.within)
    if change is None:
        yield Message("heat_run.not_judged", within=rule.within)
    else:
        yield Message("heat_run.changed", change=change, within=rule.within)
    if isinstance(fit, Message):
        yield Message("heat_run.no_final_rise", why=fit)
    elif not run.ambient_known:
        yield Message("heat_run.no_final_rise_without_ambient")


def _one_reading(rise: WindingRise) -> Message:
    if rise.after is None:
        return Message("heat_run.one_reading")
    return Message("heat_run.one_reading_after", after=rise.after)
