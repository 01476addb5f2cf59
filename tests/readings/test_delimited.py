from __future__ import annotations

import csv
import io
import json
import tempfile
from pathlib import Path

import numpy as np
import pytest
from bench import Bench
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.readings.model import Table
from certgen.readings.read import read_readings

pytestmark = pytest.mark.slow

_UNITS = {
    "speed": "rpm", "scale": "kg", "voltage": "V", "current": "mA", "input_power": "hp", "winding_temperature": "degC",
    "time": "min", "frequency": "Hz",
}  # fmt: skip


def read(folder: Path, table: str, data: bytes | None = None) -> tuple[Table | None, list[str]]:
    """The load test declared by a YAML flow mapping, with the bytes of its file where it has one."""
    bench = Bench(folder)
    job = bench.texts["job"]
    declared = job[job.index("    columns:") : job.index("criteria:")]
    path = bench.edit("job", {declared: f"    {table}\n"}).write()
    if data is not None:
        (path.parent / "load_test.csv").write_bytes(data)
    problems = Problems()
    loaded = load_job(path, problems)
    readings = None if loaded is None else read_readings(loaded)
    told = [f"{Path(one.file).name}:{one.line}:{one.column}: {one.what}" for one in sorted(problems.found)]
    return None if readings is None else readings.load_test, told


def file_of(folder: Path, text: str, columns: str = "speed: rpm, scale: kg") -> tuple[Table | None, list[str]]:
    return read(folder, f"{{file: load_test.csv, columns: {{{columns}}}}}", text.encode("utf-8"))


def assert_equal(one: Table, other: Table) -> None:
    assert one.remarks == other.remarks
    assert list(one.columns) == list(other.columns)
    for name, values in one.columns.items():
        np.testing.assert_array_equal(values, other.columns[name])


_REMARKS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"))
    | st.sampled_from(list(",;\t\"'\n -")),
    max_size=12,
)
_NUMBERS = st.floats(1.0, 1e6).map(repr) | st.integers(1, 10**6).map(str)


@st.composite
def _tables(draw: st.DrawFn) -> tuple[list[str], list[list[str]]]:
    """Names of columns and rows of texts; the cells a load point needs are filled."""
    others = draw(st.sets(st.sampled_from(sorted(_UNITS))))
    names = draw(st.permutations(sorted(others | {"speed", "scale", "remark"})))
    rows = []
    for _ in range(draw(st.integers(1, 5))):
        row = []
        for name in names:
            if name == "remark":
                row.append(draw(_REMARKS))
            else:
                row.append(draw(_NUMBERS if name in ("speed", "scale") else _NUMBERS | st.just("")))
        rows.append(row)
    return names, in_order_of_time(names, rows)


def in_order_of_time(names: list[str], rows: list[list[str]]) -> list[list[str]]:
    """Rows as a person writes them down; the rows of a file would be put in this order, and that told."""
    if "time" not in names:
        return rows
    at = names.index("time")
    return [row for row in rows if not row[at]] + sorted(
        (row for row in rows if row[at]), key=lambda row: float(row[at])
    )


@given(table=_tables(), delimiter=st.sampled_from(",;\t"), end=st.sampled_from(["\n", "\r\n"]), marked=st.booleans())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_table_is_the_same_typed_and_in_any_delimited_file(
    table: tuple[list[str], list[list[str]]], delimiter: str, end: str, marked: bool
) -> None:
    names, rows = table
    columns = ", ".join(f"{name}: {_UNITS.get(name, '')}" for name in names)
    written = io.StringIO()
    csv.writer(written, delimiter=delimiter, lineterminator=end).writerows([names, *rows])
    data = ("\ufeff" * marked + written.getvalue()).encode("utf-8")
    with tempfile.TemporaryDirectory() as name:
        typed, told = read(Path(name), f"{{columns: {{{columns}}}, rows: {json.dumps(rows, ensure_ascii=False)}}}")
        from_file, told_of_file = read(Path(name), f"{{file: load_test.csv, columns: {{{columns}}}}}", data)
    assert not told
    assert not told_of_file
    assert typed is not None
    assert from_file is not None
    assert_equal(typed, from_file)


def test_columns_are_found_by_their_header_in_any_order_and_others_left_alone(tmp_path: Path) -> None:
    found, told = file_of(
        tmp_path, "x,Kraft,n\n1,2,30\n", "speed: {from: n, unit: rpm}, scale: {from: Kraft, unit: kg}"
    )
    assert not told
    assert found is not None
    assert list(found.columns) == ["speed", "scale"]
    assert found.column("scale") == pytest.approx([2.0])


def test_a_header_may_stand_twice_where_nobody_asks_for_it(tmp_path: Path) -> None:
    assert file_of(tmp_path, "x,x,speed,scale\n1,2,3,4\n")[1] == []


def test_spaces_and_quotes_around_cells_are_no_part_of_them(tmp_path: Path) -> None:
    found, told = file_of(tmp_path, ' speed ,  "scale"\n 30 ,"2"\n')
    assert not told
    assert found is not None
    assert found.column("scale") == pytest.approx([2.0])


def test_blank_lines_are_passed_over_and_counted(tmp_path: Path) -> None:
    found, told = file_of(tmp_path, "\n\nspeed,scale\n\n30,2\n,\n60,x\n")
    assert told == ["load_test.csv:7:4: 'x' in column 'scale' is not a number"]
    assert found is not None
    assert found.rows == 2


def test_a_delimiter_within_quotes_does_not_count(tmp_path: Path) -> None:
    found, told = file_of(
        tmp_path,
        '"a, b, c, d";speed;scale\n"1, 2";30;2\n',
    )
    assert not told
    assert found is not None
    assert found.column("scale") == pytest.approx([2.0])


def test_a_decimal_comma_is_read_as_one(tmp_path: Path) -> None:
    found, told = file_of(tmp_path, "speed;scale\n1492,5;2\n")
    assert not told
    assert found is not None
    assert found.column("speed") == pytest.approx([1492.5 * 2.0 * np.pi / 60.0])


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("30,x", 4),
        ("30,  x", 6),
        ('"30",x', 6),
        ('"30","x"', 6),
        ('"3""0",x', 8),
        ("電30,x", 5),
    ],
)
def test_the_place_of_a_cell_is_counted_in_signs_of_its_line(tmp_path: Path, line: str, column: int) -> None:
    _, told = file_of(tmp_path, f"note,scale,speed\n{line},1\n")
    assert told == [f"load_test.csv:2:{column}: 'x' in column 'scale' is not a number"]


def test_the_place_of_a_cell_behind_a_cell_of_several_lines(tmp_path: Path) -> None:
    _, told = file_of(tmp_path, 'note,speed,scale\n"two\nlines",30,x\nnote,y,1\n')
    assert told == [
        "load_test.csv:3:11: 'x' in column 'scale' is not a number",
        "load_test.csv:4:6: 'y' in column 'speed' is not a number",
    ]


def test_an_unclosed_quote_is_told_beside_what_stands_before_it(tmp_path: Path) -> None:
    _, told = file_of(tmp_path, 'speed,scale\nx,1\n30,"2\n40,3\n')
    assert told == [
        "load_test.csv:2:1: 'x' in column 'speed' is not a number",
        "load_test.csv:3:4: the quote opened here is not closed at the end of its cell",
    ]


def test_an_unclosed_quote_before_a_long_file_is_told_at_once(tmp_path: Path) -> None:
    _, told = file_of(tmp_path, 'speed,scale\n30,"2\n' + "40,3\n" * 100_000)
    assert told == ["load_test.csv:2:4: the quote opened here is not closed at the end of its cell"]


def test_single_column_files_need_no_delimiter(tmp_path: Path) -> None:
    _, told = file_of(tmp_path, "speed\n30\n", "speed: rpm")
    assert [line.split(": ")[1] for line in told] == ["readings.load_test.columns"]


@pytest.mark.parametrize("ending", ["xls", "pdf", "csv.gz", ""])
def test_other_kinds_of_file_are_refused_by_their_name(tmp_path: Path, ending: str) -> None:
    (tmp_path / "motor").mkdir()
    (tmp_path / "motor" / f"log.{ending}").write_bytes(b"PK\x03\x04")
    _, told = read(tmp_path, f"{{file: 'log.{ending}', columns: {{speed: rpm, scale: kg}}}}")
    assert len(told) == 1
    assert "cannot be read" in told[0]


@given(data=st.binary(max_size=80) | st.text('n,;\t"\r\n 1x.', max_size=80).map(str.encode))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_a_table_or_mistakes(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:
        found, told = read(
            Path(name),
            "{file: load_test.csv, columns: {speed: {from: n, unit: rpm}, scale: {from: x, unit: kg}}}",
            data,
        )
    assert (found is not None) or told
