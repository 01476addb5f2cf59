"""Keys pressed while a recording runs, where standard input is a terminal of its own."""

from __future__ import annotations

import contextlib
import os
import select
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from certgen.readings.recording.port import Events

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
