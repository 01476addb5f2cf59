"""What a log gave, in results and words: its plateaus, what was left out of it and why."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.columns import si_unit
from certgen.job.rig import Rig
from certgen.physics.domain import Array
from certgen.reduction.log.means import STEADIED, by_column
from certgen.reduction.log.model import FAULTS, LeftOut, Plateau, Reason, ReducedLog
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
        left_out=tuple(_left_out(stretch) for stretch in log.left_out),
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


def _left_out(left_out: LeftOut) -> LogLeftOut:
    return LogLeftOut(
        str(left_out.reason.message), left_out.count, left_out.start, left_out.end, left_out.reason in FAULTS
    )


def _summary(log: ReducedLog) -> Iterator[str]:
    """Sentences: how much of the log was used, as what, and what was left out."""
    bands = log.bands
    part = log.used / log.samples if log.samples else 0.0
    count = len(log.plateaus)
    points = "1 load point, the mean" if count == 1 else f"{count} load points, the means"
    how = (
        "of stretches chosen"
        if bands.at
        else f"of steady stretches (at least {bands.hold:.3g} s, speed within {bands.speed:.2%}, "
        f"load within {bands.torque:.2%})"
    ).replace("%", " %")
    yield f"{log.samples} samples in {log.seconds:.4g} s gave {points} {how}."
    yield f"Used: {log.used} samples ({part:.0%}), {log.seconds_used:.4g} s.".replace("%", " %")
    yield from _worth(log)
    reasons: dict[Reason, list[LeftOut]] = {}
    for left_out in log.left_out:
        reasons.setdefault(left_out.reason, []).append(left_out)
    if reasons:
        counted = (count_and_times(str(reason.message), listed) for reason, listed in sorted(reasons.items()))
        yield f"Left out: {'; '.join(counted)}."
    unsteady = [f"{left_out.start:.4g} s" for left_out in log.plateaus if not left_out.steady]
    if unsteady:
        yield f"Not steady although chosen: from {', '.join(unsteady)}."


def _worth(log: ReducedLog) -> Iterator[str]:
    """How many independent samples the means of speed and load are worth."""
    counts = [
        mean.effective_number for plateau in log.plateaus for name, mean in plateau.means.items() if name in STEADIED
    ]
    if counts:
        samples = [plateau.used for plateau in log.plateaus]
        least, most = min(samples), max(samples)
        each = f"{least}" if least == most else f"{least} to {most}"
        yield f"Each point is of {each} samples, of speed and load worth at least {min(counts):.0f} independent ones."


def count_and_times(words: str, listed: list[LeftOut]) -> str:
    """What happened, how often, and when."""
    count = sum(left_out.count for left_out in listed)
    return f"{words} {count} ({times_of(listed)})"


def times_of(listed: list[LeftOut]) -> str:
    """When it happened, the first few times of many."""
    shown = [
        f"{left_out.start:.4g} s" if left_out.count == 1 else f"{left_out.start:.4g} to {left_out.end:.4g} s"
        for left_out in listed[:_TIMES]
    ]
    more = len(listed) - _TIMES
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def missing_log(reduction: Reduction) -> Iterator[str]:
    """What a log that gave no point, or fewer than its job names, would have had to hold."""
    log = reduction.log
    if log is None:
        return
    if not log.plateaus:
        if log.bands.at:
            yield "Load points: none of the stretches chosen holds samples that can be used, so nothing is measured."
        else:
            yield (
                f"Load points: the log holds no stretch of {log.bands.hold:.3g} s in which speed and load were "
                "steady, so nothing is measured; hold each load longer, or widen the bands of 'steady'."
            )
    elif log.bands.at and len(log.plateaus) < len(log.bands.at):
        empty = len(log.bands.at) - len(log.plateaus)
        yield f"Load points: {empty} of the stretches chosen hold no samples that can be used."


def log_curves(reduction: Reduction) -> tuple[Curve | None, Curve | None]:
    """The thinned trace of a log, and its faults, as the charts draw them."""
    if reduction.log is None:
        return None, None
    trace = reduction.log.trace
    drawn = _curve(time=trace.time, speed=trace.speed, torque=trace.torque)
    return drawn, _curve(speed=trace.fault_speed, torque=trace.fault_torque)


_UNITS = {"time": "s", "speed": "rad/s", "torque": "N*m"}


def _curve(**columns: Array) -> Curve | None:
    if not next(iter(columns.values())).size:
        return None
    return Curve(
        {name: tuple(values.tolist()) for name, values in columns.items()}, {name: _UNITS[name] for name in columns}
    )
