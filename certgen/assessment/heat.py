"""How warm the motor became: figures of the heat run and of the winding, and how far from steady."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from certgen.assessment.doubts import errors_of, with_errors
from certgen.assessment.results import Finding, Thermal
from certgen.assessment.winding_rise import allowed_rise, ending_run, winding_rise_finding
from certgen.job.model import Job
from certgen.physics.thermal import Exponential
from certgen.quantity import measured
from certgen.readings.model import Readings
from certgen.reduction.heat import WindingRise, winding_rise
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.errors import Errors
from certgen.reduction.uncertainty.heat_errors import run_errors
from certgen.reduction.uncertainty.linear import Correlated
from certgen.reduction.uncertainty.winding_errors import RiseErrors, hot_as_read, rise_errors
from certgen.standards.loss_procedure import procedure_of
from certgen.standards.published import standard_behind
from certgen.standards.temperature_limits import RiseLimit, SteadyRule, steady_rule


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
    sure = None if errors is None or winding.rise is None else errors.doubt(winding.rise)
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
