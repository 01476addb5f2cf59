"""Things that happen to a loaded motor: it stalls, it stands, it loses its load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from certgen.physics.domain import Array, Index
from certgen.reduction.log.model import Bands, Reason, Reasons, Signals, Upset, marked, runs_of, thinned

#: Parts of the usual running speed below which a shaft stands, and above which it runs.
_STANDING, _RUNNING = 0.1, 0.9
#: Load still on a shaft that stands, as a part of the greatest load; current over that of running. Either is a stall.
_STILL_LOADED, _MUCH_CURRENT = 0.2, 1.5
#: A load is lost when it falls below this part of what it was at once; it is there again above the second part.
_LOST, _BACK = 0.4, 0.7
#: A load that was greater than this part of itself just before was being taken off, not lost.
_HELD = 1.2
#: Parts of the greatest load: loads below the first are too light to be lost; one that falls from above the second to
#: below the third and stays there came off by itself, a lighter one may have been taken off at the end of a test.
_TOO_LIGHT, _HEAVY, _NOTHING = 0.25, 0.5, 0.1
#: 'At once': within this part of the hold, or within so few samples.
_AT_ONCE, _FEWEST = 0.1, 1
#: Rise of the speed when a load is lost, in parts of the speed.
_RISE = 0.001
#: More changes at once than this and nothing can be said of any one.
_MOST = 2000


@dataclass(frozen=True)
class Lost:
    """A load that fell off: the first sample without it, and the one after the last (the log's end where it stayed
    off). ``stayed_off`` says that it did not come back; ``heavy`` that most of a heavy load went."""

    start: int
    stop: int
    stayed_off: bool
    heavy: bool


def mark_standing(why: Reasons, signals: Signals, speed: Array, load: Array) -> None:
    """Mark where the shaft stands, and where it was brought to stand under load.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons so far; those of samples without one are set.
    signals : Signals
        The log; its current is evidence of a stall.
    speed, load : array, shape (n,)
        Of the log, with faulty samples bridged. [rad/s], [as shown]
    """
    usual = float(np.quantile(thinned(speed), 0.9)) if speed.size else 0.0
    standing = speed <= _STANDING * usual
    if usual <= 0.0:
        standing[:] = True
    runs = runs_of(standing)
    if not runs.count:
        return
    greatest = float(np.max(np.abs(load)))
    running = np.flatnonzero(speed >= _RUNNING * usual)
    for start, stop in runs.pairs():
        stalled = start > 0 and _is_stall(signals, load, (start, stop), greatest, running)
        first = start
        if stalled and running.size:  # from where it last ran
            before = int(np.searchsorted(running, start)) - 1
            first = int(running[before]) + 1 if before >= 0 else start
        _set(why, first, stop, Reason.STALLED if stalled else Reason.STANDSTILL)


def _is_stall(signals: Signals, load: Array, run: tuple[int, int], greatest: float, running: Index) -> bool:
    start, stop = run
    if not running.size or running[0] > start:
        return False  # it had not started yet
    if float(np.median(np.abs(load[start:stop]))) >= _STILL_LOADED * greatest:
        return True
    current = signals.evidence.get("current")
    if current is None:
        return False
    with np.errstate(invalid="ignore"):
        usual = float(np.nanmedian(thinned(current[running]))) if np.isfinite(current[running]).any() else np.inf
        return bool(np.nanmax(current[start:stop], initial=0.0) >= _MUCH_CURRENT * usual)


def lost_loads(why: Reasons, cleaned: tuple[Array, Array], bands: Bands, interval: float) -> list[Lost]:
    """Where the load fell off at once while the speed rose.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons so far.
    cleaned : tuple of (array, array)
        Speed [rad/s] and load, with faulty samples bridged.
    bands : Bands
        Its hold says what 'at once' is. [s]
    interval : float
        Usual time between samples. [s]
    """
    speed, load = cleaned
    greatest = float(np.max(np.abs(load), initial=0.0))
    reach = max(_FEWEST, round(_AT_ONCE * bands.hold / interval)) if interval > 0.0 else _FEWEST
    if greatest == 0.0 or load.size <= 2 * reach:
        return []
    falls = np.zeros(load.size, dtype=bool)
    before, now, after = load[: -2 * reach], load[reach:-reach], load[2 * reach :]
    falls[reach:-reach] = (now > _TOO_LIGHT * greatest) & (after < _LOST * now) & (before < _HELD * now)
    runs = runs_of(falls)
    if not 0 < runs.count <= _MOST:
        return []
    lost: list[Lost] = []
    for start, _ in runs.pairs():
        if lost and start < lost[-1].stop:
            continue
        event = _lost_from(start, reach, speed, load, greatest)
        if event is not None and not marked(why[event.start : event.stop], Reason.STALLED).any():
            lost.append(event)
    return lost


def _lost_from(start: int, reach: int, speed: Array, load: Array, greatest: float) -> Lost | None:
    """The event that begins near a sample, if the speed rose in it."""
    held = float(np.median(load[max(0, start - reach) : start + 1]))
    below = np.flatnonzero(load[start : start + 2 * reach + 2] < _BACK * held)
    if not below.size:
        return None
    first = start + int(below[0])
    stop = first_above(load, first, _BACK * held)
    ran, runs = speed[max(0, start - reach) : start + 1], speed[first : min(stop, first + 10 * reach)]
    scatter = float(np.std(ran)) / np.sqrt(ran.size) if ran.size > 1 else 0.0
    if float(np.max(runs)) <= float(np.mean(ran)) * (1.0 + _RISE) + 4.0 * scatter:
        return None
    stayed_off = stop == load.size
    left = float(np.median(load[first:stop]))
    return Lost(first, stop, stayed_off, held > _HEAVY * greatest and left < _NOTHING * greatest)


def first_above(values: Array, start: int, level: float) -> int:
    """Index of the first of ``values``, shape (n,), from ``start`` on that reaches a level; n where none does."""
    length = 256
    while start < values.size:
        reached = np.flatnonzero(values[start : start + length] >= level)
        if reached.size:
            return start + int(reached[0])
        start += length
        length *= 2
    return values.size


def mark_upsets(why: Reasons, upsets: Sequence[Upset]) -> None:
    """Give the samples of upsets without a reason their own."""
    for upset in upsets:
        _set(why, upset.start, upset.stop, Reason.LOAD_LOST)


def mark_lost_loads(
    why: Reasons, lost: list[Lost], plateaus: list[tuple[int, int]], signals: Signals, load: Array
) -> list[Upset]:
    """Mark the samples of lost loads; a light load that was then held is a load point.

    Parameters
    ----------
    why : array, shape (n,)
        Reasons so far.
    lost : list of Lost
        Where loads fell off.
    plateaus : list of (int, int)
        Steady stretches, first sample and sample after the last.
    signals : Signals
        The log; a brake still excited says that the coupling let go.
    load : array, shape (n,)
        With faulty samples bridged. [as shown]

    Returns
    -------
    list of Upset
        What was marked.
    """
    upsets = []
    for event in lost:
        held = next(((start, stop) for start, stop in plateaus if start >= event.start and start < event.stop), None)
        brake_is_on = _brake_is_on(signals, event)
        stop = event.stop
        if held is not None and not brake_is_on:
            if not event.heavy or not event.stayed_off:
                continue
        elif marked(why[event.start : event.stop], Reason.STANDSTILL).any():
            continue
        _set(why, event.start, stop, Reason.LOAD_LOST)
        before = float(np.median(np.abs(load[max(0, event.start - 5) : max(event.start, 1)])))
        left = float(np.median(np.abs(load[event.start : max(stop, event.start + 1)])))
        cause = "coupling" if brake_is_on else "coupling_or_brake"
        upsets.append(Upset(event.start, stop, max(before, left), left, not event.stayed_off, cause))
    return [upset for upset in upsets if upset.stop > upset.start]


def _brake_is_on(signals: Signals, event: Lost) -> bool:
    current = signals.evidence.get("brake_current")
    if current is None or event.start == 0:
        return False
    before, within = current[event.start - 1], current[(event.start + event.stop) // 2]
    return bool(before > 0.0 and within > 0.8 * before)


def _set(why: Reasons, start: int, stop: int, reason: Reason) -> None:
    part = why[start:stop]
    part[part == 0] = reason
