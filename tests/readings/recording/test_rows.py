"""Lines of every format a rig file can describe, into rows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Reader
from certgen.document.source import Problems, parse
from certgen.job.consistency import check_rig
from certgen.job.rig import Rig
from certgen.readings.recording.rows import Comment, LineReader, Mark, Row, Unreadable

_RPM = 2.0 * math.pi / 60.0


def line_reader(logger: str, rig: str = "") -> LineReader:
    """A reader of the lines of a logger written as in a rig file."""
    text = f"name: a rig\nabsorber: {{kind: arm}}\narm_length: 0.5 m\nscale: {{reads: mass}}\n{rig}\nlogger: {logger}\n"
    problems = Problems()
    reader = Reader("rig.yaml", Path(), problems)
    root = parse(text, "rig.yaml", problems)
    assert root is not None
    read = reader.group(Rig, root)
    assert read is not None
    check_rig(read, reader)
    assert not problems.found, problems.found
    assert read.logger is not None
    return LineReader(read.logger, read)


def read(logger: str, line: str | bytes, rig: str = "") -> Row | Mark | Comment:
    return line_reader(logger, rig).read(line.encode() if isinstance(line, str) else line, 0.0)


def row(logger: str, line: str | bytes) -> Row:
    found = read(logger, line)
    assert isinstance(found, Row)
    return found


_THREE = "[{name: speed, unit: rpm}, {name: scale, unit: kg}, {name: current, unit: A}]"
_LABELLED = (
    "[{name: speed, unit: rpm, label: n}, {name: scale, unit: kg, label: F}, {name: current, unit: A, label: I}]"
)


@pytest.mark.parametrize(
    ("logger", "line"),
    [
        (f"{{separator: comma, columns: {_THREE}}}", "1420,2.06,3.4"),
        (f"{{separator: comma, columns: {_THREE}}}", " 1420 , +2.06,3.4, "),
        (f"{{separator: semicolon, decimal: comma, columns: {_THREE}}}", "1420;2,06;3,4"),
        (f"{{separator: tab, columns: {_THREE}}}", "1420\t2.06\t3.4"),
        (f"{{separator: blanks, columns: {_THREE}}}", "  1420   2.06 3.4"),
        (f"{{separator: '|', columns: {_THREE}}}", "1420|2.06|3.4"),
        (f"{{separator: '::', columns: {_THREE}}}", "1420::2.06::3.4\r"),
        (f"{{separator: blanks, columns: {_LABELLED}}}", "n=1420 I = 3.4 F= 2.06 U=400"),
        (f"{{separator: comma, label_sign: ':', columns: {_LABELLED}}}", "F:2.06,n:1420,I:3.4"),
        (
            "{separator: comma, columns: [{name: skip}, {name: scale, unit: kg, after: kg}, "
            "{name: speed, unit: rpm}, {name: current, unit: A}]}",
            "ST,+ 2.06kg,1420,3.4",
        ),
        (f"{{separator: comma, columns: {_THREE}}}", b"\x021420,2.06,3.4\x03\r"),
    ],
)
def test_one_reading_in_many_formats(logger: str, line: str | bytes) -> None:
    assert dict(row(logger, line).values) == pytest.approx({"speed": 1420 * _RPM, "scale": 2.06, "current": 3.4})


def test_cells_keep_the_digits_that_were_sent() -> None:
    found = row(f"{{separator: comma, columns: {_THREE}}}", "1420.0,2.060,+3.40")
    assert found.cells == ("1420.0", "2.060", "+3.40")


@pytest.mark.parametrize(
    ("line", "flaw"),
    [
        (b"1420,2.06", "with a wrong number of values"),
        (b"1420,2.06,3.4,5", "with a wrong number of values"),
        (b"1420,2.0\x006,3.4", "with NUL bytes"),
        (b"14\xff20,2.06,3.4", "not text"),
        (b"14\x1b[20,2.06,3.4", "not text"),
        (b"14x0,2.06,3.4", "without a number for 'speed'"),
        (b"1420,nan,3.4", "without a number for 'scale'"),
        (b"1420,1e999,3.4", "without a number for 'scale'"),
        (b"1420,,3.4", "with nothing for 'scale'"),
        (b"-1420,2.06,3.4", "with an impossible number for 'speed'"),
        (b"1420,2.06,1e30", "with an impossible number for 'current'"),
    ],
)
def test_a_line_that_certgen_could_not_read_back_is_no_row(line: bytes, flaw: str) -> None:
    with pytest.raises(Unreadable, match=f"^{flaw}$"):
        read(f"{{separator: comma, columns: {_THREE}}}", line)


@pytest.mark.parametrize(
    ("line", "flaw"),
    [("n=1420 F=2.06", "without 'I'"), ("n=1420 n=1420 F=2.06 I=3.4", "with 'n' twice")],
)
def test_a_labelled_line_has_each_label_once(line: str, flaw: str) -> None:
    with pytest.raises(Unreadable, match=f"^{flaw}$"):
        read(f"{{separator: blanks, columns: {_LABELLED}}}", line)


def test_what_is_not_needed_may_be_left_empty() -> None:
    found = row(f"{{separator: comma, columns: {_THREE}}}", "1420,2.06,")
    assert found.cells == ("1420", "2.06", "")
    assert math.isnan(found.values["current"])


def test_marks_and_comments_of_the_logger() -> None:
    logger = f"{{separator: comma, comment: '!', columns: {_THREE}}}"
    assert read(logger, "! hello") == Comment("hello")
    assert read(logger, "MARK  brushes spark") == Mark("brushes spark")
    assert read(logger, "mark") == Mark("")
    with pytest.raises(Unreadable):
        read(logger, "marking")


def test_counts_stand_beside_what_they_mean() -> None:
    logger = (
        "{separator: comma, columns: [{name: speed, pulses: interval}, "
        "{name: scale, unit: lb, calibration: {counts: [8000, 88000], values: [0 kg, 2 kg]}}]}"
    )
    reader = line_reader(logger, "tachometer: {pulses_per_revolution: 60, gate: 0.5 s}")
    headings = [one.heading for one in reader.headers]
    assert headings == ["time (s)", "speed (rpm)", "speed (counts)", "scale (lb)", "scale (counts)", "remark"]
    found = reader.read(b"710,48000", 0.0)
    assert isinstance(found, Row)
    assert found.cells == ("1420", "710", "2.2046226", "48000")  # 1 kg = 2.20462262 lb, NIST SP 811, appendix B
    beyond = reader.read(b"710,98000", 0.0)
    assert isinstance(beyond, Row)
    assert beyond.remark == "scale beyond its calibration"


def test_a_running_count_is_timed_by_the_loggers_own_clock() -> None:
    logger = "{separator: comma, columns: [{name: time, unit: ms}, {name: speed, pulses: running, unit: rad/s}]}"
    reader = line_reader(logger, "tachometer: {pulses_per_revolution: 60}")
    with pytest.raises(Unreadable, match="first of two counts"):
        reader.read(b"1000,500", 7.0)
    found = reader.read(b"1100,644", 7.0)
    assert isinstance(found, Row)
    assert found.values["speed"] == pytest.approx(24.0 * 2.0 * math.pi)
    assert [one.heading for one in reader.headers][1] == "logger time (ms)"


_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "blanks": " ", "'|'": "|", "' / '": " / "}
_NUMBERS = st.decimals(0, 99999, places=3, allow_nan=False, allow_infinity=False)


@given(
    numbers=st.tuples(_NUMBERS, _NUMBERS, _NUMBERS),
    separator=st.sampled_from(sorted(_SEPARATORS)),
    labelled=st.booleans(),
    comma=st.booleans(),
    spaces=st.integers(0, 3),
)
def test_any_line_a_logger_writes_as_described_is_read(
    numbers: Any, separator: str, labelled: bool, comma: bool, spaces: int
) -> None:
    if comma and separator == "comma":
        comma = False
    columns: Mapping[bool, str] = {True: _LABELLED, False: _THREE}
    decimal = "comma" if comma else "point"
    logger = f"{{separator: {separator}, decimal: {decimal}, columns: {columns[labelled]}}}"
    texts = [str(one).replace(".", ",") if comma else str(one) for one in numbers]
    if labelled:
        texts = [f"{label}={text}" for label, text in zip("nFI", texts, strict=True)]
    line = (" " * spaces + _SEPARATORS[separator] + " " * spaces).join(texts)
    values = row(logger, line).values
    factors = {"speed": _RPM, "scale": 1.0, "current": 1.0}
    expected = {name: float(one) * factors[name] for name, one in zip(factors, numbers, strict=True)}
    assert dict(values) == pytest.approx(expected)


@given(line=st.binary(max_size=120))
def test_no_bytes_break_the_reader(line: bytes) -> None:
    try:
        found = read(f"{{separator: comma, columns: {_THREE}}}", line)
    except Unreadable:
        return
    assert isinstance(found, Row | Mark | Comment)
