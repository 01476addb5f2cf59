"""Lines of a logger into rows of a readings file."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from certgen.job.columns import COLUMNS
from certgen.job.logger import BLANKS, COMMA, RUNNING, SKIPPED, TABLE, CountsCalibration, Logger, LoggerColumn
from certgen.job.rig import Rig
from certgen.physics.curves import straight_line
from certgen.readings.cells import NEEDED
from certgen.units import conversion, from_si, measurable, read_number

# Numbers without a unit into quantities: counts of a converter by a calibration, pulses into speed.


#: How far counts may lie outside those of the calibration, as a part of their span, before the row says so.
#: Common practice, no source: a zero drifts a little below the first point.
_MARGIN = 0.05


@dataclass(frozen=True)
class Calibrated:
    """Counts into a quantity."""

    value_at: Callable[[float], float]
    lowest: float
    highest: float

    def covers(self, count: float) -> bool:
        """Whether counts are, but for a small margin, among those calibrated."""
        margin = _MARGIN * (self.highest - self.lowest)
        return self.lowest - margin <= count <= self.highest + margin


def calibrated(calibration: CountsCalibration) -> Calibrated:
    """A calibration as a function of counts.

    Parameters
    ----------
    calibration : CountsCalibration
        Counts and applied values. [1], [SI]

    Returns
    -------
    Calibrated
        By the straight line through the points (least squares), or straight from each point to the next, the first
        and last stretch carried on. [SI]

    References
    ----------
    JCGM 100:2008 (GUM), annex H.3: calibration line by least squares.
    """
    points = sorted(zip(calibration.counts, (value.value for value in calibration.values), strict=True))
    counts, values = [count for count, _ in points], [value for _, value in points]
    if calibration.between == TABLE:
        value_at = _between(counts, values)
    else:
        line = straight_line(counts, values)
        slope, intercept = float(line.slope), float(line.intercept)

        def value_at(count: float) -> float:
            return intercept + slope * count

    return Calibrated(value_at, counts[0], counts[-1])


def _between(counts: list[float], values: list[float]) -> Callable[[float], float]:
    def value_at(count: float) -> float:
        left = min(max(bisect_right(counts, count) - 1, 0), len(counts) - 2)
        part = (count - counts[left]) / (counts[left + 1] - counts[left])
        return values[left] + part * (values[left + 1] - values[left])

    return value_at


@dataclass
class PulseCounter:
    """Pulses of a tachometer into speed.

    ``gate`` is the counting time where a line holds the pulses of one interval [s]; left out, the count runs on and
    the time between two lines is taken. ``bits`` is where a running count begins again at zero.
    """

    per_revolution: int
    gate: float | None = None
    bits: int | None = None
    _last: tuple[float, float] | None = None

    def restart(self) -> None:
        """Forget the count before, as after a gap."""
        self._last = None

    def speed(self, count: float, at: float) -> float | None:
        """Speed at a count read at a time [s]; ``None`` for the first of a running count. [rad/s]

        Notes
        -----
        omega = 2 pi N / (p t): N pulses in the time t, p pulses a revolution.
        """
        if self.gate is not None:
            return self._turning(count, self.gate)
        before, self._last = self._last, (count, at)
        if before is None or at <= before[1]:
            return None
        pulses = count - before[0]
        if pulses < 0.0 and self.bits is not None:
            pulses += 2.0**self.bits
            if pulses > 2.0 ** (self.bits - 1):  # the logger began anew
                return None
        return None if pulses < 0.0 else self._turning(pulses, at - before[1])

    def _turning(self, pulses: float, time: float) -> float:
        return 2.0 * math.pi * pulses / (self.per_revolution * time)


# One line of a logger into the text of each of its columns.


#: Start and end of text, which scales send around a line.
_FRAME = "\x02\x03"
_MARK = re.compile(r"mark(?:\s+(?P<words>.*))?", re.IGNORECASE)


class Unreadable(ValueError):
    """A line that holds no reading; the message is the kind of flaw, the same for every line that has it."""


def text_of(data: bytes) -> str:
    """A line as text.

    Raises
    ------
    Unreadable
        NUL bytes, bytes that are no UTF-8, or control characters.
    """
    if b"\0" in data:
        raise Unreadable("with NUL bytes")
    try:
        text = data.decode("utf-8").strip(" \r\n" + _FRAME)
    except UnicodeDecodeError:
        raise Unreadable("not text") from None
    if not text.replace("\t", " ").isprintable():
        raise Unreadable("not text")
    return text


def mark_of(text: str) -> str | None:
    """The words of a line 'mark' or 'mark ..', or ``None`` for any other line."""
    match = _MARK.fullmatch(text.strip())
    return None if match is None else (match["words"] or "").strip()


def fields_of(text: str, logger: Logger) -> list[str]:
    """The text of each column of a logger, in their order.

    Raises
    ------
    Unreadable
        Too few or too many values, or a label that is missing or stands twice.
    """
    texts = _labelled(text, logger) if logger.labelled else _in_order(text, logger)
    return [_without(column.after, field) for column, field in zip(logger.columns, texts, strict=True)]


def _in_order(text: str, logger: Logger) -> list[str]:
    pieces = _pieces(text, logger.separator)
    if len(pieces) == len(logger.columns) + 1 and not pieces[-1]:
        pieces.pop()  # a separator behind the last value
    if len(pieces) != len(logger.columns):
        raise Unreadable("with a wrong number of values")
    return pieces


def _labelled(text: str, logger: Logger) -> list[str]:
    label_sign = re.escape(logger.label_sign)
    values: dict[str, str] = {}
    for piece in _pieces(re.sub(rf"\s*{label_sign}\s*", logger.label_sign, text), logger.separator):
        label, stands, value = piece.partition(logger.label_sign)
        if label in values:
            raise Unreadable(f"with '{label[:20]}' twice" if label in _labels(logger) else "with a label twice")
        if stands:
            values[label.strip()] = value.strip()
    for label in _labels(logger):
        if label not in values:
            raise Unreadable(f"without '{label}'")
    return [values[label] for label in _labels(logger)]


def _labels(logger: Logger) -> Sequence[str]:
    return [column.label for column in logger.columns if column.label is not None]


def _pieces(text: str, separator: str) -> list[str]:
    if separator == BLANKS:
        return text.split()
    return [piece.strip() for piece in text.split(separator)]


def _without(after: str | None, text: str) -> str:
    """A value without the letters that stand behind it."""
    if after is None or not text:
        return text
    if not text.endswith(after):
        raise Unreadable(f"without '{after}' behind a value")
    return text[: -len(after)].rstrip()


# Lines of a logger into rows of a readings file.


TIME, REMARK = "time", "remark"
_DIGITS = ".8g"
_BLANK_AFTER_SIGN = re.compile(r"^([+-])\s+")


@dataclass(frozen=True)
class Header:
    """One column of the file: its heading, and the column of a table it is read back as, with its unit, if any."""

    heading: str
    name: str = ""
    unit: str = ""
    own_clock: bool = False  # the logger's time, which may stand for that of the computer


@dataclass(frozen=True)
class Row:
    """One reading: its cells between time and remark as they are written, and its values in SI by column."""

    cells: tuple[str, ...]
    values: Mapping[str, float]
    remark: str = ""
    clock: float = math.nan  # when the logger read it by its own clock [s]


@dataclass(frozen=True)
class Mark:
    """A line that marks a point, with its words."""

    words: str


@dataclass(frozen=True)
class Comment:
    """A line of the logger's that holds no reading and is none."""

    text: str


@dataclass(frozen=True)
class _Recorded:
    """A column with what turns its text into a quantity."""

    column: LoggerColumn
    unit: str
    scale: float
    offset: float
    calibration: Calibrated | None
    pulses: PulseCounter | None


class LineReader:
    """Reads the lines of one logger, which must be free of mistakes."""

    def __init__(self, logger: Logger, rig: Rig) -> None:
        self._logger = logger
        self._recorded = [_recorded(column, rig) for column in logger.columns]

    @property
    def headers(self) -> tuple[Header, ...]:
        """The columns of the file, time first and remark last: a cut last line lacks its end, never a digit."""
        headers = [Header(f"{TIME} (s)", TIME, "s")]
        for recorded in self._recorded:
            name = recorded.column.name
            if name == TIME:
                headers.append(Header(f"logger time ({recorded.unit})", unit=recorded.unit, own_clock=True))
            elif name not in (REMARK, SKIPPED):
                headers.append(Header(f"{name} ({recorded.unit})", name, recorded.unit))
                if recorded.calibration is not None or recorded.pulses is not None:
                    headers.append(Header(f"{name} (counts)"))
        return (*headers, Header(REMARK, REMARK))

    def restart(self) -> None:
        """Forget what was counted, as after a gap."""
        for recorded in self._recorded:
            if recorded.pulses is not None:
                recorded.pulses.restart()

    def read(self, data: bytes, arrival: float) -> Row | Mark | Comment:
        """One line that came at a time [s].

        Raises
        ------
        Unreadable
            The line holds no reading that certgen could read back.
        """
        text = text_of(data)
        if self._logger.comment and text.startswith(self._logger.comment):
            return Comment(text[len(self._logger.comment) :].strip())
        words = mark_of(text)
        if words is not None:
            return Mark(words)
        fields = fields_of(text, self._logger)
        return self._row(fields, self._time(fields, arrival))

    def _time(self, fields: list[str], arrival: float) -> float:
        """When the logger read it, by its own clock where it has one [s]."""
        for recorded, text in zip(self._recorded, fields, strict=True):
            if recorded.column.name == TIME:
                return recorded.offset + recorded.scale * _number(self._plain(text), TIME)
        return arrival

    def _row(self, fields: list[str], at: float) -> Row:
        cells: list[str] = []
        values: dict[str, float] = {}
        remarks = []
        clock = math.nan
        for recorded, text in zip(self._recorded, fields, strict=True):
            name = recorded.column.name
            if name == SKIPPED:
                continue
            if name == REMARK:
                remarks.append(text)
                continue
            plain = self._plain(text)
            if name == TIME:
                cells.append(plain)
                clock = at
                continue
            written, value, remark = _value(recorded, plain, at)
            cells += written
            values[name] = value
            remarks.append(remark)
        return Row(tuple(cells), values, "; ".join(filter(None, remarks)), clock)

    def _plain(self, text: str) -> str:
        """A number with a decimal point and its sign close to it."""
        plain = text.replace(",", ".", 1) if self._logger.decimal == COMMA else text
        return _BLANK_AFTER_SIGN.sub(r"\1", plain)


def _recorded(column: LoggerColumn, rig: Rig) -> _Recorded:
    if column.name in (SKIPPED, REMARK):
        return _Recorded(column, "", 1.0, 0.0, None, None)
    unit = column.unit or "rpm"
    _, scale, offset = conversion(unit)
    calibration = None if column.calibration is None else calibrated(column.calibration)
    pulses = None
    if column.pulses is not None:
        tachometer = rig.tachometer
        assert tachometer.pulses_per_revolution is not None  # checked with the rig
        gate = None if column.pulses == RUNNING else tachometer.gate
        pulses = PulseCounter(tachometer.pulses_per_revolution, gate, column.counter_bits)
    return _Recorded(column, unit, scale, offset, calibration, pulses)


def _value(recorded: _Recorded, text: str, at: float) -> tuple[list[str], float, str]:
    """The cells of a column, its value in SI, and a remark."""
    name = recorded.column.name
    counted = recorded.calibration is not None or recorded.pulses is not None
    if not text:
        if name in NEEDED:
            raise Unreadable(f"with nothing for '{name}'")
        return ([""] * (2 if counted else 1), math.nan, "")
    number, written, remark = _number(text, name), [text], ""
    if recorded.calibration is not None:
        written = [_in_unit(recorded.calibration.value_at(number), recorded.unit), text]
        remark = "" if recorded.calibration.covers(number) else f"{name} beyond its calibration"
    elif recorded.pulses is not None:
        speed = recorded.pulses.speed(number, at)
        if speed is None:
            raise Unreadable("with the first of two counts that speed needs")
        written = [_in_unit(speed, recorded.unit), text]
    value = recorded.offset + recorded.scale * float(written[0])
    _check_possible(name, value)
    return written, value, remark


def _in_unit(value: float, unit: str) -> str:
    """A computed value [SI] as it is written in a unit; what rounding leaves of nothing is nothing."""
    return f"{round(from_si(value, unit), 9) + 0.0:{_DIGITS}}"  # no minus before nothing


def _number(text: str, name: str) -> float:
    number = read_number(text)
    if number is None:
        raise Unreadable(f"without a number for '{name}'")
    return number


def _check_possible(name: str, value: float) -> None:
    kind = COLUMNS[name]
    low = -math.inf if kind.low is None else kind.low
    high = math.inf if kind.high is None else kind.high
    if not low <= value <= high or not measurable(value):
        raise Unreadable(f"with an impossible number for '{name}'")
