"""Texts of a plate: one value, a fraction of a horsepower, or several values in one place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.plate import is_fraction, one_value, values_written


@pytest.mark.parametrize(
    ("written", "values"),
    [
        ("230/400 V", ("230 V", "400 V")),
        ("115/230 V", ("115 V", "230 V")),
        ("5.8/3.34 A", ("5.8 A", "3.34 A")),
        ("5,8/3,34 A", ("5,8 A", "3,34 A")),
        ("1425/1725 rpm", ("1425 rpm", "1725 rpm")),
        ("1425/1725 1/min", ("1425 1/min", "1725 1/min")),
        ("1.5/1.8 kW", ("1.5 kW", "1.8 kW")),
        ("50/60 Hz", ("50 Hz", "60 Hz")),
        ("50 / 60 Hz", ("50 Hz", "60 Hz")),
        ("230 V / 400 V", ("230 V", "400 V")),
        ("208-230/460 V", ("208 V", "230 V", "460 V")),
        ("220-240 V", ("220 V", "240 V")),
        ("3/5 hp", ("3 hp", "5 hp")),
        ("1/2 kW", ("1 kW", "2 kW")),
        ("0.79/0.77", ("0.79", "0.77")),
    ],
)
def test_several_values_in_one_place(written: str, values: tuple[str, ...]) -> None:
    assert values_written(written) == values


@pytest.mark.parametrize(
    "written",
    [
        "230 V", "1/2 hp", "1/3HP", "3/4 hp", "5/16 hp", "1/2 PS", "1 1/2 hp", "1-1/2 HP", "1420 1/min", "1420 min-1",
        "1420 r/min", "1e-3 V", "-5 V", "82.8 %", "",
    ],
)  # fmt: skip
def test_one_value(written: str) -> None:
    assert values_written(written) == ()


@pytest.mark.parametrize(
    ("written", "fraction"), [("1/2 hp", True), ("3/4 HP", True), ("3/5 hp", False), ("1/2 V", False)]
)
def test_what_can_be_nothing_but_a_part_of_a_horsepower(written: str, fraction: bool) -> None:
    """Two-speed motors have plates such as '3/5 hp'. Common practice, no source."""
    assert is_fraction(written) is fraction


@given(st.text("0123456789./- VAhpkWrm1in,–", max_size=40))
def test_values_are_pieces_of_what_was_written(text: str) -> None:
    assert all(value.split(" ")[0] in text for value in values_written(text))


@pytest.mark.parametrize(
    ("written", "read"),
    [("1-1/2 HP", "1 1/2 HP"), ("7-1/2hp", "7 1/2hp"), ("1.5 kW", "1.5 kW"), ("5-1/2 V", "5-1/2 V")],
)
def test_a_hyphen_between_a_number_and_its_fraction(written: str, read: str) -> None:
    assert one_value(written) == read
