"""The temperature losses are told at, and what it rests on."""

from __future__ import annotations

import numpy as np

from certgen.job.model import Job
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.standards.loss_procedure import LossProcedure

#: How far a heat run may be from rated load, by its load or its current. Common practice, no source.
_AT_RATED_LOAD = 0.05


def reference_temperature(
    job: Job, readings: Readings, winding_rise: float | None, procedure: LossProcedure
) -> tuple[float | None, str]:
    """Winding temperature at rated load in air of the reference temperature, else that of the insulation class.

    Parameters
    ----------
    job : Job
        Insulation class, rated current, and the load of the heat run. [SI]
    readings : Readings
        The heat run. [SI]
    winding_rise : float or None
        Rise of the winding by resistance at the instant of switching off. [K]
    procedure : LossProcedure
        Its coolant temperature and its classes.

    Returns
    -------
    tuple of (float or None, str)
        Temperature [K], ``None`` where nothing tells it, and a sentence on what it rests on.
    """
    why_not = _not_measured(job, readings, winding_rise)
    if winding_rise is not None and not why_not:
        source = procedure.sources["reference_coolant"]
        words = f"winding rise of {winding_rise:.0f} K in the heat run{_taken(job, readings)} above air of 25 °C"
        return procedure.reference_coolant + winding_rise, f"Reference temperature: {words} ({source})."
    letter = job.nameplate.insulation_class
    by_class = procedure.reference_by_class.get(letter or "")
    if by_class is None:
        return (
            None,
            f"Losses at the temperature of the test: {why_not}, and no listed insulation class is on the plate.",
        )
    source = procedure.sources["reference_by_class"]
    return by_class, f"Reference temperature: insulation class {letter}, as {why_not} ({source})."


def _taken(job: Job, readings: Readings) -> str:
    current = electrical_input(readings.others["heat_run"], job.motor.type).current
    told = _stated_load(job) is not None or (job.nameplate.current is not None and bool(np.isfinite(current).all()))
    return "" if told else ", taken as at rated load,"


def _stated_load(job: Job) -> float | None:
    source = job.readings.heat_run
    return None if source is None else getattr(source.also, "load", None)


def _not_measured(job: Job, readings: Readings, winding_rise: float | None) -> str:
    """Why the rise is not that of a heat run at rated load; empty where it may be taken as such."""
    run = readings.others.get("heat_run")
    if run is None or winding_rise is None:
        return "the winding rise of a heat run at rated load was not measured"
    stated = _stated_load(job)
    if stated is not None:
        return "" if abs(stated - 1.0) <= _AT_RATED_LOAD else f"the heat run was made at {stated:.0%} of rated load"
    current, rated = electrical_input(run, job.motor.type).current, job.nameplate.current
    if rated is not None and (abs(current / rated - 1.0) > _AT_RATED_LOAD).any():
        return "the heat run was not made at rated current"
    return ""
