"""The recording while it runs: every event in turn, the file first, the picture after."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from queue import Empty

from certgen.readings.recording.port import Arrived, Back, Ended, Events, Gone, Waiting
from certgen.readings.recording.recording import Recording
from certgen.readings.recording.rows import Row
from certgen.readings.text_file import MOST_BYTES
from certgen.recorder.alarms import Alarms
from certgen.recorder.keys import Key
from certgen.recorder.live import Live, LiveView
from certgen.recorder.picture import picture
from certgen.recorder.screen import Screen

_WAIT = 0.2  # [s]
_MOST_AT_ONCE = 500  # events handled before the file is brought up to date
_SILENCE = 3.0  # without a line, before the picture says so [s]
_LONG_SILENCE = 10.0  # the same, before a message does [s]
#: Lines that could not be read, with none that could, before the rig's description is doubted.
_DOUBTFUL = 20
MARK_KEYS, END_KEYS = ("m", "M", " "), ("q", "Q", "\x03", "\x04")


@dataclass(frozen=True)
class Stop:
    """Asked to end, by a signal."""


class Session:
    """Takes events until one of them ends the recording."""

    def __init__(
        self,
        recording: Recording,
        live: LiveView,
        screen: Screen,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.recording, self.failure = recording, ""
        self._view: LiveView | None = live
        self._screen, self._clock, self._alarms = screen, clock, Alarms()
        self._live: Live | None = None
        self._state = ""
        self._opened = False
        self._began = self._last_line = clock()
        self._told: set[str] = set()
        self._silence_told = False

    def run(self, events: Events) -> None:
        """Record until the source ends, a key or a signal says so, or the source fails (then ``failure`` says why)."""
        going = True
        while going:
            rows: list[Row] = []
            for event in _batch(events):
                going = self._take(event, rows) and going
            self.recording.save()
            self._see(rows)

    def _take(self, event: object, rows: list[Row]) -> bool:
        """One event; whether the recording goes on."""
        match event:
            case Arrived():
                self._last_line, self._silence_told = event.at, False
                row = self.recording.take(event.line, event.at)
                if row is not None:
                    rows.append(row)
            case Key():
                if event.sign in MARK_KEYS:
                    self._screen.say(f"{self.recording.mark()}: the next row")
                return event.sign not in END_KEYS
            case Waiting():
                self._wait_for_port("waiting for the port", event.why)
            case Gone():
                self.recording.gone(event.at, event.why)
                self._wait_for_port("the port is gone; waiting for it", event.why)
            case Back():
                self.recording.back(event.at)
                self._screen.say("the port is there again" if self._opened and self._state else "the port is open")
                self._opened, self._state, self._last_line = True, "", event.at
            case Ended():
                self.failure = event.failure
                return False
            case Stop():
                return False
        return True

    def _wait_for_port(self, state: str, why: str) -> None:
        self._state = state
        self._screen.say(f"{state} ({why})")

    def _see(self, rows: list[Row]) -> None:
        """Bring the picture up to date; if that fails, only the picture stops."""
        if self._view is not None and rows:
            try:
                self._live = self._view.of(rows)
                for warning in self._alarms.raised(self._live.margins):
                    self._screen.say(warning, urgent=True)
            except Exception as failure:
                self._view = self._live = None
                self._screen.say(f"the live figures stop ({type(failure).__name__}: {failure}); the recording goes on")
        self._doubt()
        state = self._state or self._silence()
        if state:  # figures of a moment ago would be taken for those of now
            self._live = None
        self._screen.show(picture(self._live, self.recording.tally, self._clock() - self._began, state))

    def _silence(self) -> str:
        """Words for a logger that does not send, none while it does."""
        silent = self._clock() - self._last_line
        if silent > _LONG_SILENCE and not self._silence_told:
            self._silence_told = True
            self._screen.say(f"no line for {silent:.0f} s: is the logger sending, at the baud of the rig file?")
        return f"no line for {silent:.0f} s" if silent > _SILENCE else ""

    def _doubt(self) -> None:
        tally = self.recording.tally
        if not tally.rows and tally.unread.total() >= _DOUBTFUL:
            why = tally.unread.most_common(1)[0][0]
            self._say_once(
                f"no line could be read so far ({tally.unread.total()} came {why}): compare baud, separator and columns "
                "in the rig file with what the logger sends"
            )
        if self.recording.file.size > MOST_BYTES:
            self._say_once(
                f"the file is larger than the {MOST_BYTES // 1_000_000} MB certgen reads; end here and begin another"
            )

    def _say_once(self, text: str) -> None:
        kind = text[:10]
        if kind not in self._told:
            self._told.add(kind)
            self._screen.say(text)


def _batch(events: Events) -> list[object]:
    """The next event and those that came with it; none if nothing comes for a while."""
    batch: list[object] = []
    with contextlib.suppress(Empty):
        batch.append(events.get(timeout=_WAIT))
        while len(batch) < _MOST_AT_ONCE:
            batch.append(events.get_nowait())
    return batch
