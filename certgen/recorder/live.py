"""What the newest rows mean: torque, power and load of the motor, and how near the rig is to its limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from certgen.job.load import LoadedJob
from certgen.job.model import OTHER
from certgen.physics.domain import Array
from certgen.physics.mechanics import shaft_power
from certgen.readings.model import Table, Zero
from certgen.readings.recording.recording import MOST_KEPT, Tally
from certgen.readings.recording.rows import Row
from certgen.reduction.electrical import electrical_input
from certgen.reduction.speed import shaft_speeds
from certgen.reduction.torque import table_torque

_RPM = 60.0 / (2.0 * math.pi)


@dataclass(frozen=True)
class Margin:
    """One quantity against its limit, both in the unit they are told in; ``of_rig`` where the rig sets the limit."""

    name: str
    value: float
    limit: float
    unit: str
    of_rig: bool = True

    @property
    def share(self) -> float:
        """The part of the limit that is reached."""
        return self.value / self.limit


@dataclass(frozen=True)
class Live:
    """The newest row at the tested shaft, ``nan`` where it cannot be told, and the worst margins of all new rows.

    speed [rad/s], torque [N*m], power [W], load as a part of rated power.
    """

    speed: float
    torque: float
    power: float
    load: float
    margins: tuple[Margin, ...]

    @property
    def nearest(self) -> Margin | None:
        """The limit of the rig that is nearest."""
        return max((one for one in self.margins if one.of_rig), key=lambda one: one.share, default=None)


@dataclass(frozen=True)
class _Limit:
    """One limit and the values held against it."""

    name: str
    values: Array
    limit: Array | float | None
    unit: str
    factor: float = 1.0
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
        rated = self._plate.power
        limits = self._limits(table, (torque.at_absorber, torque.at_shaft, torque.scale_indication), absorber_speed)
        return Live(
            speed=float(speed[-1]),
            torque=float(torque.at_shaft[-1]),
            power=float(power[-1]),
            load=float(power[-1]) / rated if rated else math.nan,
            margins=tuple(margin for one in limits for margin in _worst(one)),
        )

    def _limits(self, table: Table, torques: tuple[Array, Array, Array], speed: Array) -> Iterator[_Limit]:
        at_absorber, at_shaft, indication = torques
        limits, scale = self._rig.limits, self._rig.limits.scale
        span = (None, "") if scale is None else (scale.value, "kg" if scale.dimension == "mass" else "N")
        yield _Limit("torque", at_absorber, limits.torque, "N*m")
        yield _Limit("brake speed" if self._rig.drive.kind == "belt" else "speed", speed, limits.speed, "rpm", _RPM)
        yield _Limit("scale", indication, *span)
        yield _Limit("coupling torque", at_shaft, limits.coupling_torque, "N*m")
        yield _Limit("absorber power", at_absorber * speed, limits.absorber_power, "W")
        yield _Limit("brake current", table.column("brake_current"), limits.brake_current, "A")
        yield _Limit("torque (most the brake holds at this speed)", at_absorber, self._held(speed), "N*m")
        current = electrical_input(table, self._type).current
        plate = self._plate
        yield _Limit("rated current", current, plate.current, "A", of_rig=False)
        yield _Limit("service-factor current", current, plate.service_factor_current, "A", of_rig=False)

    def _held(self, speed: Array) -> Array | None:
        """Most torque the brake holds at each speed; ``nan`` beyond the speeds it was stated for. [N*m]"""
        if self._envelope is None:
            return None
        order = np.argsort(self._envelope.column("speed"))
        speeds, torques = (self._envelope.column(name)[order] for name in ("speed", "torque"))
        return np.interp(speed, speeds, torques, left=math.nan, right=math.nan)


def _worst(one: _Limit) -> Iterator[Margin]:
    """The row that is nearest to a limit, if the limit and any value are known."""
    if one.limit is None:
        return
    limits = np.broadcast_to(np.asarray(one.limit, dtype=float), one.values.shape)
    shares = np.divide(one.values, limits, out=np.full(limits.shape, math.nan), where=limits > 0.0)
    if np.isfinite(shares).any():
        at = int(np.nanargmax(shares))
        yield Margin(one.name, float(one.values[at]) * one.factor, float(limits[at]) * one.factor, one.unit, one.of_rig)


# Words for a limit that comes near or is passed, once each time.


#: Part of a limit of the rig from which on it is near. Common practice, no source.
NEAR = 0.9
#: How far a value falls back before the same warning is given again, as a part of the limit.
_FALLS_BACK = 0.03


class Alarms:
    """Remembers which limits are near or passed, and tells each change for the worse."""

    def __init__(self) -> None:
        self._levels: dict[str, int] = {}

    def raised(self, margins: Sequence[Margin]) -> Iterator[str]:
        """A sentence for each limit that came near or was passed since the last time."""
        for one in margins:
            before, now = self._levels.get(one.name, 0), _level(one, one.share)
            if now > before:
                yield told(one, now)
            self._levels[one.name] = now if now >= before else _level(one, one.share + _FALLS_BACK)


def _level(one: Margin, share: float) -> int:
    """2 past the limit, 1 near it, 0 well below; the limits of a plate are not near, they are passed or not."""
    if share > 1.0:
        return 2
    return 1 if one.of_rig and share >= NEAR else 0


def standing(margin: Margin) -> str:
    """A value against its limit."""
    return f"{margin.name} {margin.value:.4g} of {margin.limit:.4g} {margin.unit}"


def told(one: Margin, level: int) -> str:
    """A warning in words."""
    if not one.of_rig:
        return f"above {standing(one).replace(one.name, f'the {one.name}:', 1)}"
    if level == 2:
        return f"PAST THE LIMIT: {standing(one)}. Take the load off."
    return f"NEAR THE LIMIT: {standing(one)}."


# The words of the live line and of the summary at the end.


def picture(live: Live | None, tally: Tally, elapsed: float, state: str) -> tuple[str, ...]:
    """The parts of the live line, the most important first."""
    return (*filter(None, [state]), *(_figures(live) if live is not None else ()), *_counts(tally, elapsed))


def _figures(live: Live) -> Iterator[str]:
    nearest = live.nearest
    pressing = nearest is not None and nearest.share >= NEAR
    if nearest is not None and pressing:
        yield told(nearest, 2 if nearest.share > 1.0 else 1).removesuffix(".")
    for value, text in (
        (live.speed, f"{live.speed * _RPM:.0f} rpm"),
        (live.torque, f"{live.torque:.2f} N*m"),
        (live.power, f"{live.power:.0f} W"),
        (live.load, f"{live.load * 100.0:.0f} % of rated load"),
    ):
        if math.isfinite(value):
            yield text
    if nearest is not None and not pressing:
        yield f"nearest limit: {standing(nearest)}"


def _counts(tally: Tally, elapsed: float) -> Iterator[str]:
    minutes, seconds = divmod(int(elapsed), 60)
    yield f"{minutes}:{seconds:02d}"
    yield _count(tally.rows, "row")
    if tally.marks:
        yield _count(tally.marks, "mark")
    if tally.unread:
        yield f"{tally.unread.total()} not read"


def summary(tally: Tally, path: str) -> Iterator[str]:
    """What was recorded and what was not, one a line."""
    yield f"{path}: {_count(tally.rows, 'row')} recorded, {_count(tally.marks, 'mark')}"
    if tally.gaps:
        yield f"{_count(tally.gaps, 'gap')}, {tally.away:.1f} s in all, in which the port was away"
    if tally.cut_at_opening:
        yield f"{_count(tally.cut_at_opening, 'line')} left out that was under way when the port opened"
    for why, times in tally.unread.most_common():
        yield f"{_count(times, 'line')} not read: {why}"
    if tally.unread:
        kept = "kept in the file as comments"
        more = tally.unread.total() - MOST_KEPT
        yield f"lines not read are {kept}" + (f", the last {more} only counted" if more > 0 else "")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
