"""What became of jobs, told in the terminal."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from certgen.errors import visible

if TYPE_CHECKING:
    from certgen.issuing.many import Outcome


@dataclass(frozen=True)
class Line:
    """A line of text, and whether it is talk beside the results."""

    text: str
    aside: bool = False


def outcome_told(outcome: Outcome) -> Iterator[Line]:
    """One certificate with its verdict, and what its page had no room for; or what was wrong with the job."""
    if outcome.error:
        yield Line(outcome.error, aside=True)
        return
    path = visible(str(outcome.path))
    for name in outcome.left_out:
        yield Line(f"{path}: left out for lack of room: {name}", aside=True)
    again = "" if outcome.new else " (unchanged, already issued)"
    yield Line(f"{path}: {outcome.verdict}{again}")


def summary(done: Sequence[Outcome]) -> str:
    """A table of outcomes: how many jobs came to each, and which could not be issued."""
    counted = Counter("not issued" if one.error else one.verdict for one in done)
    unchanged = sum(1 for one in done if not one.error and not one.new)
    width = max(len(name) for name in counted)
    rows = [
        f"{name:<{width}}  {count:>6}" for name, count in sorted(counted.items(), key=lambda item: (-item[1], item[0]))
    ]
    rows.append(f"{'jobs':<{width}}  {len(done):>6}" + (f", {unchanged} of them unchanged" if unchanged else ""))
    failed = [f"not issued: {visible(str(one.job))}" for one in done if one.error]
    return "\n".join((*rows, *failed))


# A line that says how far long work has come: on a terminal, and nowhere else.


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
