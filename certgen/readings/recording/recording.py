"""One recording: what comes from the logger, row by row into the file, and a tally of what could not be read."""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from certgen.messages.catalogue import Message
from certgen.readings.recording.clocks import ClockComparison
from certgen.readings.recording.file import (
    COMMENT,
    RecordFile,
    RecordingFailed,
    cells_line,
    comment_line,
    open_existing,
    open_new,
    raw_comment,
)
from certgen.readings.recording.port import CUT_AT_OPENING, Line
from certgen.readings.recording.rows import REMARK, TIME, Comment, Header, LineReader, Mark, Row, Unreadable

#: Lines that could not be read are kept in the file up to this number, then only counted.
MOST_KEPT = 1000
_STARTED = "started "
_LONGEST_MARK = 60


@dataclass
class Tally:
    """What was recorded, and what was not and why."""

    rows: int = 0
    marks: int = 0
    gaps: int = 0
    away: float = 0.0  # [s]
    cut_at_opening: int = 0
    unread: Counter[str] = field(default_factory=Counter)


class Recording:
    """Writes one recording. Times are seconds since it started."""

    def __init__(self, file: RecordFile, reader: LineReader, origin: float, *, continued: bool = False) -> None:
        self.file, self.tally = file, Tally()
        self._reader, self._origin = reader, origin
        self._marks_waiting: list[str] = []
        self._pending: list[str] = []
        self._gone_at: float | None = None
        self._safe, self._last_row = "", 0.0
        self._own_clock = any(header.own_clock for header in reader.headers)
        self.clocks = ClockComparison(continued=continued)

    def take(self, line: Line, arrival: float) -> Row | None:
        """One line of the logger that came at a monotonic time [s]; the row it became, if it did."""
        if line.flaw == CUT_AT_OPENING:
            self.tally.cut_at_opening += 1
            return None
        try:
            if line.flaw:
                raise Unreadable(line.flaw)
            read = self._reader.read(line.data, arrival)
        except Unreadable as flaw:
            self._keep(str(flaw), line.data)
            return None
        match read:
            case Mark():
                self.mark(read.words)
            case Comment():
                self._pending.append(comment_line(f"logger: {read.text}"))
            case Row():
                self._write(read, arrival)
                return read
        return None

    def mark(self, words: str = "") -> str:
        """Mark the next row; gives the name of the mark."""
        self.tally.marks += 1
        name, words = f"mark {self.tally.marks}", words[:_LONGEST_MARK]
        self._marks_waiting.append(f"{name}: {words}" if words else name)
        return name

    def gone(self, at: float, why: str) -> None:
        """The port went away at a monotonic time [s]."""
        self.tally.gaps += 1
        self._gone_at = at
        self._reader.restart()
        self.clocks.pause()
        self._pending.append(comment_line(f"gap from {at - self._origin:.3f} s: {why}"))

    def back(self, at: float) -> None:
        """The port is there again."""
        if self._gone_at is not None:
            self.tally.away += at - self._gone_at
            self._pending.append(comment_line(f"gap ends at {at - self._origin:.3f} s"))
        self._gone_at = None

    def save(self) -> None:
        """Put on the disk what was taken since the last time."""
        lines, self._pending = self._pending, []
        if lines:
            self.file.add(lines, safe=self._safe)
        if self.tally.rows:
            rows = str(
                Message("recorder.one.row" if self.tally.rows == 1 else "recorder.several.row", count=self.tally.rows)
            )
            self._safe = str(Message("recorder.safe", rows=rows, time=self._last_row))

    def close(self, at: float | None = None) -> None:
        """Save, with marks no row came for, and let go of the file; a port that is away at the end [s] was so until then."""
        if at is not None and self._gone_at is not None:
            self.tally.away += at - self._gone_at
            self._pending.append(comment_line(f"gap to the end, at {at - self._origin:.3f} s"))
            self._gone_at = None
        if self._own_clock and self.clocks.disagreement is not None:
            self._pending.append(comment_line(str(self.clocks.disagreement)))
        self._pending += [comment_line(f"{mark}, after the last row") for mark in self._marks_waiting]
        try:
            self.save()
        finally:
            self.file.close()

    def _write(self, row: Row, arrival: float) -> None:
        remark = "; ".join(filter(None, (*self._marks_waiting, row.remark)))
        self._marks_waiting = []
        self._pending.append(cells_line((f"{arrival - self._origin:.3f}", *row.cells, remark)))
        self.clocks.take(arrival, row.clock)
        self._last_row = arrival - self._origin
        self.tally.rows += 1

    def _keep(self, reason: str, data: bytes) -> None:
        self.tally.unread[reason] += 1
        if self.tally.unread.total() <= MOST_KEPT:
            self._pending.append(raw_comment(f"not read, {reason}", data))


def begin(path: Path, reader: LineReader, *, about: Sequence[str], monotonic: float, wall: float) -> Recording:
    """A recording into a new file, whose first lines say what it is."""
    file = open_new(path)
    try:
        file.add(_first_lines(reader.headers, about, wall))
    except BaseException:
        file.close()
        raise
    return Recording(file, reader, monotonic)


def go_on(
    path: Path, reader: LineReader, *, about: Sequence[str], monotonic: float, wall: float
) -> tuple[Recording, bytes]:
    """A recording that goes on in a file, and what was cut off its end.

    Raises
    ------
    RecordingFailed
        The file has other columns.
    """
    file, torn = open_existing(path)
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        heading = next((line for line in lines if line.strip() and not line.startswith(COMMENT)), None)
        if heading is not None and heading != _heading(reader.headers):
            raise RecordingFailed(
                f"{path}: its columns are not those of the rig's logger, {_heading(reader.headers)}; "
                "record into another file."
            )
        notes = [raw_comment("cut short before", torn)] if torn else []
        if heading is None:
            file.add([*notes, *_first_lines(reader.headers, about, wall)])
            return Recording(file, reader, monotonic), torn
        time = _time_now(lines, wall)
        file.add([*notes, comment_line(f"continued {_clock(wall)}, {time:.3f} s")])
    except BaseException:
        file.close()
        raise
    return Recording(file, reader, monotonic - time, continued=True), torn


def _first_lines(headers: Sequence[Header], about: Sequence[str], wall: float) -> list[str]:
    return [comment_line(f"{_STARTED}{_clock(wall)}"), *(comment_line(text) for text in about), _heading(headers)]


def _heading(headers: Sequence[Header]) -> str:
    return cells_line([header.heading for header in headers])


def _clock(wall: float) -> str:
    """Local time with its offset from UTC, to the second."""
    return datetime.fromtimestamp(wall, UTC).astimezone().isoformat(timespec="seconds")


def _time_now(lines: Sequence[str], wall: float) -> float:
    """Time since the file was started, by the clock on the wall, but never before its last row. [s]"""
    started, last = wall, 0.0
    for line in lines:
        if line.startswith(f"{COMMENT} {_STARTED}"):
            started = _instant(line.removeprefix(f"{COMMENT} {_STARTED}"), wall)
        elif line and not line.startswith(COMMENT):
            last = max(last, _leading_number(line))
    return max(wall - started, last)


def _instant(text: str, otherwise: float) -> float:
    try:
        return datetime.fromisoformat(text).timestamp()
    except ValueError:
        return otherwise


def _leading_number(line: str) -> float:
    try:
        return float(next(csv.reader([line]))[0])
    except (ValueError, csv.Error, StopIteration, IndexError):
        return 0.0


# The lines that bring a recording into a job file.


_PLAIN = re.compile(r"[\w%*/^()°·²Ω.][\w%*/^()°·²Ω. -]*")


def job_lines(file: str, headers: Sequence[Header], disagreement: Message | None = None) -> list[str]:
    """A load test that reads a recording, as it stands in a job file below ``readings``.

    Where the logger sends its own clock the test takes its time from it, unless something speaks against that.
    """
    own = any(header.own_clock for header in headers)
    lines = ["  load_test:", f"    file: {_scalar(file)}", "    columns:"]
    for header in headers:
        if header.name == TIME and own and disagreement is None:
            continue
        if header.own_clock:
            if disagreement is None:
                lines.append(f"      {TIME}: {{from: {_scalar(header.heading)}, unit: {_scalar(header.unit)}}}")
            else:
                lines[-1] += f"    # {disagreement}"
        elif header.name == REMARK:
            lines.append(f"      {header.name}: {{from: {_scalar(header.heading)}}}")
        elif header.name:
            lines.append(f"      {header.name}: {{from: {_scalar(header.heading)}, unit: {_scalar(header.unit)}}}")
    return [*lines, "    steady: {hold: 5 s}    # find the steady stretches; left out: each line is a load point"]


def _scalar(text: str) -> str:
    """A text in YAML, in quotes where it needs them."""
    plain = _PLAIN.fullmatch(text) is not None and text[0] not in "%*" and not text.endswith(" ")
    return text if plain else json.dumps(text, ensure_ascii=False)
