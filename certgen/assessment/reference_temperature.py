"""The temperature losses are told at, and what it rests on."""

from __future__ import annotations

import math

from certgen.job.model import Job
from certgen.readings.model import Readings
from certgen.reduction.electrical import electrical_input
from certgen.reduction.winding import WindingReadings, hot_state
from certgen.standards.loss_procedure import LossProcedure

_ICE_POINT = 273.15  # K
#: Part by which the current of a heat run may differ from the rated one. Common practice, no source.
_AT_RATED_LOAD = 0.05


def reference_temperature(
    job: Job, readings: Readings, winding: WindingReadings, procedure: LossProcedure
) -> tuple[float | None, str]:
    """Winding temperature at rated load in air of the reference temperature, else that of the insulation class.

    Parameters
    ----------
    job : Job
        Insulation class, and the hot reading with its delay. [SI]
    readings : Readings
        The heat run. [SI]
    winding : WindingReadings
        Resistance cold and hot. [SI]
    procedure : LossProcedure
        Its coolant, classes and delay.

    Returns
    -------
    tuple of (float or None, str)
        Temperature [K], ``None`` where nothing tells it, and its basis in words.
    """
    if winding.cold is None:
        return None, "losses at the temperature of the test: readings.winding.cold is missing"
    rise, why_not = _measured_rise(job, readings, winding, procedure)
    memory = procedure.source("reference_by_class")
    if rise is not None:
        coolant = procedure.reference_coolant
        words = f"winding rise of {rise:.0f} K after the heat run, taken as at rated load, above air of 25 °C"
        return coolant + rise, f"{words} ({memory})"
    letter = job.nameplate.insulation_class
    by_class = procedure.reference_by_class.get(letter or "")
    if by_class is None:
        return None, f"losses at the temperature of the test: {why_not}, and no insulation class that {memory} lists"
    return by_class, f"insulation class {letter}, as {why_not} ({memory})"


def _measured_rise(
    job: Job, readings: Readings, winding: WindingReadings, procedure: LossProcedure
) -> tuple[float | None, str]:
    run = readings.others.get("heat_run")
    hot = None if job.readings.winding is None else job.readings.winding.hot
    if run is None or hot is None:
        return None, "no heat run with a hot resistance was made"
    allowed = procedure.delay_allowed(job.nameplate.power)
    if hot.after is None or hot.after > allowed:
        return None, f"the hot resistance was not read within {allowed:.0f} s of switching off"
    coolant = hot.ambient if hot.ambient is not None else job.conditions.ambient
    if coolant is None:
        return None, "the temperature of the cooling air at the hot reading is not given"
    current = electrical_input(run, job.motor.type).current
    rated = job.nameplate.current
    if rated is not None and (abs(current / rated - 1.0) > _AT_RATED_LOAD).any():
        return None, "the heat run was not at rated current"
    _, temperature = hot_state(winding)
    rise = temperature - coolant
    if not math.isfinite(rise) or rise <= 0.0:
        return None, "the hot resistance shows no rise"
    return rise, ""
