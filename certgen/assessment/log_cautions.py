"""What was recorded over time: faults of a log and the loads it lost, gaps of a sweep, contradictions of a run-down."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.assessment.plausibility.evidence import LOAD_TEST
from certgen.job.model import MOTOR, RIG
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.reduction.log.model import LostLoad, Reason, ReducedLog
from certgen.reduction.model import Reduction, RunDownFound, SweepFound, SweepGap
from certgen.results.changing_speed import CLEARLY_OFF, coasting_part
from certgen.results.log import in_words
from certgen.results.model import TO_THE_FIGURES, TO_THE_MOTOR, Caution, Evidence

LOAD_LOST = "load_lost"

# A log: what was left out of it and points to the motor, the rig or a cable.


#: Faults that one caution names together: all come from a sensor or its cable.
_OF_SENSORS = (
    Reason.PULSE_MISSED, Reason.PULSE_DOUBLED, Reason.DROPPED_OUT, Reason.OUTLIER, Reason.BACKWARDS,
)  # fmt: skip
#: What else may go wrong: the caution's name, its text, and how much is at stake.
_TEXTS = {
    Reason.LOAD_LOST: (LOAD_LOST, Message("caution.load_lost"), TO_THE_MOTOR),
    Reason.STALLED: ("stalled", Message("caution.stalled"), TO_THE_MOTOR),
    Reason.FULL_SPAN: ("scale_full_span", Message("caution.log_full_span"), TO_THE_FIGURES),
}


def log_cautions(reduction: Reduction) -> Iterator[Caution]:
    """One caution for each kind of thing that went wrong in a log or a sweep, those about the motor first."""
    left_out = [entry for log in (reduction.log, reduction.sweep) if log is not None for entry in log.left_out]
    for reason, (name, text, danger) in _TEXTS.items():
        if listed := [entry for entry in left_out if entry.reason == reason]:
            (because,) = in_words(listed)
            yield Caution(name, text, because, danger)
    if listed := [entry for entry in left_out if entry.reason in _OF_SENSORS]:
        because = Message("because.reasons", reasons=in_words(listed))
        yield Caution("faulty_samples", Message("caution.faulty_samples"), because)


# Loads that a log lost, as evidence: each is out of every figure.


#: More lost loads than this stand in one entry.
_MOST_APART = 5


def log_evidence(log: ReducedLog | None, sweep: SweepFound | None = None) -> Iterator[Evidence]:
    """What went wrong in a log or a sweep while it ran, as notes: nothing of it is part of a load point.

    Parameters
    ----------
    log : ReducedLog or None
        The log as load points, with the loads it lost; ``None`` where there is none.
    sweep : SweepFound, optional
        The sweep, with what was left out of it.

    Yields
    ------
    Evidence
        One for each lost load with its time and length [s], the part of the load that was left [1] and the likely
        cause; one for all where there are many.
    """
    for entry in () if sweep is None else sweep.left_out:
        if entry.reason == Reason.LOAD_LOST:
            message = Message("evidence.load_lost_in_sweep", begin=entry.start, seconds=entry.end - entry.start)
            yield Evidence(LOAD_LOST, LOAD_TEST, None, message)
    lost = () if log is None else log.lost_loads
    if len(lost) > _MOST_APART:
        seconds = sum(upset.end - upset.start for upset in lost)
        message = Message(
            "evidence.loads_lost", count=len(lost), begin=lost[0].start, end=lost[-1].end, seconds=seconds
        )
        yield Evidence(LOAD_LOST, LOAD_TEST, None, message)
        return
    for upset in lost:
        yield Evidence(LOAD_LOST, LOAD_TEST, None, _of_upset(upset))


def _of_upset(upset: LostLoad) -> Message:
    cause = Message(f"lost_load.{upset.cause}")
    seconds, left = upset.end - upset.start, upset.part_left
    if upset.came_back:
        return Message("evidence.load_lost", begin=upset.start, seconds=seconds, left=left, cause=cause)
    if upset.to_the_end:
        return Message("evidence.load_lost_for_good", begin=upset.start, left=left, cause=cause)
    return Message("evidence.load_lost_then_set", begin=upset.start, seconds=seconds, left=left, cause=cause)


# A sweep: torques with falling and with rising speed that do not agree.


#: A gap between falling and rising speed is a caution when it is wider than so many standard uncertainties ...
_SURELY = 4.0
#: ... and than this part of the greatest torque. Common practice, no source.
_CLEAR = 0.03


def sweep_cautions(reduction: Reduction) -> Iterator[Caution]:
    """A gap between the runs down and up that scatter does not explain."""
    sweep = reduction.sweep
    gap = None if sweep is None else sweep.gap
    if sweep is None or gap is None or sweep.inertia is None:
        return
    size = abs(gap.falling - gap.rising)
    greatest = max(abs(float(torque)) for torque in reduction.points.torque)
    if size <= _SURELY * gap.deviation or size <= _CLEAR * greatest:
        return
    because = Message("because.gap", gap=size, speed=gap.speed)
    if _names_inertia(sweep, gap):
        closing, stated = gap.closing_inertia, sweep.inertia
        because = Message("because.gap_closed_by", gap=size, speed=gap.speed, closing=closing, stated=stated)
    yield Caution("sweep_gap", Message("caution.sweep_gap"), because)


def _names_inertia(sweep: SweepFound, gap: SweepGap) -> bool:
    off = abs(gap.closing_inertia - (sweep.inertia or 0.0))
    return gap.closing_inertia > 0.0 and off > CLEARLY_OFF * gap.closing_deviation


# A run-down: the shaft that coasts, and friction and inertia that differ from what the files state.


#: Friction and tare torque differ clearly where one is more than so many times the other; an inertia found differs
#: clearly from the stated one by this part. Both beyond their uncertainties. Common practice, no source.
_TIMES = 1.5
_PART = 0.1


def run_down_cautions(rig: Rig, reduction: Reduction) -> Iterator[Caution]:
    """For people first; then where the run-down contradicts the rig or the stated inertia."""
    run_down = reduction.run_down
    if not isinstance(run_down, RunDownFound):
        return
    because = Message("because.run_down", time=run_down.lasted, speed=run_down.highest)
    yield Caution("coasting", Message("caution.coasting"), because)
    yield from _tare(rig, run_down)
    stated, inertia = run_down.inertia_stated, run_down.inertia
    if stated is not None and inertia is not None:
        off = abs(inertia.value - stated)
        if off > max(_PART * stated, inertia.expanded or 0.0):
            because = Message("because.inertia", found=inertia.value, stated=stated)
            yield Caution("inertia", Message("caution.inertia"), because)


def _tare(rig: Rig, run_down: RunDownFound) -> Iterator[Caution]:
    """The rig's own friction against its tare torque; of motor and rig together it can only be less."""
    friction, tare = run_down.friction_torque, rig.tare_torque
    if friction is None or tare is None or run_down.coasting == MOTOR:
        return
    uncertainty = math.hypot(friction.expanded or 0.0, tare.tolerance or tare.expanded_uncertainty or 0.0)
    ratio = tare.value / friction.value
    apart = abs(tare.value - friction.value) > uncertainty
    clearly = ratio > _TIMES or (run_down.coasting == RIG and ratio < 1.0 / _TIMES)
    if apart and clearly:
        part = coasting_part(run_down.coasting)
        because = Message("because.tare_against_run_down", tare=tare.value, part=part, friction=friction.value)
        yield Caution("tare_against_run_down", Message("caution.tare_against_run_down"), because)
