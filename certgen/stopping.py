"""An end at any moment: the first signal lets what is open be put in order, and a second one, or two seconds, end it.

Nothing is ever half written: files appear under their names whole (``archive/store.py``), so that an end in between loses
nothing. Workers end by themselves when this process does (``issuing/workers.py``).
"""

from __future__ import annotations

import os
import signal
import sys

TYPE_CHECKING = False  # as typing has it: nothing that takes long to load comes before signals are heeded
if TYPE_CHECKING:
    from collections.abc import Callable
    from types import FrameType

#: Signals that ask for the end.
_ASKING = (signal.SIGINT, signal.SIGTERM)
#: How long the work may take to be put in order before the process ends all the same. [s]
_PATIENCE = 1.5


class Stopped(KeyboardInterrupt):
    """The end was asked for by a signal."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.exit_status = exit_status(number)


def exit_status(number: int) -> int:
    """What a shell reports of a command ended by this signal: 130 or 143."""
    return 128 + number


class _Asked:
    """The signal that asked for the end, and how far the end has come."""

    number = 0
    said = False
    finishing = False


def run_until_stopped(work: Callable[[], int]) -> int:
    """Run a command as the whole of this process; return its exit status, or end the process where a signal asks.

    Parameters
    ----------
    work : callable
        The command. A :class:`Stopped` is raised in it at the first signal.
    """
    try:
        _heed()
        status = work()
    except BaseException as cause:
        if not _Asked.number and not isinstance(cause, KeyboardInterrupt):
            raise
        say_stopped()  # what breaks off in the middle of being loaded may raise anything
        status = exit_status(_Asked.number or signal.SIGINT)
    _Asked.finishing = True
    if _Asked.number:
        with _Unheard():
            sys.stdout.flush()
        _end(exit_status(_Asked.number))  # whatever waits at the end of an interpreter is not waited for
    return status


def asked() -> bool:
    """Whether a signal asked for the end."""
    return _Asked.number != 0


def say_stopped() -> None:
    """The one line of an end that was asked for, once."""
    if _Asked.number and _Asked.said:
        return
    _Asked.said = True
    with _Unheard():
        print("stopped", file=sys.stderr, flush=True)


class _Unheard:
    """What cannot be written is not: nobody listens any more."""

    def __enter__(self) -> None:
        """Nothing to prepare."""

    def __exit__(self, kind: object, failure: BaseException | None, trace: object) -> bool:
        """Let go of what the stream refused."""
        return isinstance(failure, (OSError, ValueError))


def _ask(number: int, frame: FrameType | None) -> None:
    if _Asked.number or _Asked.finishing:
        _end(exit_status(number))
    _Asked.number = number
    sys.unraisablehook = lambda _: None  # what goes wrong while all is let go is nobody's concern
    raise Stopped(number)


def _heed() -> None:
    """Take the signals from the interpreter, but those that are ignored, as under nohup."""
    for number in _ASKING:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _ask)
    _watch()


def _watch() -> None:
    """End the process a while after a signal, even where the main thread is deep in a library and cannot."""
    import threading

    read, write = os.pipe()
    os.set_blocking(write, False)
    signal.set_wakeup_fd(write, warn_on_full_buffer=False)

    def wait() -> None:
        while number := os.read(read, 1):
            if number[0] in _ASKING and signal.getsignal(number[0]) is _ask:  # a recording ends in its own time
                break
        else:
            return
        threading.Event().wait(_PATIENCE)
        _end(exit_status(number[0]))

    threading.Thread(target=wait, daemon=True, name="end").start()


def _end(status: int) -> None:
    """The end of the process at once; nobody else may have the streams for long."""
    if not _Asked.said:
        _Asked.said = True
        with _Unheard():
            os.write(2, b"stopped\n")
    os._exit(status)
