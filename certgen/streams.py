"""Standard streams that take any text wherever the program runs, and what is said when the system refuses."""

from __future__ import annotations

import contextlib
import io
import os
import sys

from certgen.errors import visible


def ready_streams() -> None:
    """Give the program standard streams that take any text.

    Streams that were closed lead nowhere, so that no file opened later takes their place and catches the talk. A
    terminal of a narrow character set shows an escape where it has no sign such as the degree.
    """
    while (descriptor := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(descriptor, True)
    os.close(descriptor)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, io.TextIOWrapper(io.FileIO(os.devnull, "w"), encoding="utf-8", write_through=True))
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def say(text: object) -> None:
    """Talk on standard error; where that cannot be written nobody listens."""
    with contextlib.suppress(OSError):
        print(text, file=sys.stderr, flush=True)


def let_go_of_output() -> None:
    """Send what waits for standard output nowhere, so that the end of the program does not stumble over it."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def refusal(cause: OSError) -> str:
    """What the system refused, in a sentence: a file it names, else the output."""
    reason = cause.strerror or str(cause)
    if cause.filename is None:
        return f"the output cannot be written ({reason}); send it where there is room."
    return f"{visible(os.fsdecode(cause.filename))}: the system refuses this ({reason}); check the name and its permissions."
