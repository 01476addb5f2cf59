"""Cautions of what was recorded over time: faults of a log, gaps of a sweep, contradictions of a run-down."""

from __future__ import annotations

import math
from collections.abc import Iterator

from certgen.job.model import MOTOR, RIG
from certgen.job.rig import Rig
from certgen.reduction.log.model import Reason
from certgen.reduction.model import Reduction, RunDownFound, SweepFound, SweepGap
from certgen.results.changing_speed import CLEARLY_OFF
from certgen.results.log import count_and_times
from certgen.results.model import Caution

_RPM = 60.0 / math.tau

# A log: what was left out of it and points to the motor, the rig or a cable.


#: Faults of which one caution tells together: all come from a sensor or its cable.
_OF_SENSORS = (
    Reason.PULSE_MISSED, Reason.PULSE_DOUBLED, Reason.DROPPED_OUT, Reason.OUTLIER, Reason.BACKWARDS,
)  # fmt: skip
_SENSORS = "Faulty samples of the log are left out: check magnet and gap of the tachometer, cables, plugs and logger."
_TEXTS = {
    Reason.LOAD_LOST: (
        "load_lost",
        "The load fell off while the speed rose: check coupling, belt and brake current before running again.",
    ),
    Reason.STALLED: (
        "stalled",
        "The motor stalled under load: at standstill it takes starting current and soon burns; let it cool, and "
        "check it before going on.",
    ),
    Reason.FULL_SPAN: (
        "scale_full_span",
        "The scale stood at its full span, so it may have shown less than the load: those samples are left out.",
    ),
}


def log_cautions(reduction: Reduction) -> Iterator[Caution]:
    """One caution for each kind of thing that went wrong in a log, those about the motor first."""
    log = reduction.log
    if log is None:
        return
    for reason, (name, text) in _TEXTS.items():
        listed = [left_out for left_out in log.left_out if left_out.reason == reason]
        if listed:
            yield Caution(name, text, f"{count_and_times(str(reason.message), listed)}")
    listed = [left_out for left_out in log.left_out if left_out.reason in _OF_SENSORS]
    if listed:
        reasons = (
            count_and_times(str(reason.message), chosen)
            for reason in _OF_SENSORS
            if (chosen := [left_out for left_out in listed if left_out.reason == reason])
        )
        yield Caution("faulty_samples", _SENSORS, "; ".join(reasons))


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
    text = (
        "The torques of the sweep down and up do not agree: check the inertias, and whether scale or torque sensor "
        "follow slower than the tachometer."
    )
    because = f"{size:.2g} N·m apart at {gap.speed * _RPM:.0f} rpm"
    if _names_inertia(sweep, gap):
        because += f"; {gap.closing_inertia:.3g} kg·m² would close the gap, {sweep.inertia:.3g} kg·m² is stated"
    yield Caution("sweep_gap", text, because)


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
    yield Caution(
        "coasting",
        "With the supply off the shaft coasts on: keep it guarded and let it stop by itself, never by hand.",
        f"{run_down.lasted:.0f} s of run-down from {run_down.highest * _RPM:.0f} rpm",
    )
    yield from _tare(rig, run_down)
    stated, inertia = run_down.inertia_stated, run_down.inertia
    if stated is not None and inertia is not None:
        off = abs(inertia.value - stated)
        if off > max(_PART * stated, inertia.expanded or 0.0):
            text = "The inertia found by run-down is not the one stated: weigh up both before a sweep is trusted."
            yield Caution("inertia", text, f"{inertia.value:.3g} kg·m² found, {stated:.3g} kg·m² stated")


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
        text = (
            "Tare torque and friction by run-down differ: measure the tare anew (friction that reacts on the cradle is "
            "seen by the scale and no part of it)."
        )
        because = f"tare {tare.value:.2g} N·m, run-down of {run_down.coasting} {friction.value:.2g} N·m"
        yield Caution("tare_against_run_down", text, because)
