"""What became of jobs, in the terminal."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from certgen.errors import visible
from certgen.messages.catalogue import Message, text_of
from certgen.messages.format import SI
from certgen.terminal.lines import verdict_words

if TYPE_CHECKING:
    from certgen.issuing.many import Outcome


@dataclass(frozen=True)
class Line:
    """A line of text, and whether it is talk beside the results."""

    text: str
    aside: bool = False


def outcome_lines(outcome: Outcome, units: str = SI, *, verbose: bool = False) -> Iterator[Line]:
    """One certificate with its verdict, and what its page had no room for; or what was wrong with the job.

    ``units`` are the reader's, with the language; ``verbose`` adds the trace of a fault of the program's own.
    """
    if outcome.error:
        yield Line(outcome.error, aside=True)
        if verbose and outcome.details:
            yield Line(outcome.details.rstrip("\n"), aside=True)
        return
    if outcome.awaiting:
        awaits = Message("terminal.awaits_test", path=visible(str(outcome.job)))
        yield Line(text_of(awaits, units=units), aside=True)
        return
    path = visible(str(outcome.path))
    for name in outcome.left_out:
        yield Line(text_of(Message("terminal.left_out", path=path, block=name), units=units), aside=True)
    if outcome.draft:
        verdict = verdict_words(outcome.verdict, units)
        yield Line(text_of(Message("terminal.draft", path=path, outcome=verdict), units=units))
        return
    key = "terminal.outcome" if outcome.new else "terminal.issued_before"
    verdict = verdict_words(outcome.verdict, units)
    yield Line(text_of(Message(key, name=path, outcome=verdict), units=units))


class Tally:
    """How many jobs came to each outcome, and which could not be issued; of the others nothing is kept."""

    def __init__(self) -> None:
        self.count = self._unchanged = 0
        self._counted: Counter[str] = Counter()
        self._failed: list[str] = []

    def add(self, outcome: Outcome) -> None:
        """Count one more."""
        self.count += 1
        if outcome.error:
            self._failed.append(str(outcome.job))
        elif outcome.awaiting:
            self._counted[_AWAITING] += 1
        else:
            self._counted[outcome.verdict] += 1
            self._unchanged += not outcome.new

    def text(self, units: str = SI) -> str:
        """A table of outcomes, the most frequent first, in the reader's language."""

        def said(key: str, **values: object) -> str:
            return text_of(Message(key, **values), units=units)

        def outcome(name: str) -> str:
            return said("terminal.jobs.awaiting") if name == _AWAITING else verdict_words(name, units)

        not_issued = said("terminal.jobs.not_issued")
        counted = Counter({outcome(name): count for name, count in self._counted.items()})
        counted += Counter({not_issued: len(self._failed)})
        width = max(len(name) for name in counted)
        ordered = sorted(counted.items(), key=lambda item: (-item[1], item[0]))
        rows = [f"{name:<{width}}  {count:>6}" for name, count in ordered]
        whole = f"{said('terminal.jobs.whole'):<{width}}  {self.count:>6}"
        if self._unchanged:
            whole += f", {said('terminal.jobs.unchanged', count=self._unchanged)}"
        failed = [f"{not_issued}: {visible(job)}" for job in self._failed]
        return "\n".join((*rows, whole, *failed))


#: A job whose test is still to be made, among the outcomes.
_AWAITING = "awaiting"


# A line that says how far long work has come: on a terminal, and nowhere else.


_WIDTH = 24
_LEAST_PAUSE = 0.1  # seconds between two drawings
_CLEAR = "\r\x1b[K"


@dataclass
class Progress:
    """How many of ``whole`` are done, drawn on a terminal's last line."""

    whole: int
    stream: TextIO
    units: str = SI
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
        bar = f"[{'#' * filled}{'.' * (_WIDTH - filled)}]"
        counted = text_of(Message("terminal.jobs.done", done=done, whole=self.whole), units=self.units)
        self.stream.write(f"{_CLEAR}{bar} {counted}")
        self.stream.flush()
        self.drawn, self.drawn_at = True, time.monotonic()

    @property
    def _shown(self) -> bool:
        return self.whole > 1 and self.stream.isatty()


@contextmanager
def progress(whole: int, units: str = SI) -> Iterator[Progress]:
    """Progress on standard error, gone when the work ends, however it ends."""
    line = Progress(whole, sys.stderr, units)
    try:
        yield line
    finally:
        line.clear()
