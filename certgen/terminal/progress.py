"""A line that says how far long work has come: on a terminal, and nowhere else."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TextIO

_WIDTH = 24
_LEAST_PAUSE = 0.1  # seconds between two drawings
_CLEAR = "\r\x1b[K"


@dataclass
class Progress:
    """How many of ``whole`` are done, drawn on a terminal's last line."""

    whole: int
    stream: TextIO
    drawn: bool = False
    drawn_at: float = 0.0

    def clear(self) -> None:
        """Take the line away before something else is printed."""
        if self.drawn:
            self.stream.write(_CLEAR)
            self.stream.flush()
            self.drawn = False

    def to(self, done: int) -> None:
        """Draw the line anew."""
        if not self._shown or (time.monotonic() - self.drawn_at < _LEAST_PAUSE and done < self.whole):
            return
        filled = _WIDTH * done // self.whole
        self.stream.write(f"{_CLEAR}[{'#' * filled}{'.' * (_WIDTH - filled)}] {done} of {self.whole}")
        self.stream.flush()
        self.drawn, self.drawn_at = True, time.monotonic()

    @property
    def _shown(self) -> bool:
        return self.whole > 1 and self.stream.isatty()


@contextmanager
def progress(whole: int) -> Iterator[Progress]:
    """Progress on standard error, gone when the work ends, however it ends."""
    line = Progress(whole, sys.stderr)
    try:
        yield line
    finally:
        line.clear()
