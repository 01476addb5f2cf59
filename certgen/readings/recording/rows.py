"""Lines of a logger into rows of a readings file."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from certgen.job.columns import COLUMNS
from certgen.job.logger import COMMA, RUNNING, SKIPPED, Logger, LoggerColumn
from certgen.job.rig import Rig
from certgen.readings.cells import NEEDED
from certgen.readings.recording.counted import Calibrated, PulseCounter, calibrated
from certgen.readings.recording.fields import Unreadable, fields_of, mark_of, text_of
from certgen.units import conversion, from_si, measurable, read_number

TIME, REMARK = "time", "remark"
_DIGITS = ".8g"
_BLANK_AFTER_SIGN = re.compile(r"^([+-])\s+")


@dataclass(frozen=True)
class Header:
    """One column of the file: its heading, and the column of a table it is read back as, with its unit, if any."""

    heading: str
    name: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Row:
    """One reading: its cells between time and remark as they are written, and its values in SI by column."""

    cells: tuple[str, ...]
    values: Mapping[str, float]
    remark: str = ""


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
        for one in self._recorded:
            name = one.column.name
            if name == TIME:
                headers.append(Header(f"logger time ({one.unit})"))
            elif name not in (REMARK, SKIPPED):
                headers.append(Header(f"{name} ({one.unit})", name, one.unit))
                if one.calibration is not None or one.pulses is not None:
                    headers.append(Header(f"{name} (counts)"))
        return (*headers, Header(REMARK, REMARK))

    def restart(self) -> None:
        """Forget what was counted, as after a gap."""
        for one in self._recorded:
            if one.pulses is not None:
                one.pulses.restart()

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
        for one, text in zip(self._recorded, fields, strict=True):
            if one.column.name == TIME:
                return one.offset + one.scale * _number(self._plain(text), TIME)
        return arrival

    def _row(self, fields: list[str], at: float) -> Row:
        cells: list[str] = []
        values: dict[str, float] = {}
        remarks = []
        for one, text in zip(self._recorded, fields, strict=True):
            name = one.column.name
            if name == SKIPPED:
                continue
            if name == REMARK:
                remarks.append(text)
                continue
            plain = self._plain(text)
            if name == TIME:
                cells.append(plain)
                continue
            written, value, remark = _value(one, plain, at)
            cells += written
            values[name] = value
            remarks.append(remark)
        return Row(tuple(cells), values, "; ".join(filter(None, remarks)))

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


def _value(one: _Recorded, text: str, at: float) -> tuple[list[str], float, str]:
    """The cells of a column, its value in SI, and a remark."""
    name = one.column.name
    counted = one.calibration is not None or one.pulses is not None
    if not text:
        if name in NEEDED:
            raise Unreadable(f"with nothing for '{name}'")
        return ([""] * (2 if counted else 1), math.nan, "")
    number, written, remark = _number(text, name), [text], ""
    if one.calibration is not None:
        written = [_told(one.calibration.value_at(number), one.unit), text]
        remark = "" if one.calibration.covers(number) else f"{name} beyond its calibration"
    elif one.pulses is not None:
        speed = one.pulses.speed(number, at)
        if speed is None:
            raise Unreadable("with the first of two counts that speed needs")
        written = [_told(speed, one.unit), text]
    value = one.offset + one.scale * float(written[0])
    _check_possible(name, value)
    return written, value, remark


def _told(value: float, unit: str) -> str:
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
