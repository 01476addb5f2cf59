"""Says when a load is lost, or a motor stalls, at the moment it happens."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from certgen.messages.catalogue import Message

#: A load was held when it stayed within this part of itself for so long [s] and so many rows. Common practice, no source.
_STEADY, _HELD, _ROWS = 0.1, 2.0, 3
#: It was lost when this part of it, or more, went within so long [s], and stayed away for so long [s] and so many rows.
#: Common practice, no source.
_GONE, _AT_ONCE, _STAYED, _LOW_ROWS = 0.3, 0.6, 0.2, 2
#: Less than this part of the greatest torque seen is no load. Common practice, no source.
_LEAST = 0.05
#: It is back from this part of it on. Common practice, no source.
_BACK = 0.8
#: Speed that falls by this part with the torque: the motor is stalling, or the tachometer sits behind what slips. Common
#: practice, no source.
_SPEED_FALL = 0.1
#: A motor stalls when this part of its speed, or more, went and this part of the torque is still on. It runs again from this
#: part of its speed on. Common practice, no source.
_STALLED, _STILL_ON, _RUNS = 0.5, 0.2, 0.8
#: A load that stays off for so long is how the test goes on. Common practice, no source. [s]
_LONGEST = 60.0
#: Brake current that falls by this part of the part that the load lost, and not to nothing, was set. Common practice, no
#: source.
_SET, _NO_CURRENT = 0.25, 0.05
_MOST_KEPT = 4000


@dataclass(frozen=True)
class Sample:
    """One row at the tested shaft: time [s], speed [rad/s], torque [N*m], brake current [A]; ``nan`` where not known."""

    time: float
    speed: float
    torque: float
    brake_current: float = math.nan


class UpsetWatch:
    """Follows torque and speed row by row. It judges nothing: the log is judged when the job is."""

    def __init__(self) -> None:
        self._kept: deque[Sample] = deque(maxlen=_MOST_KEPT)
        self._greatest = 0.0
        self._lost: tuple[float, float] | None = None  # when, and what was held
        self._stalled: float | None = None  # the speed that it had

    def happened(self, samples: Sequence[Sample]) -> Iterator[Message]:
        """What to say of new rows, oldest first."""
        for sample in samples:
            if not (math.isfinite(sample.torque) and math.isfinite(sample.speed) and math.isfinite(sample.time)):
                continue
            upset = self._of(sample)
            if upset is not None:
                yield upset

    def pause(self) -> None:
        """The port goes away: what happens meanwhile is not known."""
        self._kept.clear()
        self._lost = self._stalled = None

    def _of(self, sample: Sample) -> Message | None:
        self._kept.append(sample)
        self._greatest = max(self._greatest, abs(sample.torque))
        while len(self._kept) > _ROWS + _LOW_ROWS and sample.time - self._kept[0].time > 2.0 * _HELD:
            self._kept.popleft()
        if self._lost is not None:
            return self._came_back(sample)
        if self._stalled is not None:
            if sample.speed >= _RUNS * self._stalled:
                self._kept.clear()
                self._stalled = None
            return None
        rows = list(self._kept)
        low = [row for row in rows[:-_LOW_ROWS] if sample.time - row.time < _STAYED] + rows[-_LOW_ROWS:]
        held = self._held(low[0].time)
        if held is None:
            return None
        left, fastest = max(abs(row.torque) for row in low), max(row.speed for row in low)
        if fastest < (1.0 - _STALLED) * held.speed and min(abs(row.torque) for row in low) > _STILL_ON * held.torque:
            self._stalled = held.speed
            return Message("recorder.upset.stalled", before=held.speed, speed=sample.speed, held=left)
        if left > (1.0 - _GONE) * held.torque or _was_set(held, sample, left):
            return None
        self._lost = (low[0].time, held.torque)
        key = "recorder.upset.speed_fell" if sample.speed < (1.0 - _SPEED_FALL) * held.speed else "recorder.upset.lost"
        return Message(key, held=held.torque, left=left, before=held.speed, speed=sample.speed)

    def _held(self, until: float) -> Sample | None:
        """The load held until a fall that may have taken until this time; ``None`` where none was."""
        earlier = [row for row in self._kept if until - row.time >= _AT_ONCE]
        rows = [row for row in earlier if earlier[-1].time - row.time <= _HELD]
        rows = rows if len(rows) >= _ROWS else earlier[-_ROWS:]
        if len(rows) < _ROWS:
            return None
        torques = [abs(row.torque) for row in rows]
        torque = median(torques)
        if torque < _LEAST * self._greatest or max(torques) - min(torques) > _STEADY * torque:
            return None
        speed, current = median(row.speed for row in rows), median(row.brake_current for row in rows)
        return Sample(rows[-1].time, speed, torque, current)

    def _came_back(self, sample: Sample) -> Message | None:
        assert self._lost is not None
        since, held = self._lost
        if abs(sample.torque) >= _BACK * held:
            self._kept.clear()
            self._lost = None
            return Message("recorder.upset.back", time=sample.time - since)
        if sample.time - since > _LONGEST:
            self._kept.clear()
            self._lost = None
        return None


def _was_set(held: Sample, sample: Sample, left: float) -> bool:
    """Whether the brake's current shows that the load was taken off."""
    if not (math.isfinite(held.brake_current) and held.brake_current > 0.0 and math.isfinite(sample.brake_current)):
        return False
    lost = 1.0 - left / held.torque
    fallen = 1.0 - sample.brake_current / held.brake_current
    return fallen >= _SET * lost and fallen < 1.0 - _NO_CURRENT
