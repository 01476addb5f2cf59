"""Where lines come from: a serial port that may be pulled out and put back, or standard input."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from queue import SimpleQueue
from typing import Any, Protocol

from certgen.errors import CertgenError
from certgen.job.logger import Logger

# A stream of bytes cut into lines of bounded length.


#: Longest line a logger may send. [byte]
MOST_IN_LINE = 1000
#: Why a line is not whole.
TOO_LONG, CUT_AT_OPENING, CUT_AT_GAP = "longer than a line can be", "cut at the opening of the port", "cut at a gap"

_ENDINGS = {"any": rb"[\r\n]+", "lf": rb"\n", "crlf": rb"\r\n", "cr": rb"\r"}


@dataclass(frozen=True)
class Line:
    """One line as it came, without its ending; ``flaw`` says why it is not whole, and is empty where it is."""

    data: bytes
    flaw: str = ""


class LineCutter:
    """Cuts what comes in at the line endings; a line under way when the port opens is never taken for a whole one."""

    def __init__(self, ending: str, *, opened_midway: bool) -> None:
        self._ending = re.compile(_ENDINGS[ending])
        self._rest = b""
        self._flaw = CUT_AT_OPENING if opened_midway else ""

    def feed(self, data: bytes) -> list[Line]:
        """The lines that end within these bytes."""
        *ended, self._rest = self._ending.split(self._rest + data)
        lines = []
        for line in ended:
            if line or self._flaw:
                lines.append(self._line(line))
            self._flaw = ""
        if len(self._rest) > MOST_IN_LINE:
            self._flaw = self._flaw or TOO_LONG
            self._rest = self._rest[:MOST_IN_LINE] + self._rest[-1:]  # the last byte may begin the ending
        return lines

    def broken_off(self, flaw: str = CUT_AT_GAP) -> list[Line]:
        """What was under way when the stream broke off, if anything."""
        rest, self._rest = self._rest, b""
        return [Line(rest[:MOST_IN_LINE], self._flaw or flaw)] if rest else []

    def _line(self, data: bytes) -> Line:
        flaw = self._flaw or (TOO_LONG if len(data) > MOST_IN_LINE else "")
        return Line(data[:MOST_IN_LINE], flaw)


# Where lines come from: a serial port that may be pulled out and put back, or standard input.


_CHUNK = 4096
_WAIT = 0.2  # for a byte, so that a stop is soon noticed [s]
_FIRST_PAUSE, _LONGEST_PAUSE = 0.1, 2.0  # between two attempts to open a port [s]
#: Events not yet taken before the port is read no further; about an hour at ten lines a second.
_MOST_WAITING = 50_000


@dataclass(frozen=True)
class Arrived:
    """A line and when it came, monotonic. [s]"""

    line: Line
    at: float


@dataclass(frozen=True)
class Gone:
    """The port cannot be read, for the reason given."""

    at: float
    why: str


@dataclass(frozen=True)
class Waiting:
    """The port is not there yet, for the reason given."""

    why: str


@dataclass(frozen=True)
class Back:
    """The port is open, at first or again."""

    at: float


@dataclass(frozen=True)
class Ended:
    """Nothing more will come, and why if that is a failure."""

    failure: str = ""


Event = Arrived | Gone | Waiting | Back | Ended
Events = SimpleQueue[Any]


class Port(Protocol):
    """As much of a serial port as is used."""

    def read(self, size: int = 1, /) -> bytes:
        """Up to that many bytes, none where nothing came for a while."""

    @property
    def in_waiting(self) -> int:
        """How many bytes are there already."""

    def close(self) -> None:
        """Let go of the port."""


def serial_opener(name: str, logger: Logger) -> Callable[[], Port]:
    """What opens the rig's serial port.

    Raises
    ------
    CertgenError
        The library for serial ports is not installed.
    """
    try:
        import serial
    except ImportError:
        raise CertgenError(
            "reading a serial port needs an extra: install it with pip install 'certgen[record]', "
            "or send the lines to standard input and write --port -."
        ) from None
    bits, parity, stop = tuple(logger.frame)

    def open_port() -> Port:
        port: Port = serial.Serial(
            name,
            logger.baud,
            int(bits),
            parity,
            int(stop),
            timeout=_WAIT,
            exclusive=True if os.name == "posix" else None,
        )
        return port

    return open_port


class Source(threading.Thread):
    """Puts the lines of a source into the queue, with the time each came."""

    def __init__(self, ending: str, events: Events, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__(name="logger", daemon=True)
        self._ending, self._events, self._clock = ending, events, clock
        self._stopping = threading.Event()

    def stop(self) -> None:
        """Ask it to end."""
        self._stopping.set()

    def run(self) -> None:
        """Read until asked to end; a failure of the program itself ends the recording too and is reported."""
        try:
            self._read()
        except Exception as failure:
            self._events.put(Ended(f"{type(failure).__name__}: {failure}"))
            raise

    def _read(self) -> None:
        raise NotImplementedError

    def _put(self, lines: list[Line]) -> None:
        at = self._clock()
        for line in lines:
            self._events.put(Arrived(line, at))
        while self._events.qsize() > _MOST_WAITING and not self._stopping.is_set():
            time.sleep(_WAIT)


class SerialSource(Source):
    """A serial port: what goes away is waited for and opened again."""

    def __init__(self, open_port: Callable[[], Port], ending: str, events: Events) -> None:
        super().__init__(ending, events)
        self._open_port = open_port

    def _read(self) -> None:
        why = ""
        pause = _FIRST_PAUSE
        opened_before = False
        while not self._stopping.is_set():
            try:
                port = self._open_port()
            except OSError as cause:
                reported = reason(cause)
                if not opened_before and not _absent(cause):
                    self._events.put(Ended(reported))
                    return
                if reported != why and not opened_before:
                    self._events.put(Waiting(reported))
                why = reported
                self._stopping.wait(pause)
                pause = min(2.0 * pause, _LONGEST_PAUSE)
                continue
            why, pause, opened_before = "", _FIRST_PAUSE, True
            self._events.put(Back(self._clock()))
            self._read_open(port)

    def _read_open(self, port: Port) -> None:
        cutter = LineCutter(self._ending, opened_midway=True)
        try:
            while not self._stopping.is_set():
                data = port.read(1)
                if data:
                    self._put(cutter.feed(data + port.read(min(port.in_waiting, _CHUNK))))
        except (OSError, TypeError) as cause:  # TypeError: a port closed under the library's hands
            self._put(cutter.broken_off())
            self._events.put(Gone(self._clock(), reason(cause)))
        finally:
            with contextlib.suppress(OSError):
                port.close()


class StreamSource(Source):
    """An open file such as standard input."""

    def __init__(self, descriptor: int, ending: str, events: Events) -> None:
        super().__init__(ending, events)
        self._descriptor = descriptor

    def _read(self) -> None:
        cutter = LineCutter(self._ending, opened_midway=False)
        while not self._stopping.is_set():
            try:
                data = os.read(self._descriptor, _CHUNK)
            except OSError as cause:
                self._events.put(Ended(reason(cause)))
                return
            self._put(cutter.feed(data))
            if not data:
                self._put(cutter.broken_off("cut at the end"))
                self._events.put(Ended())
                return


def reason(cause: BaseException) -> str:
    """Why a port failed, in the system's words."""
    number = getattr(cause, "errno", None)
    return os.strerror(number) if isinstance(number, int) else "it was pulled out, or is used by another program"


def _absent(cause: OSError) -> bool:
    """Whether there is no such port now, as before its cable is put in."""
    return cause.errno in (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.EIO)
