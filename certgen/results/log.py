"""What a log gave, in results and words: its plateaus, what was left out of it and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from certgen.job.columns import si_unit
from certgen.job.rig import Rig
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.reduction.log.model import (
    FAULTS,
    OF_SAMPLES,
    STEADIED,
    LeftOut,
    Plateau,
    Reason,
    ReducedLog,
    by_column,
)
from certgen.reduction.model import Reduction
from certgen.results.model import ColumnMean, Curve, Log, LogLeftOut, LogPlateau

#: Times of one fault that a caution names.
_TIMES = 3


def log_of(reduction: Reduction, rig: Rig) -> Log | None:
    """The log behind the load points; ``None`` where each was written down by itself."""
    log = reduction.log
    if log is None:
        return None
    reads = rig.scale.reads if rig.scale is not None else "mass"
    return Log(
        samples=log.samples,
        used=log.used,
        seconds=log.seconds,
        seconds_used=log.seconds_used,
        hold=log.bands.hold,
        speed_band=log.bands.speed,
        torque_band=log.bands.torque,
        plateaus=tuple(_plateau(stretch, reads) for stretch in log.plateaus),
        left_out=tuple(map(left_out_entry, log.left_out)),
        summary=tuple(_summary(log)),
    )


def _plateau(plateau: Plateau, reads: str) -> LogPlateau:
    means = {
        name: ColumnMean(
            mean.value,
            si_unit(name, scale_reads=reads),
            mean.standard_deviation,
            mean.samples,
            mean.effective_number,
            mean.standard_uncertainty,
        )
        for name, mean in by_column(plateau).items()
    }
    return LogPlateau(plateau.start, plateau.end, plateau.samples, plateau.used, means, plateau.pinned, plateau.steady)


def left_out_entry(left_out: LeftOut) -> LogLeftOut:
    """Samples left out, as they stand in the results."""
    return LogLeftOut(left_out.reason.message, left_out.count, left_out.start, left_out.end, left_out.reason in FAULTS)


def _summary(log: ReducedLog) -> Iterator[Message]:
    """Sentences: how much of the log was used, as what, and what was left out."""
    bands = log.bands
    part = log.used / log.samples if log.samples else 0.0
    count = len(log.plateaus)
    points = Message("log.one_point") if count == 1 else Message("log.points", count=count)
    how = (
        Message("log.chosen")
        if bands.at
        else Message("log.steady", hold=bands.hold, speed=bands.speed, load=bands.torque)
    )
    yield Message("log.gave", samples=log.samples, seconds=log.seconds, points=points, how=how)
    yield Message("log.used", samples=log.used, part=part, seconds=log.seconds_used)
    yield from _worth(log)
    if log.left_out:
        yield Message("log.left_out", reasons=in_words(log.left_out))
    unsteady = tuple(Message("log.at", start=plateau.start) for plateau in log.plateaus if not plateau.steady)
    if unsteady:
        yield Message("log.not_steady", starts=unsteady)


def _worth(log: ReducedLog) -> Iterator[Message]:
    """How many independent samples the means of speed and load are worth."""
    counts = [
        mean.effective_number for plateau in log.plateaus for name, mean in plateau.means.items() if name in STEADIED
    ]
    if counts:
        samples = [plateau.used for plateau in log.plateaus]
        least, most = min(samples), max(samples)
        each = least if least == most else Message("log.least_to_most", least=least, most=most)
        yield Message("log.worth", samples=each, independent=min(counts))


def in_words(left_out: Sequence[LeftOut]) -> tuple[Message, ...]:
    """What happened, how often or for how long, and when: a message for each reason."""
    reasons: dict[Reason, list[LeftOut]] = {}
    for entry in left_out:
        reasons.setdefault(entry.reason, []).append(entry)
    return tuple(_of_reason(reason.message, listed) for reason, listed in sorted(reasons.items()))


def _of_reason(what: Message, listed: list[LeftOut]) -> Message:
    count = sum(entry.count for entry in listed)
    if count == 1:
        return Message("log.counted_once", what=what, start=listed[0].start)
    if listed[0].reason in OF_SAMPLES and listed[0].reason != Reason.FULL_SPAN:
        return Message("log.counted", what=what, count=count, times=_times_of(listed))
    seconds = sum(entry.end - entry.start for entry in listed)
    return Message("log.lasted", what=what, seconds=seconds, times=_times_of(listed))


def _times_of(listed: list[LeftOut]) -> Message:
    """When it happened, the first few times of many."""
    shown = tuple(
        Message("log.at", start=left_out.start)
        if left_out.count == 1
        else Message("log.from_to", start=left_out.start, end=left_out.end)
        for left_out in listed[:_TIMES]
    )
    more = len(listed) - _TIMES
    return Message("log.times_and_more", times=shown, more=more) if more > 0 else Message("log.times", times=shown)


def missing_log(reduction: Reduction) -> Iterator[Message]:
    """What a log that gave no point, or fewer than its job names, would have had to hold."""
    log = reduction.log
    if log is None:
        return
    if not log.plateaus:
        if log.bands.at:
            yield Message("log.missing.chosen")
        else:
            yield Message("log.missing.steady", hold=log.bands.hold)
    elif log.bands.at and len(log.plateaus) < len(log.bands.at):
        yield Message("log.missing.some_chosen", count=len(log.bands.at) - len(log.plateaus))


def log_curves(reduction: Reduction) -> tuple[Curve | None, Curve | None]:
    """The thinned trace of a log, and its faults, as the charts draw them."""
    if reduction.log is None:
        return None, None
    trace = reduction.log.trace
    drawn = _curve(time=trace.time, speed=trace.speed, torque=trace.torque)
    return drawn, _curve(time=trace.fault_time, speed=trace.fault_speed, torque=trace.fault_torque)


_UNITS = {"time": "s", "speed": "rad/s", "torque": "N*m"}


def _curve(**columns: Array) -> Curve | None:
    if not next(iter(columns.values())).size:
        return None
    return Curve(
        {name: tuple(values.tolist()) for name, values in columns.items()}, {name: _UNITS[name] for name in columns}
    )
