"""Workbooks: independent writers, and archives made to harm."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pandas
import pytest
from files_bench import Result, read
from hypothesis import given, settings
from hypothesis import strategies as st

pytestmark = pytest.mark.slow

KEYS = "columns: {speed: rpm, scale: kg}"


def book(rows: list[list[object]], name: str = "Sheet1", more: tuple[str, ...] = ()) -> bytes:
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = name
    for row in rows:
        sheet.append(row)
    for other in more:
        made.create_sheet(other)
    target = io.BytesIO()
    made.save(target)
    return target.getvalue()


def one(folder: Path, data: bytes, keys: str = KEYS, name: str = "log.xlsx") -> Result:
    return read(folder, f"{{file: {name}, {keys}}}", {name: data})


def changed(data: bytes, change: dict[str, bytes]) -> bytes:
    """An archive with parts replaced or added."""
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            if info.filename not in change:
                new.writestr(info, old.read(info))
        for name, part in change.items():
            new.writestr(name, part)
    return target.getvalue()


@given(
    values=st.lists(
        st.tuples(*[st.floats(0.0, 1e6).filter(lambda v: v == 0.0 or v > 1e-9)] * 2), min_size=1, max_size=5
    ),
    engine=st.sampled_from(["openpyxl", "odf"]),
    down=st.integers(0, 3),
    right=st.integers(0, 3),
)
@settings(max_examples=30, deadline=None)
def test_what_workbook_writers_write_reads_back(values, engine, down, right) -> None:  # type: ignore[no-untyped-def]
    """pandas with openpyxl (.xlsx) and odfpy (.ods) are the independent writers."""
    frame = pandas.DataFrame(values, columns=["n (1/min)", "scale [kg]"])
    name = "log.xlsx" if engine == "openpyxl" else "log.ods"
    with tempfile.TemporaryDirectory() as folder:
        frame.to_excel(Path(folder) / name, engine=engine, index=False, startrow=down, startcol=right, sheet_name="A b")
        found = read(Path(folder), f"{{file: {name}, columns: {{speed: {{from: n}}, scale: }}}}")
    np.testing.assert_allclose(found.good.column("scale"), frame["scale [kg]"], rtol=1e-15)  # openpyxl writes 16 digits
    assert found.file.sheet == "A b"
    assert found.file.header_row == 1 + down


def test_cells_of_every_kind_come_as_they_are_meant(tmp_path: Path) -> None:
    from datetime import datetime

    rows: list[list[object]] = [
        ["Log of bench 2", None, None, None],
        [],
        ["time", "n", "F", "note"],
        [None, "rpm", "lb", None],
    ]
    rows += [
        [datetime(2026, 3, 14, 23, 59, 59, 500000), 1450, 2.5, "warm"],
        [datetime(2026, 3, 15, 0, 0, 1), "1440", None, 3],
    ]
    keys = "columns: {time: , speed: {from: n}, scale: {from: F}, remark: {from: note}}"
    assert one(tmp_path, book(rows), keys).mistakes == (
        "log.xlsx:6:3: the cell of 'scale' is empty; write what was read, or leave the row out.",
    )
    rows[-1][2] = 2
    found = one(tmp_path, book(rows), keys)
    assert found.good.column("time").tolist() == [0.0, 1.5]
    assert found.good.column("scale") == pytest.approx([2.5 * 0.45359237, 2 * 0.45359237])
    assert found.good.remarks == ("warm", "3")
    assert (found.file.header_row, found.file.unit_row, found.file.rows, found.file.skipped) == (3, 4, 2, 1)


def test_a_sheet_and_a_range_are_named_where_there_are_several(tmp_path: Path) -> None:
    data = book([["x", "speed", "scale"], [0, 1450, 2], [0, 1440, 3], [0, "sum", 5]], "Load", ("Notes",))
    assert one(tmp_path, data).mistakes == (
        "log.xlsx: the workbook has 2 sheets; name one beside the file, 'sheet: Load'.",
    )
    assert one(tmp_path, data, f"sheet: Lode, {KEYS}").mistakes == (
        "job.yaml:1:25: load_test.sheet: there is no sheet 'Lode' in log.xlsx; did you mean 'Load'.",
    )
    assert one(tmp_path, data, f"sheet: Load, {KEYS}").mistakes == (
        "log.xlsx:4:2: 'sum' in column 'speed' is not a number; "
        "write a plain number in rpm with a decimal point, for example 12.5.",
    )
    found = one(tmp_path, data, f"sheet: Load, range: B1:C3, {KEYS}")
    assert found.good.column("scale").tolist() == [2.0, 3.0]
    assert found.file.cells == "B1:C3"
    (told,) = one(tmp_path, data, f"sheet: Load, range: C3:B1, {KEYS}").mistakes
    assert "'C3:B1' is no range of cells; write it as B4:H20" in told


_GOOD = book([["speed", "scale"], [1450, 2]])
_SHEET = "xl/worksheets/sheet1.xml"


def _with_flag(data: bytes) -> bytes:
    """The first part marked as locked, in its own header and in the directory."""
    marked = bytearray(data)
    marked[6] |= 1
    marked[data.index(b"PK\x01\x02") + 8] |= 1
    return bytes(marked)


def _lying(data: bytes, part: str, size: int) -> bytes:
    """The directory says less of a part than comes out of it."""
    honest = changed(data, {part: b"<x>" + b" " * size})
    where = honest.rindex(part.encode())  # in the directory, its size stands 22 bytes before the name
    return honest[: where - 22] + (100).to_bytes(4, "little") + honest[where - 18 :]


def _open_document(cells: str) -> bytes:
    target = io.BytesIO()
    pandas.DataFrame({"speed": [1450.0], "scale": [2.0]}).to_excel(target, engine="odf", index=False)
    with zipfile.ZipFile(io.BytesIO(target.getvalue())) as archive:
        content = archive.read("content.xml").decode()
    return changed(target.getvalue(), {"content.xml": content.replace("<table:table-cell", cells, 1).encode()})


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"speed,scale\n", "the file is broken and cannot be unpacked"),
        (_GOOD[:-40], "the file is broken and cannot be unpacked"),
        (b"\xd0\xcf\x11\xe0" + bytes(600),
         "the workbook is locked with a password, or of an older kind that is not read here"),
        (_with_flag(_GOOD), "the file is locked with a password"),
        (changed(_GOOD, {_SHEET: b"<a>" + b" " * 8_000_000}), "the file unpacks to more than 200 times its size"),
        (_lying(_GOOD, _SHEET, 8_000_000), "the file is broken and cannot be unpacked"),
        (changed(_GOOD, {_SHEET: b"<worksheet><sheetData><row r='1'"}), "the workbook is broken and cannot be read"),
        (changed(_GOOD, {_SHEET: b"<!DOCTYPE a [<!ENTITY b 'c'>]><a/>"}),
         f"the part '{_SHEET}' declares entities, which no workbook needs"),
        (changed(_GOOD, {f"x{n}.xml": b"" for n in range(2001)}), "the file holds 2010 parts, more than a workbook has"),
    ],
)  # fmt: skip
def test_an_archive_made_to_harm_or_broken_is_refused_in_one_paragraph(tmp_path: Path, data: bytes, what: str) -> None:
    assert one(tmp_path, data).mistakes == (
        f"log.xlsx: {what}; save it again as .xlsx without a password, or as delimited text.",
    )


def test_a_cell_in_the_farthest_corner_is_refused_before_a_table_is_made_of_it(tmp_path: Path) -> None:
    made = openpyxl.load_workbook(io.BytesIO(_GOOD))
    made.active["XFD1048576"] = 1  # type: ignore[index]
    target = io.BytesIO()
    made.save(target)
    (told,) = one(tmp_path, target.getvalue()).mistakes
    assert told.startswith("log.xlsx: a sheet spans 1048576 rows by 16384 columns; ")


def test_a_cell_repeated_a_billion_times_is_refused(tmp_path: Path) -> None:
    data = _open_document('<table:table-cell table:number-columns-repeated="999999999"')
    (told,) = one(tmp_path, data, name="log.ods").mistakes
    assert "columns; save it again" in told


def test_programs_and_links_in_a_workbook_are_left_out(tmp_path: Path) -> None:
    data = changed(_GOOD, {"xl/vbaProject.bin": b"\0" * 100, "xl/externalLinks/externalLink1.xml": b"<!DOCTYPE x>"})
    assert one(tmp_path, data).good.rows == 1
