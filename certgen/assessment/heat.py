"""Winding temperature findings: the rise held against its insulation class, what it proves, and what it cannot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from certgen.assessment.decision import ACCEPTED, UNDECIDED, Decision, as_found, decide, joined
from certgen.job.model import Job
from certgen.messages.catalogue import Message
from certgen.reduction.heat import WindingRise
from certgen.reduction.held_run import WINDING, HeldRun
from certgen.reduction.model import Reduction
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.heat import NEAR, HeatFigures
from certgen.results.model import FINDING_NOT_TESTED, Finding, Limits
from certgen.standards.criteria import TablesBeside
from certgen.standards.duty import INTERMITTENT, SHORT_TIME, WITH_IDLE, Duty, read_duty
from certgen.standards.procedures import procedure_of
from certgen.standards.temperature_limits import RiseLimit, steady_rule

#: Temperature of the cooling air where the job does not state it [K]. Common practice, no source.
ROOM = 273.15 + 20.0
#: How much longer a short-time load may be held, and how warm it may start [K]: IEC 60034-1, 8.5.3, from memory.
_OVERRUN, _COLD = 1.05, 5.0
#: Duties that warm a motor less than the same load held for ever: what is steady within its limit there keeps it here.
_BELOW_CONTINUOUS = (INTERMITTENT, WITH_IDLE)
RISE, TEMPERATURE = "winding_rise", "winding_temperature"


@dataclass
class _Evidence:
    """What a measured rise is worth."""

    too_low: list[Message] = field(default_factory=list)  # why the true rise may be higher: it cannot pass
    too_high: list[Message] = field(default_factory=list)  # why rated load may warm it less: it cannot fail
    remarks: list[Message] = field(default_factory=list)  # what else a reader must know


def winding_rise_finding(job: Job, figures: HeatFigures, beside: TablesBeside) -> Finding | None:
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
    _weigh_reading(evidence, rise, job, beside.procedure)
    _weigh_load(evidence, figures, job)
    if figures.run is not None:
        _weigh_length(evidence, figures.run, figures.last_change, read_duty(job.nameplate.duty), beside.temperature)
    against = evidence.too_high if rise.rise > limit.rise else evidence.too_low
    decision = decide(rise.rise, Limits(high=limit.rise), figures.rise_uncertainty, job.decision_rule)
    if against:
        decision = UNDECIDED
    return _finding(decision, joined((*against, *evidence.remarks)), rise.rise, limit)


def _finding(decision: Decision, note: Message | str, rise: float | None, limit: RiseLimit | None) -> Finding:
    return Finding(
        id=RISE,
        title=Message("finding.winding_rise"),
        **as_found(decision),
        unit="K",
        declared=None if limit is None else limit.rise,
        measured=rise,
        required=None if limit is None else Limits(high=limit.rise),
        source="" if limit is None else limit.source,
        note=note,
    )


def _weigh_reading(evidence: _Evidence, rise: WindingRise, job: Job, procedure_name: str) -> None:
    procedure, after = procedure_of(procedure_name), rise.after
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


def _weigh_length(evidence: _Evidence, run: HeldRun, change: float | None, duty: Duty | None, standard: str) -> None:
    if duty is not None and (duty.continuous or duty.type in _BELOW_CONTINUOUS):
        rule = steady_rule(standard)
        if change is None:
            evidence.too_low.append(Message("winding_rise.too_short_to_tell", length=run.length))
        elif abs(change) > rule.change:
            evidence.too_low.append(Message("winding_rise.still_changing", change=change))
        if not duty.continuous:
            evidence.too_high.append(Message("winding.warmer_than_duty", duty=duty.printed))
        return
    if duty is None or duty.running_time is None:
        evidence.too_low.append(Message("winding.duty_not_judged"))
        evidence.too_high.append(Message("winding.duty_not_judged"))
        return
    evidence.remarks.append(Message("winding.by_duty", duty=duty.printed))
    if run.length < (1.0 - NEAR) * duty.running_time:
        evidence.too_low.append(Message("winding_rise.short_of_duty", length=run.length, duty=duty.running_time))
    if run.length > _OVERRUN * duty.running_time:
        evidence.too_high.append(Message("winding_rise.beyond_duty", length=run.length))
    if run.ambient_known and run.rise[0] > _COLD:
        evidence.too_high.append(Message("winding_rise.not_cold"))


# The winding's temperature as a column of the load test or of the heat run gives it.


@dataclass(frozen=True)
class _Warmth:
    """A rise of the winding [K] with what it is worth."""

    rise: float
    uncertainty: Uncertainty | None
    note: Message
    long_enough: bool = False  # at rated load until steady, or for the running time of a short-time duty
    within_duty: bool = False  # of a short-time duty, from cold


def winding_temperature_finding(job: Job, reduction: Reduction, figures: HeatFigures) -> Finding | None:
    """The greatest winding temperature read at up to rated load, against what its class allows above the cooling air.

    It fails however short the test was, for a motor only becomes warmer; it passes only at the end of a heat run at
    rated load that was steady, or at the end of the running time of a short-time duty. A duty that lets the motor rest
    fails by neither a load test nor a load held longer. ``None`` where the plate gives no class or no winding
    temperature was read.
    """
    limit, duty = figures.limit, read_duty(job.nameplate.duty)
    if job.nameplate.insulation_class is None or isinstance(limit, Message):
        return None
    warmth = _warmth(job, reduction, figures, duty)
    if warmth is None:
        return None
    decision, note = decide(warmth.rise, Limits(high=limit.rise), warmth.uncertainty, job.decision_rule), warmth.note
    if decision.outcome in ACCEPTED and not warmth.long_enough:
        decision, note = UNDECIDED, Message("winding.not_held", note=note)
    open_by_duty = _left_open_by_duty(duty, accepted=decision.outcome in ACCEPTED, within=warmth.within_duty)
    if decision is not UNDECIDED and open_by_duty is not None:
        decision, note = UNDECIDED, Message("finding.notes", notes=(note, open_by_duty))
    return Finding(
        id=TEMPERATURE,
        quantity="winding_rise",
        title=Message("finding.winding_temperature"),
        **as_found(decision),
        unit="K",
        declared=limit.rise,
        measured=warmth.rise,
        required=Limits(high=limit.rise),
        source=limit.source,
        note=note,
    )


def _warmth(job: Job, reduction: Reduction, figures: HeatFigures, duty: Duty | None) -> _Warmth | None:
    """The rise to judge: of a run at one load up to the rated one, or of the warmest load point; ``None`` without one."""
    read, run, power = _warmest(job, reduction), figures.run, job.nameplate.power
    short = duty.running_time if duty is not None else None
    if run is None or run.part != WINDING or not run.ambient_known or power is None or run.load is None:
        return read
    part, end = run.load / power, _rise_after(run, short)
    beside = read is None or end >= read.rise or short is not None
    if part > (1.0 + NEAR) * figures.limit_load or not beside:
        return read
    enough = bool(figures.thermal and figures.thermal.steady)
    if short is not None:
        enough = run.length >= (1.0 - NEAR) * short
    return _Warmth(
        end,
        None,
        Message("winding.at_end_of_run", part=part, time=run.length if short is None else min(run.length, short)),
        long_enough=part >= (1.0 - NEAR) * figures.limit_load and enough,
        within_duty=short is not None and float(run.rise[0]) <= _COLD,
    )


def _rise_after(run: HeldRun, running_time: float | None) -> float:
    """Rise of a run at the end of a running time [K], or at its own end where there is none or it is shorter."""
    if running_time is None:
        return float(run.rise[-1])
    return float(np.interp(run.time[0] + running_time, run.time, run.rise))


def _left_open_by_duty(duty: Duty | None, *, accepted: bool, within: bool) -> Message | None:
    """Why a winding's temperature decides nothing under the plate's duty; ``None`` where the decision stands.

    ``within`` says that the motor ran for no longer than a short-time duty lets it, from cold.
    """
    if duty is not None and (duty.continuous or within):
        return None
    if duty is None or duty.type not in (SHORT_TIME, *_BELOW_CONTINUOUS):
        return Message("winding.duty_not_judged")
    return None if accepted else Message("winding.warmer_than_duty", duty=duty.printed)


def missing_duty(job: Job, findings: tuple[Finding, ...]) -> Iterator[Message]:
    """What a duty other than continuous takes to be judged; nothing where the winding's temperature was judged by it."""
    written, duty = job.nameplate.duty, read_duty(job.nameplate.duty)
    judged = any(one.id in (RISE, TEMPERATURE) and one.outcome != FINDING_NOT_TESTED for one in findings)
    if written is None or judged or (duty is not None and duty.continuous):
        return
    if duty is None:
        yield Message("missing.duty_not_read", duty=written)
    elif duty.running_time is not None:
        yield Message("missing.duty_short_time", duty=duty.printed, time=duty.running_time)
    elif duty.type in _BELOW_CONTINUOUS:
        yield Message("missing.duty_periodic", duty=duty.printed)
    else:
        yield Message("missing.duty_other", duty=duty.printed)


def _warmest(job: Job, reduction: Reduction) -> _Warmth | None:
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
    return _Warmth(temperature - air, known, Message("winding.at_row", row=row + 1, temperature=temperature))
