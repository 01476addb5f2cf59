"""The logger's own clock held against the computer's, while lines come in."""

from __future__ import annotations

import math

from certgen.messages.catalogue import Message

#: Shortest time over which two clocks are compared: below it the jitter of arrival counts, and lines piped from a file
#: arrive all at once. Common practice, no source. [s]
LEAST_COMPARED = 5.0
#: How far the clocks may part: a part of the time, and the jitter of the first and the last line [s]. Common practice, no
#: source.
_PART, _JITTER = 0.01, 0.2


class ClockComparison:
    """Takes each line's two times; decides whether the logger's clock may stand for the time of the test."""

    def __init__(self, *, continued: bool = False) -> None:
        """``continued`` says that earlier rows of the file are from a clock that may have begun anew since."""
        self._continued, self._went_back = continued, False
        self._first: tuple[float, float] | None = None
        self._last: tuple[float, float] | None = None
        self._compared = self._counted = 0.0

    def take(self, arrival: float, clock: float) -> None:
        """One line: when it came by the computer's clock, and when it was read by the logger's; ``nan`` without one. [s]"""
        if not math.isfinite(clock):
            return
        if self._last is not None and clock < self._last[1]:
            self._went_back = True
            self.pause()
        if self._first is None:
            self._first = (arrival, clock)
        self._last = (arrival, clock)

    def pause(self) -> None:
        """The port goes away: what the logger's clock does meanwhile is not compared."""
        if self._first is not None and self._last is not None:
            self._compared += self._last[0] - self._first[0]
            self._counted += self._last[1] - self._first[1]
        self._first = None

    @property
    def disagreement(self) -> Message | None:
        """Why the logger's clock is not the time of the test; ``None`` where nothing speaks against it."""
        if self._continued:
            return Message("recorder.clock.continued")
        if self._went_back:
            return Message("recorder.clock.restarted")
        compared, counted = self._compared, self._counted
        if self._first is not None and self._last is not None:
            compared += self._last[0] - self._first[0]
            counted += self._last[1] - self._first[1]
        if compared < LEAST_COMPARED or abs(counted - compared) <= _PART * compared + _JITTER:
            return None
        return Message("recorder.clock.rate", ratio=counted / compared)
