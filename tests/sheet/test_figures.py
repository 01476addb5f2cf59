"""Rounding, units and marks of printed numbers; conversions against scipy.constants (CODATA and exact definitions)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from certgen.messages.format import BOTH, MISSING, SI, US, column, forms, kind_of, number, plain, single
from certgen.quantity import Quantity

RPM = math.tau / 60.0


def q(value: float, unit: str = "1", uncertainty: float | None = None) -> Quantity:
    return Quantity(value, unit, uncertainty, None if uncertainty is None else 2.0)


@pytest.mark.parametrize(
    ("kind", "si", "expected"),
    [
        ("torque", 10.05, 10.05 / (constants.foot * constants.pound_force)),
        ("torque", 0.31, 0.31 / (constants.foot * constants.pound_force)),
        ("shaft_power", 1494.0, 1494.0 / constants.hp),
        ("temperature", 313.15, constants.convert_temperature(313.15, "Kelvin", "Fahrenheit")),
    ],
)
def test_us_units_agree_with_scipy(kind: str, si: float, expected: float) -> None:
    (form,) = forms(kind, US, si)
    assert form.value(si) == pytest.approx(expected, rel=1e-12)


def test_si_display_units_agree_with_scipy() -> None:
    assert forms("temperature", SI, 313.15)[0].value(313.15) == pytest.approx(
        constants.convert_temperature(313.15, "Kelvin", "Celsius")
    )
    assert forms("speed", SI, 150.0)[0].value(1420.0 * RPM) == pytest.approx(1420.0)
    assert forms("shaft_power", SI, 1500.0)[0].value(1500.0) == pytest.approx(1500.0 / constants.kilo)


def test_both_systems_stand_side_by_side_only_where_they_differ() -> None:
    assert [form.sign for form in forms("torque", BOTH, 10.0)] == ["N·m", "lbf·ft"]
    assert [form.sign for form in forms("shaft_power", BOTH, 1500.0)] == ["kW", "hp"]
    assert [form.sign for form in forms("temperature", BOTH, 300.0)] == ["°C", "°F"]
    assert [form.sign for form in forms("electrical_power", BOTH, 1500.0)] == ["kW"]
    assert [form.sign for form in forms("current", BOTH, 3.0)] == ["A"]


@pytest.mark.parametrize(
    ("value", "unit", "kind", "expected"),
    [
        (9.8734, "N*m", "torque", "9.873 N·m"),
        (123.456, "N*m", "torque", "123.5 N·m"),
        (0.123456, "N*m", "torque", "0.1235 N·m"),
        (745.6, "W", "shaft_power", "745.6 W"),
        (1494.3, "W", "shaft_power", "1.494 kW"),
        (1419.49 * RPM, "rad/s", "speed", "1419 rpm"),
        (57.26 * RPM, "rad/s", "speed", "57.3 rpm"),
        (0.05388, "1", "slip", "5.39 %"),
        (0.8277, "1", "efficiency", "82.8 %"),
        (0.7361, "1", "power_factor", "0.736"),
        (3.4049, "A", "current", "3.40 A"),
        (0.4829, "A", "current", "0.483 A"),
        (123.45, "A", "current", "123.5 A"),
        (294.15, "K", "temperature", "21.0 °C"),
        (80.0, "K", "rise", "80.0 K"),
        (2.2e8, "ohm", "resistance", "220.0 MΩ"),
    ],
)
def test_digits_by_quantity(value: float, unit: str, kind: str, expected: str) -> None:
    assert single(q(value, unit), kind, SI) == expected


def test_single_in_both_systems() -> None:
    assert single(q(294.15, "K"), "temperature", BOTH) == "21.0 °C (69.8 °F)"


def test_column_has_one_number_of_decimals() -> None:
    form = forms("torque", SI, 12.2)[0]
    assert column([q(0.0), q(1.743), None, q(12.2)], form) == ("0.00", "1.74", MISSING, "12.20")


@pytest.mark.parametrize(
    ("value", "uncertainty", "expected"),
    [
        # JCGM 100:2008, 7.2.2 and 7.2.6: m_s = 100.021 47 g with U = 0.79 mg is stated as (100.021 47 ± 0.000 79) g;
        # two significant digits of the uncertainty, the value to the same place
        (10.0512, 0.113, "10.05 ± 0.11"),
        (10.0512, 1.13, "10.1 ± 1.1"),
        (10.0512, 0.0113, "10.051 ± 0.011"),
    ],
)
def test_known_uncertainty_sets_the_digits(value: float, uncertainty: float, expected: str) -> None:
    (form,) = forms("torque", SI, value)
    assert column([q(value, "N*m", uncertainty)], form) == (expected,)


def test_uncertainty_is_converted_as_a_difference() -> None:
    (form,) = forms("temperature", US, 300.0)
    (cell,) = column([q(300.0, "K", 1.0)], form)
    assert cell == "80.3 ± 1.8"


def test_uncertainty_is_never_rounded_to_nothing() -> None:
    (form,) = forms("torque", SI, 10.0)
    cells = column([q(10.0, "N*m", 0.1), q(1.0, "N*m", 0.1), q(0.5, "N*m", 1e-6)], form)
    assert cells[2] == "0.50 ± 0.01"


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_number_is_the_value_rounded(value: float, decimals: int) -> None:
    text = number(value, decimals)
    assert float(text.replace("−", "-")) == pytest.approx(value, abs=0.5 * 10.0**-decimals * 1.0001)
    assert not (text.startswith("−") and float(text[1:]) == 0.0)


@pytest.mark.parametrize(
    ("value", "expected"), [(1420.0, "1420"), (0.79, "0.79"), (82.8, "82.8"), (12000.0, "12000"), (248.57, "248.6")]
)
def test_plate_figures_keep_no_idle_zeros(value: float, expected: str) -> None:
    assert plain(value) == expected


@pytest.mark.parametrize(
    ("unit", "name", "kind"),
    [
        ("1", "efficiency_at_rated_power", "efficiency"),
        ("1", "slip", "slip"),
        ("1", "power_factor", "power_factor"),
        ("1", "gear_ratio", "ratio"),
        ("K", "winding_rise", "rise"),
        ("K", "ambient", "temperature"),
        ("W", "", "shaft_power"),
    ],
)
def test_kind_by_unit_and_name(unit: str, name: str, kind: str) -> None:
    assert kind_of(unit, name) == kind
