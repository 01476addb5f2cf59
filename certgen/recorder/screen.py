"""The terminal while a recording runs: a full screen, or one line that changes; messages stay. Nothing holds up the file."""

from __future__ import annotations

import contextlib
import os
import select
import sys
import threading
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TextIO

from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI
from certgen.readings.recording.port import Events

if TYPE_CHECKING:
    from certgen.recorder.dashboard import Face

_INTERVAL = 0.2  # between two pictures [s]
_SLOW = 10.0  # the same on a terminal that cannot rewrite a line [s]
_MOST_WAITING = 200  # messages the terminal has not taken yet
_WIDTH = 80  # where the terminal does not tell
_CLEAR_LINE = "\r\x1b[K"


@dataclass(frozen=True)
class Notice:
    """A line that stays; ``urgent`` sounds the terminal's bell."""

    text: str
    urgent: bool = False


class Screen(threading.Thread):
    """Draws in a thread of its own, so that a terminal that does not take text only stops the picture.

    Uses no colour. On a pipe it writes notices and no picture.
    """

    def __init__(self, stream: TextIO | None = None, units: str = SI, *, full: bool = True) -> None:
        super().__init__(name="screen", daemon=True)
        self._units = units  # the reader's, with the language
        self._stream = sys.stderr if stream is None else stream
        self._terminal = self._stream.isatty()
        self._rewrites = self._terminal and os.environ.get("TERM", "dumb") != "dumb"
        self._notices: deque[Notice] = deque(maxlen=_MOST_WAITING)
        self._picture: tuple[str, ...] = ()
        self._woken, self._closing = threading.Event(), threading.Event()
        self._since_drawn = _SLOW
        self.bell = True
        self._rings = False
        self._face: Face | None = None
        self._stage: Any = None  # the full screen, while it is up
        self._full = full and self._rewrites
        self._stay: deque[str] = deque(maxlen=_MOST_WAITING)  # what was said while it was

    def show(self, parts: tuple[Message | str, ...]) -> None:
        """The parts of the picture, the most important first."""
        self._picture = tuple(text_of(part, units=self._units) for part in parts)

    def see(self, face: Face | None) -> None:
        """What the full screen shows, where the terminal has room for one; ``None`` takes it away."""
        self._face = face

    def ring(self) -> None:
        """Sound the bell once, unless it is off."""
        self._rings = True
        self._woken.set()

    def say(self, text: Message | str, *, urgent: bool = False) -> None:
        """A notice that stays."""
        self._notices.append(Notice(text_of(text, units=self._units), urgent))
        self._woken.set()

    def close(self) -> None:
        """Say what is left to say and stop drawing; a terminal that does not listen is left alone."""
        self._closing.set()
        self._woken.set()
        self.join(timeout=2.0)

    def run(self) -> None:
        """Draw until closed, or until there is nobody to see it."""
        try:
            while not self._closing.is_set():
                self._woken.wait(_INTERVAL)
                self._woken.clear()
                self._draw()
            self._leave()
            self._say_all()
            self._write(_CLEAR_LINE if self._rewrites else "")
        except (OSError, ValueError):  # a closed pipe or terminal
            self._notices.clear()

    def _draw(self) -> None:
        if self._rings:
            self._rings = False
            self._write("\a" if self.bell and self._terminal else "")
        if self._face is not None and self._full:
            try:
                if self._draw_full(self._face):
                    return
            except (OSError, ValueError):  # the terminal itself
                raise
            except Exception:  # the plain line is better than none
                self._full = False
        self._leave()
        self._say_all()
        if self._rewrites and self._picture:
            self._write(_CLEAR_LINE + fitted(self._picture, self._width() - 1))
        elif self._terminal and self._picture:
            self._since_drawn += _INTERVAL
            if self._since_drawn >= _SLOW:
                self._since_drawn = 0.0
                self._write(" | ".join(self._picture) + "\n")

    def _draw_full(self, face: Face) -> bool:
        """Draw the whole screen; whether there is room and a library for it."""
        from certgen.recorder.dashboard import LEAST, drawn

        width, height = self._size()
        if width < LEAST[0] or height < LEAST[1]:
            return False
        if self._stage is None:
            self._stage = _stage_on(self._stream)
            self._full = self._stage is not None
            if self._stage is None:
                return False
        while self._notices:
            notice = self._notices.popleft()
            self._stay.append(notice.text)
            self._write("\a" if notice.urgent else "")
        shown = replace(face, happened=tuple(self._stay), bell=self.bell)
        self._stage.console.size = (width, height)
        self._stage.update(drawn(shown, width, height, self._units), refresh=True)
        return True

    def _leave(self) -> None:
        """Take the full screen away; what was said on it stays below."""
        if self._stage is not None:
            self._stage.stop()
            self._stage = None
            while self._stay:
                self._write(f"{self._stay.popleft()}\n")

    def _size(self) -> tuple[int, int]:
        """Columns and rows of the terminal now; none where it does not tell."""
        with contextlib.suppress(OSError, ValueError):
            return tuple(os.get_terminal_size(self._stream.fileno()))  # type: ignore[return-value]
        return 0, 0

    def _width(self) -> int:
        """Columns of the terminal now; it may be resized at any time."""
        columns = os.environ.get("COLUMNS", "")
        if columns.isdecimal() and int(columns) > 0:
            return int(columns)
        with contextlib.suppress(OSError, ValueError):
            return os.get_terminal_size(self._stream.fileno()).columns or _WIDTH
        return _WIDTH

    def _say_all(self) -> None:
        while self._notices:
            notice = self._notices.popleft()
            bell = "\a" if notice.urgent and self._terminal else ""
            self._write(f"{bell}{_CLEAR_LINE if self._rewrites else ''}{notice.text}\n")

    def _write(self, text: str) -> None:
        self._stream.write(text)
        self._stream.flush()


def _stage_on(stream: TextIO) -> Any:
    """The full screen on a terminal, without colour; ``None`` where the library for it is not installed."""
    try:
        from rich.console import Console
        from rich.live import Live
    except ImportError:
        return None
    console = Console(file=stream, force_terminal=True, color_system=None, highlight=False, markup=False)
    stage = Live(
        console=console, screen=True, auto_refresh=False, redirect_stdout=False, redirect_stderr=False, transient=True
    )
    stage.start()
    return stage


def fitted(parts: tuple[str, ...], width: int) -> str:
    """As many parts as a line has room for, the first one cut if need be."""
    line = parts[0][: max(width, 0)]
    for part in parts[1:]:
        longer = f"{line} | {part}"
        if len(longer) > width:
            break
        line = longer
    return line


# Keys pressed while a recording runs, where standard input is a terminal of its own.


_WAIT = 0.2  # so that a stop is soon noticed [s]


@dataclass(frozen=True)
class Key:
    """A key that was pressed."""

    sign: str


@contextlib.contextmanager
def keys_into(events: Events, descriptor: int) -> Iterator[bool]:
    """Put each key into the queue while the block runs; gives whether keys can be read at all.

    The terminal hands over each key at once and shows none, and its stop key (Ctrl-S) does not stop output; it is
    left as it was found.
    """
    settings = _unbuffered(descriptor)
    if settings is None:
        yield False
        return
    import termios

    stopping = threading.Event()
    thread = threading.Thread(target=_listen, args=(events, descriptor, stopping), name="keys", daemon=True)
    thread.start()
    try:
        yield True
    finally:
        stopping.set()
        thread.join(timeout=2 * _WAIT)
        termios.tcsetattr(descriptor, termios.TCSADRAIN, settings)


def _unbuffered(descriptor: int) -> Any:
    """The terminal's former settings, once it gives keys one by one; ``None`` where it is no terminal of ours."""
    try:
        import termios
        import tty
    except ImportError:  # a system without terminals of this kind
        return None
    try:
        if not os.isatty(descriptor) or os.tcgetpgrp(descriptor) != os.getpgrp():
            return None  # in the background a change of settings would stop the program
        settings = termios.tcgetattr(descriptor)
        tty.setcbreak(descriptor, termios.TCSADRAIN)
        changed = termios.tcgetattr(descriptor)
        changed[0] &= ~termios.IXON
        termios.tcsetattr(descriptor, termios.TCSADRAIN, changed)
    except (OSError, termios.error):
        return None
    return settings


def _listen(events: Events, descriptor: int, stopping: threading.Event) -> None:
    while not stopping.is_set():
        try:
            ready, _, _ = select.select([descriptor], [], [], _WAIT)
            pressed = os.read(descriptor, 64) if ready else None
        except (OSError, ValueError):
            return
        if pressed == b"":
            return  # the terminal is gone
        for sign in (pressed or b"").decode("utf-8", errors="ignore"):
            events.put(Key(sign))


def standard_input() -> int:
    """The descriptor of standard input, -1 where there is none."""
    try:
        return sys.stdin.fileno()
    except (OSError, ValueError, AttributeError):
        return -1
