"""A stream of bytes cut into lines of bounded length."""

from __future__ import annotations

import re
from dataclasses import dataclass

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
        for one in ended:
            if one or self._flaw:
                lines.append(self._line(one))
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
