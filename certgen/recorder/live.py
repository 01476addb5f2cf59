"""What the newest rows mean: torque, power and load of the motor, and how near the rig is to its limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.job.load import LoadedJob
from certgen.job.model import OTHER
from certgen.messages.catalogue import Message
from certgen.physics.domain import Array
from certgen.physics.mechanics import shaft_power
from certgen.readings.model import Table, Zero
from certgen.readings.recording.recording import MOST_KEPT, Tally
from certgen.readings.recording.rows import Row
from certgen.recorder.upset_watch import Sample
from certgen.reduction.electrical import electrical_input
from certgen.reduction.speed import shaft_speeds
from certgen.reduction.torque import table_torque


@dataclass(frozen=True)
class Margin:
    """One quantity against its limit, both in SI; ``name`` is the last part of its key in the catalogue.

    ``kind`` is torque, speed, power, mass, force or current; ``of_rig`` where the rig sets the limit.
    """

    name: str
    value: float
    limit: float
    kind: str
    of_rig: bool = True

    @property
    def share(self) -> float:
        """The part of the limit that is reached."""
        return self.value / self.limit


@dataclass(frozen=True)
class Live:
    """The newest row at the tested shaft, ``nan`` where it is not known, and the worst margins of all new rows.

    speed [rad/s], torque [N*m], power [W], load as a part of rated power.
    """

    speed: float
    torque: float
    power: float
    load: float
    margins: tuple[Margin, ...]
    rows: tuple[tuple[float, float, float], ...] = ()  # speed [rad/s], torque [N*m], brake current [A] of every new row

    def samples(self, times: Sequence[float]) -> Iterator[Sample]:
        """Every new row with the time at which it came [s]."""
        for time, (speed, torque, current) in zip(times, self.rows, strict=True):
            yield Sample(time, speed, torque, current)

    @property
    def nearest(self) -> Margin | None:
        """The limit of the rig that is nearest."""
        return max((margin for margin in self.margins if margin.of_rig), key=lambda margin: margin.share, default=None)


@dataclass(frozen=True)
class _Limit:
    """One limit and the values held against it."""

    name: str
    values: Array
    limit: Array | float | None
    kind: str
    of_rig: bool = True


class LiveView:
    """Turns rows into what they mean on one rig, with a job where there is one."""

    def __init__(self, loaded: LoadedJob, envelope: Table | None) -> None:
        job = loaded.job
        self._rig, self._plate, self._envelope = loaded.rig, job.nameplate, envelope
        self._type = OTHER if job.motor is None else job.motor.type
        self._gravity = job.conditions.local_gravity
        zeros = (job.readings.zero_before, job.readings.zero_before_2)
        first, second = (Zero(None if one is None else one.value) for one in zeros)
        self._zeros = (first, second)

    def of(self, rows: Sequence[Row]) -> Live:
        """The newest of some rows, and the worst margins of all of them."""
        names = {name for row in rows for name in row.values}
        columns = {name: np.array([row.values.get(name, math.nan) for row in rows]) for name in sorted(names)}
        table = Table(columns, tuple(row.remark for row in rows))
        speed, absorber_speed = shaft_speeds(table.column("speed"), self._rig)
        torque = table_torque(table, self._zeros, self._rig, self._gravity)
        power = np.asarray(shaft_power(torque.at_shaft, speed))
        rated, current = self._plate.power, table.column("brake_current")
        limits = self._limits(table, (torque.at_absorber, torque.at_shaft, torque.scale_indication), absorber_speed)
        return Live(
            speed=float(speed[-1]),
            torque=float(torque.at_shaft[-1]),
            power=float(power[-1]),
            load=float(power[-1]) / rated if rated else math.nan,
            margins=tuple(margin for limit in limits for margin in _worst(limit)),
            rows=tuple(zip(*(values.tolist() for values in (speed, torque.at_shaft, current)), strict=True)),
        )

    def _limits(self, table: Table, torques: tuple[Array, Array, Array], speed: Array) -> Iterator[_Limit]:
        at_absorber, at_shaft, indication = torques
        limits, scale = self._rig.limits, self._rig.limits.scale
        span = (None, "") if scale is None else (scale.value, scale.dimension)
        yield _Limit("torque", at_absorber, limits.torque, "torque")
        yield _Limit("brake_speed" if self._rig.drive.kind == "belt" else "speed", speed, limits.speed, "speed")
        yield _Limit("scale", indication, *span)
        yield _Limit("coupling_torque", at_shaft, limits.coupling_torque, "torque")
        yield _Limit("absorber_power", at_absorber * speed, limits.absorber_power, "power")
        yield _Limit("brake_current", table.column("brake_current"), limits.brake_current, "current")
        yield _Limit("torque_at_speed", at_absorber, self._held(speed), "torque")
        current = electrical_input(table, self._type).current
        plate = self._plate
        yield _Limit("rated_current", current, plate.current, "current", of_rig=False)
        yield _Limit("service_factor_current", current, plate.service_factor_current, "current", of_rig=False)

    def _held(self, speed: Array) -> Array | None:
        """Most torque the brake holds at each speed; ``nan`` beyond the speeds it was stated for. [N*m]"""
        if self._envelope is None:
            return None
        order = np.argsort(self._envelope.column("speed"))
        speeds, torques = (self._envelope.column(name)[order] for name in ("speed", "torque"))
        return np.interp(speed, speeds, torques, left=math.nan, right=math.nan)


def _worst(bound: _Limit) -> Iterator[Margin]:
    """The row that is nearest to a limit, if the limit and any value are known."""
    if bound.limit is None:
        return
    limits = np.broadcast_to(np.asarray(bound.limit, dtype=float), bound.values.shape)
    shares = np.divide(bound.values, limits, out=np.full(limits.shape, math.nan), where=limits > 0.0)
    if np.isfinite(shares).any():
        at = int(np.nanargmax(shares))
        yield Margin(bound.name, float(bound.values[at]), float(limits[at]), bound.kind, bound.of_rig)


# What is said of a limit that comes near or is passed, once each time.


#: Part of a limit of the rig from which on it is near. Common practice, no source.
NEAR = 0.9
#: How far a value falls back before the same warning is given again, as a part of the limit.
_FALLS_BACK = 0.03


class Alarms:
    """Remembers which limits are near or passed, and reports each change for the worse."""

    def __init__(self) -> None:
        self._levels: dict[str, int] = {}

    def raised(self, margins: Sequence[Margin]) -> Iterator[Message]:
        """A warning for each limit that came near or was passed since the last time."""
        for margin in margins:
            before, now = self._levels.get(margin.name, 0), _level(margin, margin.share)
            if now > before:
                yield warning(margin, now)
            self._levels[margin.name] = now if now >= before else _level(margin, margin.share + _FALLS_BACK)


def _level(margin: Margin, share: float) -> int:
    """2 past the limit, 1 near it, 0 well below; the limits of a plate are not near, they are passed or not."""
    if share > 1.0:
        return 2
    return 1 if margin.of_rig and share >= NEAR else 0


def against_limit(margin: Margin) -> Message:
    """A value against its limit."""
    return _with_figures("recorder.against_limit", margin)


def warning(margin: Margin, level: int) -> Message:
    """What to say of a limit that is near or passed."""
    if not margin.of_rig:
        return _with_figures("recorder.above_plate", margin)
    return Message("recorder.past" if level == 2 else "recorder.near", standing=against_limit(margin))


def _with_figures(key: str, margin: Margin) -> Message:
    name = Message(f"recorder.limit.{margin.name}")
    figures = Message(f"recorder.figures.{margin.kind}", pair=(margin.value, margin.limit))
    return Message(key, name=name, figures=figures)


# The live line, and the summary at the end.


def picture(live: Live | None, tally: Tally, elapsed: float, state: Message | None) -> tuple[Message | str, ...]:
    """The parts of the live line, the most important first."""
    states = () if state is None else (state,)
    figures = () if live is None else tuple(_figures(live))
    return (*states, *figures, *_counts(tally, elapsed))


def _figures(live: Live) -> Iterator[Message]:
    nearest = live.nearest
    pressing = nearest is not None and nearest.share >= NEAR
    if nearest is not None and pressing:
        key = "recorder.live.past" if nearest.share > 1.0 else "recorder.live.near"
        yield Message(key, standing=against_limit(nearest))
    for name in ("speed", "torque", "power", "load"):
        value = getattr(live, name)
        if math.isfinite(value):
            yield Message(f"recorder.live.{name}", value=value)
    if nearest is not None and not pressing:
        yield Message("recorder.live.nearest", standing=against_limit(nearest))


def _counts(tally: Tally, elapsed: float) -> Iterator[Message | str]:
    minutes, seconds = divmod(int(elapsed), 60)
    yield f"{minutes}:{seconds:02d}"
    yield _count(tally.rows, "row")
    if tally.marks:
        yield _count(tally.marks, "mark")
    if tally.unread:
        yield Message("recorder.live.unread", count=tally.unread.total())


def summary(tally: Tally, path: str) -> Iterator[Message]:
    """What was recorded and what was not, one a line."""
    yield Message("recorder.recorded", path=path, rows=_count(tally.rows, "row"), marks=_count(tally.marks, "mark"))
    if tally.gaps:
        yield Message("recorder.away", gaps=_count(tally.gaps, "gap"), time=tally.away)
    if tally.cut_at_opening:
        yield Message("recorder.cut_at_opening", lines=_count(tally.cut_at_opening, "line"))
    for why, times in tally.unread.most_common():
        yield Message("recorder.unread", lines=_count(times, "line"), why=why)
    if tally.unread:
        more = tally.unread.total() - MOST_KEPT
        if more > 0:
            yield Message("recorder.kept_in_part", count=more)
        else:
            yield Message("recorder.kept")


def _count(number: int, noun: str) -> Message:
    return Message(f"recorder.one.{noun}") if number == 1 else Message(f"recorder.several.{noun}", count=number)
