"""What a log gave, in results and words: its plateaus, what was left out of it and why."""

from __future__ import annotations

from collections.abc import Iterator

from certgen.job.columns import si_unit
from certgen.job.rig import Rig
from certgen.physics.domain import Array
from certgen.reduction.log.means import STEADIED, by_column
from certgen.reduction.log.model import FAULTS, LeftOut, Plateau, Reason, ReducedLog
from certgen.reduction.model import Reduction
from certgen.results.model import Caution, ColumnMean, Curve, Log, LogLeftOut, LogPlateau

#: Times of one fault that a caution names.
_TIMES = 3
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


def log_of(reduction: Reduction, rig: Rig) -> Log | None:
    """The log behind the load points; ``None`` where each was written down by itself."""
    found = reduction.log
    if found is None:
        return None
    reads = rig.scale.reads if rig.scale is not None else "mass"
    return Log(
        samples=found.samples,
        used=found.used,
        seconds=found.seconds,
        seconds_used=found.seconds_used,
        hold=found.bands.hold,
        speed_band=found.bands.speed,
        torque_band=found.bands.torque,
        plateaus=tuple(_plateau(one, reads) for one in found.plateaus),
        left_out=tuple(_left_out(one) for one in found.left_out),
        summary=tuple(_summary(found)),
    )


def _plateau(one: Plateau, reads: str) -> LogPlateau:
    means = {
        name: ColumnMean(
            mean.value,
            si_unit(name, scale_reads=reads),
            mean.standard_deviation,
            mean.samples,
            mean.effective_number,
            mean.standard_uncertainty,
        )
        for name, mean in by_column(one).items()
    }
    return LogPlateau(one.start, one.end, one.samples, one.used, means, one.pinned, one.steady)


def _left_out(one: LeftOut) -> LogLeftOut:
    return LogLeftOut(str(one.reason.message), one.count, one.start, one.end, one.reason in FAULTS)


def _summary(found: ReducedLog) -> Iterator[str]:
    """Sentences: how much of the log was used, as what, and what was left out."""
    bands = found.bands
    part = found.used / found.samples if found.samples else 0.0
    count = len(found.plateaus)
    points = "1 load point, the mean" if count == 1 else f"{count} load points, the means"
    how = (
        "of stretches chosen"
        if bands.at
        else f"of steady stretches (at least {bands.hold:.3g} s, speed within {bands.speed:.2%}, "
        f"load within {bands.torque:.2%})"
    ).replace("%", " %")
    yield f"{found.samples} samples in {found.seconds:.4g} s gave {points} {how}."
    yield f"Used: {found.used} samples ({part:.0%}), {found.seconds_used:.4g} s.".replace("%", " %")
    yield from _worth(found)
    reasons: dict[Reason, list[LeftOut]] = {}
    for one in found.left_out:
        reasons.setdefault(one.reason, []).append(one)
    if reasons:
        told = (_told(str(reason.message), listed) for reason, listed in sorted(reasons.items()))
        yield f"Left out: {'; '.join(told)}."
    unsteady = [f"{one.start:.4g} s" for one in found.plateaus if not one.steady]
    if unsteady:
        yield f"Not steady although chosen: from {', '.join(unsteady)}."


def _worth(found: ReducedLog) -> Iterator[str]:
    """How many independent samples the means of speed and load are worth."""
    counts = [mean.effective_number for one in found.plateaus for name, mean in one.means.items() if name in STEADIED]
    if counts:
        samples = [one.used for one in found.plateaus]
        least, most = min(samples), max(samples)
        each = f"{least}" if least == most else f"{least} to {most}"
        yield f"Each point is of {each} samples, of speed and load worth at least {min(counts):.0f} independent ones."


def _told(words: str, listed: list[LeftOut]) -> str:
    count = sum(one.count for one in listed)
    return f"{words} {count} ({times_of(listed)})"


def times_of(listed: list[LeftOut]) -> str:
    """When it happened, the first few times of many."""
    shown = [
        f"{one.start:.4g} s" if one.count == 1 else f"{one.start:.4g} to {one.end:.4g} s" for one in listed[:_TIMES]
    ]
    more = len(listed) - _TIMES
    return ", ".join(shown) + (f" and {more} more" if more > 0 else "")


def log_cautions(reduction: Reduction) -> Iterator[Caution]:
    """One caution for each kind of thing that went wrong in a log, those about the motor first."""
    found = reduction.log
    if found is None:
        return
    for reason, (name, text) in _TEXTS.items():
        listed = [one for one in found.left_out if one.reason == reason]
        if listed:
            yield Caution(name, text, f"{_told(str(reason.message), listed)}")
    listed = [one for one in found.left_out if one.reason in _OF_SENSORS]
    if listed:
        told = (
            _told(str(reason.message), chosen)
            for reason in _OF_SENSORS
            if (chosen := [one for one in listed if one.reason == reason])
        )
        yield Caution("faulty_samples", _SENSORS, "; ".join(told))


def missing_log(reduction: Reduction) -> Iterator[str]:
    """What a log that gave no point, or fewer than its job names, would have had to hold."""
    found = reduction.log
    if found is None:
        return
    if not found.plateaus:
        if found.bands.at:
            yield "Load points: none of the stretches chosen holds samples that can be used, so nothing is measured."
        else:
            yield (
                f"Load points: the log holds no stretch of {found.bands.hold:.3g} s in which speed and load were "
                "steady, so nothing is measured; hold each load longer, or widen the bands of 'steady'."
            )
    elif found.bands.at and len(found.plateaus) < len(found.bands.at):
        lacking = len(found.bands.at) - len(found.plateaus)
        yield f"Load points: {lacking} of the stretches chosen hold no samples that can be used."


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
