from __future__ import annotations

import math

import numpy as np
import pytest

from certgen.document.source import Problems
from certgen.job.columns import COLUMNS
from certgen.job.table import Column
from certgen.readings.cells import NEEDED, tabulate
from certgen.readings.model import Table
from certgen.units import conversion


def column(name: str, unit: str) -> Column:
    dimension = "text" if name == "remark" else conversion(unit)[0]
    return Column(name, unit, dimension, name, (1, 1))


def table(columns: list[tuple[str, str]], rows: list[list[str]]) -> tuple[Table, list[str]]:
    problems = Problems()
    found = tabulate([column(*one) for one in columns], rows, lambda row, cell: (row + 1, cell + 1), "a.csv", problems)
    return found, [str(one) for one in problems.found]


def test_numbers_come_out_in_si() -> None:
    found, told = table(
        [
            ("speed", "rpm"),
            ("scale", "lb"),
            ("winding_temperature", "degF"),
            ("power_factor", "%"),
            ("input_power", "hp"),
        ],
        [["1500", "1", "212", "79", "2"], ["3e2", "-.5", "32", "100", "0"]],
    )
    assert not told
    assert found.column("speed") == pytest.approx([50 * math.pi, 10 * math.pi])
    assert found.column("scale") == pytest.approx([0.45359237, -0.226796185])
    assert found.column("winding_temperature") == pytest.approx([373.15, 273.15])
    assert found.column("power_factor") == pytest.approx([0.79, 1.0])
    assert found.column("input_power") == pytest.approx([2 * 745.69987158227, 0.0])


@pytest.mark.parametrize("blank", ["", "  ", "-", "–", "—", "~", "null"])
def test_an_empty_cell_is_not_a_number_and_no_mistake(blank: str) -> None:
    found, told = table([("speed", "rpm"), ("voltage", "V")], [["1", blank]])
    assert not told
    assert np.isnan(found.column("voltage")).all()


@pytest.mark.parametrize("name", sorted(NEEDED))
def test_a_load_point_needs_its_speed_and_its_load(name: str) -> None:
    unit = {"speed": "rpm", "torque": "N*m"}.get(name, "kg")
    found, told = table([(name, unit)], [["1"], [""]])
    assert told == [f"a.csv:2:1: the cell of '{name}' is empty; write what was read, or leave the row out."]
    assert np.isnan(found.column(name)[1])


_NO_NUMBERS = ["nan", "NaN", "inf", "-Infinity", "1e999", "1,5", "12V", "x", "0x1F", "1_000", "=A1", "#DIV/0!"]


@pytest.mark.parametrize("text", [*_NO_NUMBERS, "1 5", "12 V"])
def test_what_is_no_number_is_told_with_the_unit_it_should_have(text: str) -> None:
    found, told = table([("voltage", "V")], [[text]])
    assert told == [
        f"a.csv:1:1: '{text}' in column 'voltage' is not a number; "
        "write a plain number in V with a decimal point, for example 12.5."
    ]
    assert np.isnan(found.column("voltage")).all()


@pytest.mark.parametrize(
    ("name", "unit", "text", "told"),
    [
        ("speed", "rpm", "-1", "'-1 rpm' is not possible in column 'speed'; write a value not below 0 rpm."),
        ("voltage", "kV", "-0.4", "'-0.4 kV' is not possible in column 'voltage'; write a value not below 0 kV."),
        (
            "power_factor",
            "%",
            "101",
            "'101 %' is not possible in column 'power_factor'; write a value from 0 to 100 %.",
        ),
        ("power_factor", "1", "1.3", "'1.3' is not possible in column 'power_factor'; write a value from 0 to 1."),
        ("frequency", "Hz", "0.5", "'0.5 Hz' is not possible in column 'frequency'; write a value not below 1 Hz."),
        (
            "winding_temperature",
            "degC",
            "-274",
            "'-274 degC' is not possible in column 'winding_temperature'; write a value not below -273.15 degC.",
        ),
        (
            "voltage",
            "V",
            "1e16",
            "'1e16' in column 'voltage' is too large a number for a motor bench; write what was read.",
        ),
        (
            "voltage",
            "V",
            "1e-16",
            "'1e-16' in column 'voltage' is too small a number for a motor bench; write what was read.",
        ),
    ],
)
def test_what_cannot_be_is_told_in_the_unit_of_the_column(name: str, unit: str, text: str, told: str) -> None:
    assert table([(name, unit)], [[text]])[1] == [f"a.csv:1:1: {told}"]


@pytest.mark.parametrize(("name", "unit"), [("wattmeter_2", "W"), ("torque", "N*m"), ("scale", "kg")])
def test_what_may_be_negative_is(name: str, unit: str) -> None:
    """The second of two wattmeters reads backwards below a power factor of 0.5; a scale below its zero does too."""
    found, told = table([(name, unit)], [["-12"]])
    assert not told
    assert found.column(name) == pytest.approx([-12.0])


def test_a_remark_is_made_one_plain_line() -> None:
    found, told = table(
        [("remark", "")], [[" warm,\n\tquiet "], ["\x1b[31mred\u202e"], ["x" * 200], ["<b>Öl & 电</b>"]]
    )
    assert not told
    assert found.remarks == ("warm, quiet", "[31mred", "x" * 80, "<b>Öl & 电</b>")


def test_a_table_without_remarks_has_empty_ones() -> None:
    found, _ = table([("speed", "rpm")], [["1"], ["2"]])
    assert found.remarks == ("", "")
    assert found.rows == 2


def test_every_column_can_be_tabulated() -> None:
    units = {"mass": "kg", "force": "N", "ratio": "1"}
    for name, kind in COLUMNS.items():
        for dimension in kind.dimensions:
            unit = units.get(dimension) or {
                "time": "s", "speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "power": "W",
                "frequency": "Hz", "temperature": "K", "resistance": "ohm",
            }[dimension]  # fmt: skip
            found, told = table([(name, unit)], [["1"]])
            assert not told
            assert np.isfinite(found.column(name)).all()
