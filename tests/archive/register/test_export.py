from __future__ import annotations

import csv
import io
import json

import pandas
import pytest

from certgen.archive.register.certificates import enter
from certgen.archive.register.search import COLUMNS, Wanted, as_csv, as_json, find


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_csv_and_json_carry_the_same(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("A-1", current=None), b"page")
    found = find(register, Wanted())
    (row,), (item,) = rows_of("".join(as_csv(found))), json.loads("".join(as_json(found)))
    assert list(row) == list(item) == list(COLUMNS.values())
    assert (row["power_W"], item["power_W"]) == ("1500", 1500.0)
    assert (row["current_A"], item["current_A"]) == ("", None)


def test_a_spreadsheet_library_reads_the_csv(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("A-1", description='a "quoted", long\nname'), b"page")
    frame = pandas.read_csv(io.StringIO("".join(as_csv(find(register, Wanted())))))
    assert frame["description"][0] == 'a "quoted", long\nname'
    assert frame["torque_Nm"][0] == pytest.approx(10.1)


@pytest.mark.parametrize("text", ["=1+1", "+44 20", "-2", "@SUM(A1)", "\tx", "＝1"])
def test_no_text_becomes_a_formula(register, tmp_path, make_entry, text) -> None:
    """A cell that begins with =, +, -, @, tab or return may run (OWASP, CSV injection)."""
    enter(register, tmp_path, make_entry("A-1", maker=text, serial=text), b"page")
    (row,) = rows_of("".join(as_csv(find(register, Wanted()))))
    assert row["maker"] == row["serial"] == f"'{text}"


def test_a_negative_number_stays_a_number(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("A-1", torque=-0.02), b"page")
    (row,) = rows_of("".join(as_csv(find(register, Wanted()))))
    assert float(row["torque_Nm"]) == -0.02
