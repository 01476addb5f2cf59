"""Winding temperature findings: the rise held against its insulation class, what it proves, and what it cannot."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from certgen.assessment.decision import ACCEPTED, UNDECIDED, Decision, as_found, decide, joined
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.reduction.heat import WindingRise
from certgen.reduction.held_run import WINDING, HeldRun
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.heat import NEAR, Duty, HeatFigures, duty_of
from certgen.results.model import Finding, Limits
from certgen.standards.criteria import standard_behind
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import RiseLimit, steady_rule

#: Temperature of the cooling air where the job does not state it [K]. Common practice, no source.
ROOM = 273.15 + 20.0
#: How much longer a short-time load may be held, and how warm it may start [K]: IEC 60034-1, 8.5.3, from memory.
_OVERRUN, _COLD = 1.05, 5.0


@dataclass
class _Evidence:
    """What a measured rise is worth."""

    too_low: list[Message] = field(default_factory=list)  # why the true rise may be higher: it cannot pass
    too_high: list[Message] = field(default_factory=list)  # why rated load may warm it less: it cannot fail
    remarks: list[Message] = field(default_factory=list)  # what else a reader must know


def winding_rise_finding(job: Job, figures: HeatFigures, criteria: str) -> Finding | None:
    """The winding's rise against what its class allows; ``None`` where the plate gives no class or nothing was read.

    A rise passes only where the load was held long enough and the reading was taken in time. A rise above the limit
    fails whenever, unless the load may have been above the rated one.
    """
    winding = job.readings.winding
    if job.nameplate.insulation_class is None or winding is None or winding.hot is None:
        return None
    rise, limit = figures.rise, figures.limit
    if isinstance(rise, Message):
        return _finding(UNDECIDED, rise, None, None)
    if isinstance(limit, Message):
        return _finding(UNDECIDED, limit, rise.rise, None)
    evidence = _Evidence()
    if rise.note:
        evidence.remarks.append(rise.note)
    _weigh_reading(evidence, rise, job, criteria)
    _weigh_load(evidence, figures, job)
    if figures.run is not None:
        _weigh_length(evidence, figures.run, figures.last_change, duty_of(job.nameplate.duty), criteria)
    against = evidence.too_high if rise.rise > limit.rise else evidence.too_low
    decision = decide(rise.rise, Limits(high=limit.rise), figures.rise_uncertainty, job.decision_rule)
    if against:
        decision = UNDECIDED
    return _finding(decision, joined((*against, *evidence.remarks)), rise.rise, limit)


def _finding(decision: Decision, note: Message | str, rise: float | None, limit: RiseLimit | None) -> Finding:
    return Finding(
        id="winding_rise",
        title=Message("finding.winding_rise"),
        **as_found(decision),
        unit="K",
        declared=None if limit is None else limit.rise,
        measured=rise,
        required=None if limit is None else Limits(high=limit.rise),
        source="" if limit is None else limit.source,
        note=note,
    )


def _weigh_reading(evidence: _Evidence, rise: WindingRise, job: Job, criteria: str) -> None:
    procedure, after = procedure_of(criteria), rise.after
    allowed = procedure.delay_allowed(job.nameplate.power)
    if after is None:
        evidence.too_low.append(Message("winding_rise.delay_not_recorded"))
    elif after > allowed:
        source = procedure.source("reading_delay")
        evidence.too_low.append(Message("winding_rise.read_late", after=after, allowed=allowed, source=source))
    elif after > 0.0:
        evidence.remarks.append(Message("winding_rise.read_in_time", after=after, allowed=allowed))


def _weigh_load(evidence: _Evidence, figures: HeatFigures, job: Job) -> None:
    run, power = figures.run, job.nameplate.power
    if run is None:
        evidence.too_low.append(Message("winding_rise.no_run"))
        if power is None or figures.greatest_power > (1.0 + NEAR) * power:
            evidence.too_high.append(Message("winding_rise.load_may_be_higher"))
        return
    if run.load is None or power is None:
        missing = run.load_missing or Message("winding_rise.no_rated_power")
        evidence.too_low.append(missing)
        evidence.too_high.append(missing)
        return
    part = run.load / power
    if part < (1.0 - NEAR) * figures.limit_load:
        evidence.too_low.append(Message("winding_rise.may_be_more", where=run.where, part=part))
    elif part > (1.0 + NEAR) * figures.limit_load:
        evidence.too_high.append(Message("winding_rise.may_be_less", where=run.where, part=part))
    evidence.remarks.append(Message("winding_rise.held", where=run.where, part=part, length=run.length))


def _weigh_length(evidence: _Evidence, run: HeldRun, change: float | None, duty: Duty, criteria: str) -> None:
    if duty.continuous:
        rule = steady_rule(standard_behind(criteria))
        if change is None:
            evidence.too_low.append(Message("winding_rise.too_short_to_tell", length=run.length))
        elif abs(change) > rule.change:
            evidence.too_low.append(Message("winding_rise.still_changing", change=change))
        return
    if duty.running_time is None:
        evidence.too_low.append(Message("winding_rise.duty_not_judged"))
        evidence.too_high.append(Message("winding_rise.duty_not_judged"))
        return
    if run.length < (1.0 - NEAR) * duty.running_time:
        evidence.too_low.append(Message("winding_rise.short_of_duty", length=run.length, duty=duty.running_time))
    if run.length > _OVERRUN * duty.running_time:
        evidence.too_high.append(Message("winding_rise.beyond_duty", length=run.length))
    if run.ambient_known and run.rise[0] > _COLD:
        evidence.too_high.append(Message("winding_rise.not_cold"))


# The winding's temperature as a column of the load test or of the heat run tells it.


def winding_temperature_finding(job: Job, reduction: Reduction, figures: HeatFigures) -> Finding | None:
    """The greatest winding temperature read at up to rated load, against what its class allows above the cooling air.

    It fails however short the test was, for a motor only becomes warmer; it passes only at the end of a heat run at
    rated load that was steady. ``None`` where the plate gives no class or no winding temperature was read.
    """
    limit = figures.limit
    if job.nameplate.insulation_class is None or isinstance(limit, Message):
        return None
    read = _warmest(job, reduction)
    run = figures.run if figures.run is not None and figures.run.part == WINDING and figures.run.ambient_known else None
    if read is None and run is None:
        return None
    rise, uncertainty, note = (None, None, None) if read is None else read
    steady = False
    if run is not None and job.nameplate.power is not None and run.load is not None:
        part, end = run.load / job.nameplate.power, float(run.rise[-1])
        if part <= (1.0 + NEAR) * figures.limit_load and (rise is None or end >= rise):
            rise, uncertainty = end, None
            note = Message("winding.at_end_of_run", part=part, time=run.length)
            steady = part >= (1.0 - NEAR) * figures.limit_load and bool(figures.thermal and figures.thermal.steady)
    if rise is None:
        return None
    decision = decide(rise, Limits(high=limit.rise), uncertainty, job.decision_rule)
    if decision.outcome in ACCEPTED and not steady:
        decision, note = UNDECIDED, Message("winding.not_held", note=note) if note else Message("winding.not_steady")
    return Finding(
        id="winding_temperature",
        title=Message("finding.winding_temperature"),
        quantity="winding_rise",
        **as_found(decision),
        unit="K",
        declared=limit.rise,
        measured=rise,
        required=Limits(high=limit.rise),
        source=limit.source,
        note=note or "",
    )


def _warmest(job: Job, reduction: Reduction) -> tuple[float, Uncertainty | None, Message] | None:
    """Greatest rise of a load point at up to rated load [K], its uncertainty, and which row it is."""
    points, plate = reduction.points, job.nameplate
    air = job.conditions.ambient if job.conditions.ambient is not None else ROOM
    within = np.isfinite(points.temperature) & ~points.impossible
    for quantity, rated in ((points.shaft_power, plate.power), (points.current, plate.current)):
        if rated is not None and np.isfinite(quantity).any():
            within &= quantity <= (1.0 + NEAR) * rated
            break
    if not within.any():
        return None
    row = int(np.argmax(np.where(within, points.temperature, -np.inf)))
    temperature = float(points.temperature[row])
    known = None if reduction.uncertainties is None else reduction.uncertainties.points[row].get("temperature")
    return temperature - air, known, Message("winding.at_row", row=row + 1, temperature=temperature)
