"""A bound on the time that reading a stranger's file may take."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class TookTooLong(Exception):
    """The time allowed is over."""


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Raise :class:`TookTooLong` in the block once the time is over.

    Systems without an interval timer, and threads other than the main one, are bounded by the sizes of what is read
    alone.
    """
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: FrameType | None) -> None:
        raise TookTooLong

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)
