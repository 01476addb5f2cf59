"""A logger played on a pseudo-terminal, which can be pulled out and put back under one name."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import time
import tty
from collections.abc import Callable, Iterator
from pathlib import Path

RIG = """\
name: Arm brake
absorber: {kind: arm}
arm_length: 0.5 m
scale: {reads: mass}
limits: {torque: 16 N*m, scale: 5 kg}
logger:
  separator: comma
  columns: [{name: speed, unit: rpm}, {name: scale, unit: kg}, {name: current, unit: A}]
"""


class SerialLogger:
    """A serial port at ``path``; ``send`` writes what the logger would."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._ends: tuple[int, int] | None = None

    def plug(self) -> None:
        """Put the cable in."""
        outer, inner = os.openpty()
        tty.setraw(inner)
        self._ends = (outer, inner)
        self.path.symlink_to(os.ttyname(inner))

    def send(self, data: bytes) -> None:
        assert self._ends is not None
        os.write(self._ends[0], data)

    def unplug(self) -> None:
        """Pull the cable out."""
        if self._ends is not None:
            self.path.unlink()
            for end in self._ends:
                os.close(end)
            self._ends = None


def until(holds: Callable[[], bool], seconds: float = 20.0) -> None:
    """Wait until something holds."""
    deadline = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < deadline, "it never held"
        time.sleep(0.01)


def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


def data_rows(text: str) -> list[str]:
    """The rows of a recording below its header, without comments."""
    return [line for line in text.splitlines() if line and not line.startswith("#")][1:]


@contextlib.contextmanager
def recorder(*arguments: str, stdin: int = subprocess.DEVNULL) -> Iterator[subprocess.Popen[bytes]]:
    """``certgen record`` in a process of its own."""
    command = [sys.executable, "-m", "certgen", "record", *arguments]
    with subprocess.Popen(command, stdin=stdin, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        try:
            yield process
        finally:
            if process.poll() is None:
                process.kill()
