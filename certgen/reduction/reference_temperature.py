"""The temperature losses are told at, and what it rests on."""

from __future__ import annotations

from certgen.job.model import Job
from certgen.reduction.held_run import HeldRun
from certgen.reduction.model import Reduction
from certgen.standards.loss_procedure import LossProcedure

#: How far the load a winding's rise was measured at may be from rated load. Common practice, no source.
_AT_RATED_LOAD = 0.05


def reference_temperature(
    job: Job, reduction: Reduction, winding_rise: float | None, procedure: LossProcedure
) -> tuple[float | None, str]:
    """Winding temperature at rated load in air of the reference temperature, else that of the insulation class.

    Parameters
    ----------
    job : Job
        Rated power, insulation class, and the delay of the hot reading. [SI]
    reduction : Reduction
        Holds the run the motor was switched off after. [SI]
    winding_rise : float or None
        Rise of the winding by resistance at the instant of switching off. [K]
    procedure : LossProcedure
        Its coolant temperature, classes, and longest delay.

    Returns
    -------
    tuple of (float or None, str)
        Temperature [K], ``None`` where nothing tells it, and a sentence on what it rests on.
    """
    run = next((one for one in reduction.held_runs if one.ends_the_test), None)
    why_not = _late_reading(job, procedure) or _not_at_rated_load(job, run)
    if winding_rise is not None and run is not None and not why_not:
        taken = ", taken as at rated load," if run.load is None else ""
        source = procedure.source("reference_coolant")
        words = f"winding rise of {winding_rise:.0f} K after the {run.where}{taken} above air of 25 °C"
        return procedure.reference_coolant + winding_rise, f"Reference temperature: {words} ({source})."
    why_not = why_not or "no winding rise was measured"
    letter = job.nameplate.insulation_class
    by_class = procedure.reference_by_class.get(letter or "")
    if by_class is None:
        return (
            None,
            f"Losses at the temperature of the test: {why_not}, and no listed insulation class is on the plate.",
        )
    source = procedure.source("reference_by_class")
    return by_class, f"Reference temperature: insulation class {letter}, as {why_not} ({source})."


def _late_reading(job: Job, procedure: LossProcedure) -> str:
    """Why a hot reading does not tell the rise of running; a series of readings is carried back and always does."""
    hot = None if job.readings.winding is None else job.readings.winding.hot
    allowed = procedure.delay_allowed(job.nameplate.power)
    if hot is None or hot.series is not None or (hot.after is not None and hot.after <= allowed):
        return ""
    return f"the hot resistance was not read within {allowed:.0f} s of switching off"


def _not_at_rated_load(job: Job, run: HeldRun | None) -> str:
    """Why the motor was not switched off after running at rated load; empty where it was, or may be taken so."""
    if run is None:
        return "no run at one load ended the test"
    power = job.nameplate.power
    if run.load is None or power is None or abs(run.load / power - 1.0) <= _AT_RATED_LOAD:
        return ""
    return f"the {run.where} was held at {run.load / power:.0%} of rated load"
