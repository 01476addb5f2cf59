"""The logger of a rig: its port, and what stands in each line it sends."""

from __future__ import annotations

from dataclasses import dataclass

import yaml

from certgen.document.build import Dimensioned, Reader
from certgen.document.vocabulary import Choice, Custom, Each, Group, Text, Whole, key
from certgen.units import DIMENSIONS, UnitError, read_number, read_one_of

#: A field of the line that is not recorded.
SKIPPED = "skip"
POINT, COMMA = "point", "comma"
#: How the pulses of a tachometer are counted.
INTERVAL, RUNNING = "interval", "running"
#: How a calibration runs between its points.
LINE, TABLE = "line", "table"
ANY_ENDING = "any"
BLANKS = "blanks"
MOST_COLUMNS = 40
_MOST_POINTS = 50
_LONGEST_SEPARATOR = 5
_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", BLANKS: BLANKS}
_SEPARATOR_SAYS = "comma, semicolon, tab, blanks, or the character itself in quotes, for example '|'"


def _read_separator(node: yaml.Node, reader: Reader, path: str) -> str | None:
    text = reader.scalar(node, path, f"write one of: {_SEPARATOR_SAYS}")
    if text is None or text in _SEPARATORS:
        return None if text is None else _SEPARATORS[text]
    if len(text) > _LONGEST_SEPARATOR or any(character.isalnum() or character in "+-.\"'\r\n\0" for character in text):
        reader.wrong(node, path, f"'{text[:20]}' cannot keep numbers apart", f"write one of: {_SEPARATOR_SAYS}")
        return None
    return text


def _read_count(node: yaml.Node, reader: Reader, path: str) -> float | None:
    text = reader.scalar(node, path, "write a plain number")
    number = None if text is None else read_number(text)
    if text is not None and number is None:
        reader.wrong(node, path, f"'{text[:40]}' is not a plain number", "write what the logger sent, without a unit")
    return number


def _read_value(node: yaml.Node, reader: Reader, path: str) -> Dimensioned | None:
    instead = "write a number with its unit, for example '5 kg'"
    text = reader.scalar(node, path, instead)
    if text is None:
        return None
    try:
        return Dimensioned(*read_one_of(text, tuple(DIMENSIONS)))
    except UnitError as cause:
        reader.wrong(node, path, str(cause), instead)
        return None


_SEPARATOR = Custom(_read_separator, lambda: {"type": "string", "maxLength": 9}, _SEPARATOR_SAYS)
_COUNT = Custom(_read_count, lambda: {"type": "number"}, "a plain number")
_VALUE = Custom(_read_value, lambda: {"type": "string", "examples": ["5 kg"]}, "a number with its unit such as '5 kg'")


@dataclass(frozen=True)
class CountsCalibration:
    """Numbers without a unit as the logger sends them, and what each stands for."""

    counts: tuple[float, ...] = key(Each(_COUNT, _MOST_POINTS), "What the logger sent.", required=True)
    values: tuple[Dimensioned, ...] = key(Each(_VALUE, _MOST_POINTS), "What was applied at each.", required=True)
    between: str = key(
        Choice((LINE, TABLE)),
        "line: one straight line by least squares; table: straight from each point to the next.",
        default=LINE,
    )


@dataclass(frozen=True)
class LoggerColumn:
    """One value of a line."""

    name: str = key(Text(40, "speed"), "A column of a table (see below), or skip.", required=True)
    unit: str | None = key(Text(30, "kg"), "Unit the numbers are in; with a calibration, unit to be recorded.")
    label: str | None = key(Text(40, "F"), "Name before the value, where the lines are written as F=2.06 n=1420.")
    after: str | None = key(Text(10, "kg"), "Letters that always stand behind the number.")
    calibration: CountsCalibration | None = key(
        Group(CountsCalibration), "Where the logger sends counts of a converter instead of a quantity."
    )
    pulses: str | None = key(
        Choice((INTERVAL, RUNNING)),
        "Where speed comes as pulses of the rig's tachometer. interval: pulses of this line; running: pulses so far.",
    )
    counter_bits: int | None = key(Whole(8, 64), "Bits after which a running count begins again at zero.")


@dataclass(frozen=True)
class Logger:
    """A logger that sends one line of text a reading."""

    port: str | None = key(Text(200, "/dev/ttyUSB0"), "Serial port.")
    baud: int = key(Whole(50, 4_000_000), "Bits a second.", default=9600)
    frame: str = key(Choice(("8N1", "8N2", "8E1", "8O1", "7E1", "7O1")), "Data bits, parity, stop bits.", default="8N1")
    separator: str = key(_SEPARATOR, "What stands between two values.", required=True)
    label_sign: str = key(Text(1, "="), "Sign between label and value.", default="=")
    decimal: str = key(Choice((POINT, COMMA)), "Decimal mark.", default=POINT)
    comment: str = key(Text(5, "#"), "What a line begins with that holds no readings.", default="#")
    line_ending: str = key(
        Choice((ANY_ENDING, "lf", "crlf", "cr")), "How a line ends; any: at either of the two.", default=ANY_ENDING
    )
    columns: tuple[LoggerColumn, ...] = key(
        Each(Group(LoggerColumn), MOST_COLUMNS), "The values of a line, in their order.", required=True
    )

    @property
    def labelled(self) -> bool:
        """Whether its lines are written as label and value."""
        return any(column.label is not None for column in self.columns)

    def column(self, name: str) -> LoggerColumn | None:
        """Its column of a name."""
        return next((column for column in self.columns if column.name == name), None)
