from __future__ import annotations

from pathlib import Path

import pytest

from certgen.document.build import FileReference, Reader
from certgen.document.source import Problems, parse
from certgen.job.columns import COLUMNS, ENVELOPE_COLUMNS
from certgen.job.table import MOST_ROWS, Column, TableSource, table
from certgen.units import conversion


def declared(text: str, known=COLUMNS) -> tuple[TableSource | None, Reader]:
    problems = Problems()
    reader = Reader("job.yaml", Path(), problems)
    root = parse(text, "job.yaml", problems)
    return table(known).read(root, reader, "readings.load_test"), reader


def test_a_typed_table_knows_the_place_of_every_cell() -> None:
    found, reader = declared("columns: {speed: rpm, scale: kg}\nrows:\n  - [1492, 0.00]\n  - [ 1458 , '1.10']\n")
    assert not reader.problems.found
    assert found is not None
    assert found.rows is not None
    assert [[(cell.text, cell.place) for cell in row] for row in found.rows] == [
        [("1492", (3, 6)), ("0.00", (3, 12))],
        [("1458", (4, 7)), ("1.10", (4, 14))],
    ]
    assert found.names == {"speed", "scale"}
    assert reader.places == {
        "readings.load_test.columns": (1, 10),
        "readings.load_test.columns.speed": (1, 11),
        "readings.load_test.columns.scale": (1, 23),
    }


def test_a_table_in_a_file_knows_its_headers() -> None:
    found, reader = declared(
        "file: a.csv\ncolumns: {speed: {from: n (1/min), unit: rpm}, remark: {from: Notiz}, scale: N}"
    )
    assert not reader.problems.found
    assert found is not None
    assert [(one.file, one.columns) for one in found.files] == [(FileReference("a.csv", (1, 7)), found.columns)]
    assert found == TableSource(
        "readings.load_test",
        (1, 1),
        (
            Column("speed", "rpm", "speed", "n (1/min)", (2, 42)),
            Column("remark", "", "text", "Notiz", (2, 56)),
            Column("scale", "N", "force", "scale", (2, 78)),
        ),
        files=(found.files[0],),
    )


def test_a_column_of_remarks_needs_no_unit() -> None:
    found, reader = declared("columns: {speed: rpm, remark: }\nrows: [[1, 'warm']]")
    assert found is not None
    assert not reader.problems.found


def test_columns_and_bands_without_use_are_collected() -> None:
    _, reader = declared(
        "columns: {speed: rpm, brake_voltage: V}\nrows: [[1, 2]]\nsteady: {hold: 5 s, speed_band: 0.5 %}"
    )
    assert not reader.problems.found
    assert "readings.load_test.columns.brake_voltage" in reader.not_evaluated


def test_the_envelope_of_a_brake_has_its_own_columns() -> None:
    assert declared("columns: {speed: rpm, torque: lbf*ft}\nrows: [[1, 2]]", ENVELOPE_COLUMNS)[0] is not None
    assert declared("columns: {speed: rpm, scale: kg}\nrows: [[1, 2]]", ENVELOPE_COLUMNS)[0] is None


def test_rows_are_bounded() -> None:
    row = "- [1, 2]\n"
    head = "columns: {speed: rpm, scale: kg}\nrows:\n"
    assert declared(head + row * MOST_ROWS)[0] is not None
    found, reader = declared(head + row * (MOST_ROWS + 1))
    assert found is None
    (told,) = reader.problems.found
    assert (told.line, told.column) == (3, 1)
    assert told.what == f"readings.load_test.rows: the table has {MOST_ROWS + 1} rows"
    assert told.instead == f"put more than {MOST_ROWS} into a file"


@pytest.mark.parametrize("name", COLUMNS)
def test_every_column_may_be_written_in_a_unit_of_each_of_its_dimensions(name: str) -> None:
    units = {
        "time": "min", "speed": "rpm", "mass": "lb", "force": "kgf", "torque": "N*m", "voltage": "kV", "current": "mA",
        "power": "hp", "ratio": "'%'", "frequency": "Hz", "temperature": "degF", "resistance": "mohm",
    }  # fmt: skip
    for dimension in COLUMNS[name].dimensions:
        found, reader = declared(f"columns: {{{name}: {units[dimension]}}}\nrows: [[1]]")
        assert not reader.problems.found
        assert found is not None
        assert conversion(found.columns[0].unit)[0] == dimension
