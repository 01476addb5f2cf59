"""Units read and written: published factors, an independent library's constants, and the traps of a bench."""

from __future__ import annotations

import contextlib
import math
import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import constants

from certgen.units import (
    DIMENSIONS,
    USUAL_UNITS,
    UnitError,
    article,
    conversion,
    from_si,
    measurable,
    read_number,
    read_one_of,
    read_quantity,
    registry_conversion,
    to_si,
)

pytestmark = pytest.mark.slow

#: Text, its dimension, and the SI value as printed in NIST Special Publication 811 (2008), appendices B.8 and B.9,
#: which prints exact factors in bold and rounds the others to seven digits.
NIST_SP_811 = [
    ("1 ft", "length", 3.048e-01, "exact"),
    ("1 in", "length", 2.54e-02, "exact"),
    ("1 lb", "mass", 4.535924e-01, "rounded"),
    ("1 oz", "mass", 2.834952e-02, "rounded"),
    ("1 lbf", "force", 4.448222e00, "rounded"),
    ("1 ozf", "force", 2.780139e-01, "rounded"),
    ("1 kgf", "force", 9.80665e00, "exact"),
    ("1 kp", "force", 9.80665e00, "exact"),
    ("1 gf", "force", 9.80665e-03, "exact"),
    ("1 lbf*ft", "torque", 1.355818e00, "rounded"),
    ("1 lbf*in", "torque", 1.129848e-01, "rounded"),
    ("1 ozf*in", "torque", 7.061552e-03, "rounded"),
    ("1 kgf*m", "torque", 9.80665e00, "exact"),
    ("1 hp", "power", 7.456999e02, "rounded"),
    ("1 metric_horsepower", "power", 7.354988e02, "rounded"),
    ("1 rpm", "speed", 1.047198e-01, "rounded"),
    ("1 min", "time", 6.0e01, "exact"),
    ("1 h", "time", 3.6e03, "exact"),
    ("1 d", "time", 8.64e04, "exact"),
    ("1 lb*ft^2", "inertia", 4.214011e-02, "rounded"),
    ("1 lb*in^2", "inertia", 2.926397e-04, "rounded"),
    ("1 ft/s^2", "acceleration", 3.048e-01, "exact"),
]


@pytest.mark.parametrize(("text", "dimension", "printed", "digits"), NIST_SP_811)
def test_conversion_factors_as_printed_by_nist(text: str, dimension: str, printed: float, digits: str) -> None:
    half_the_last_digit = 0.5e-6 * 10.0 ** math.floor(math.log10(printed))
    tolerance = 1e-15 * printed if digits == "exact" else half_the_last_digit
    assert read_quantity(text, dimension) == pytest.approx(printed, rel=0.0, abs=tolerance)


@pytest.mark.parametrize(
    ("text", "dimension", "constant"),
    [
        ("1 hp", "power", constants.hp),
        ("1 ft", "length", constants.foot),
        ("1 in", "length", constants.inch),
        ("1 lb", "mass", constants.lb),
        ("1 oz", "mass", constants.oz),
        ("1 lbf", "force", constants.lbf),
        ("1 kgf", "force", constants.kgf),
        ("1 g_n", "acceleration", constants.g),
        ("1 year", "time", constants.Julian_year * 365.2425 / 365.25),
        ("1 deg/s", "speed", constants.degree),
        ("0 degC", "temperature", constants.zero_Celsius),
        ("1 min", "time", constants.minute),
        ("1 uA", "current", constants.micro),
    ],
)
def test_conversion_factors_agree_with_scipy(text: str, dimension: str, constant: float) -> None:
    assert read_quantity(text, dimension) == pytest.approx(constant, rel=1e-14)


@pytest.mark.parametrize("fahrenheit", [-459.67, -40.0, 0.0, 32.0, 68.0, 104.0, 212.0, 311.0])
def test_temperatures_agree_with_scipy(fahrenheit: float) -> None:
    celsius = constants.convert_temperature(fahrenheit, "F", "C")
    kelvin = constants.convert_temperature(fahrenheit, "F", "K")
    assert to_si(fahrenheit, "degF", "temperature") == pytest.approx(kelvin, abs=1e-10)
    assert to_si(celsius, "degC", "temperature") == pytest.approx(kelvin, abs=1e-10)
    assert from_si(kelvin, "°F") == pytest.approx(fahrenheit, abs=1e-10)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("10 Nm", "torque", 10.0),  # newton metre, not a unit of yarn
        ("10 N*m", "torque", 10.0),
        ("10 N·m", "torque", 10.0),
        ("10 N⋅m", "torque", 10.0),
        ("10 N m", "torque", 10.0),
        ("10 N.m", "torque", 10.0),
        ("10 mNm", "torque", 0.01),
        ("2 PS", "power", 2 * 75 * 9.80665),  # metric horsepower, not petasiemens
        ("2 cv", "power", 2 * 75 * 9.80665),
        ("1500 1/min", "speed", 50 * math.pi),
        ("1500 r/min", "speed", 50 * math.pi),
        ("1500 min^-1", "speed", 50 * math.pi),
        ("1500 min⁻¹", "speed", 50 * math.pi),
        ("25 rev/s", "speed", 50 * math.pi),
        ("157 rad/s", "speed", 157.0),
        ("4 mOhm", "resistance", 0.004),
        ("4 MOhm", "resistance", 4e6),
        ("4 mohm", "resistance", 0.004),
        ("4 Mohm", "resistance", 4e6),
        ("4 GΩ", "resistance", 4e9),
        ("4 \N{OHM SIGN}", "resistance", 4.0),
        ("21 °C", "temperature", 294.15),
        ("21 ° C", "temperature", 294.15),
        ("21 C", "temperature", 294.15),
        ("300 K", "temperature", 300.0),
        ("5 µm", "length", 5e-6),
        ("5 \N{GREEK SMALL LETTER MU}m", "length", 5e-6),
        ("9.81 m/s²", "acceleration", 9.81),
        ("9.81 m s^-2", "acceleration", 9.81),
        ("9.81 m s⁻²", "acceleration", 9.81),
        ("12 months", "time", 12 * 30.436875 * 86400),
        ("82.8 %", "ratio", 0.828),
        ("0.828", "ratio", 0.828),
        ("0.828 1", "ratio", 0.828),
        ("1.5\N{NO-BREAK SPACE}kW", "power", 1500.0),
        ("  1.5kW ", "power", 1500.0),
        (".5 kW", "power", 500.0),
        ("5. kW", "power", 5000.0),
        ("1e3 rpm", "speed", 1e3 * math.pi / 30),
        ("-5 N*m", "torque", -5.0),
    ],
)
def test_what_a_bench_writes_is_read(text: str, dimension: str, value: float) -> None:
    assert read_quantity(text, dimension) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.1 degC", "temperature", 0.1), ("9 degF", "temperature", 5.0), ("2 K", "temperature", 2.0),
        ("1 rpm", "speed", math.pi / 30),
    ],
)  # fmt: skip
def test_a_difference_leaves_out_the_zero_of_its_scale(text: str, dimension: str, value: float) -> None:
    assert read_quantity(text, dimension, difference=True) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("text", "value"), [("180 deg", math.pi), ("0.5 rad", 0.5), ("0.25 turn", math.pi / 2)])
def test_angles(text: str, value: float) -> None:
    assert read_quantity(text, "angle") == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "horsepower"),
    [("1/3 hp", 1 / 3), ("3/4 hp", 0.75), ("1 1/2 hp", 1.5), ("7 1/2 HP", 7.5), ("1/20hp", 0.05)],
)
def test_fractions_of_a_horsepower(text: str, horsepower: float) -> None:
    assert read_quantity(text, "power") == pytest.approx(horsepower * constants.hp, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("1.5", "power", "'1.5' has no unit"),
        ("50 Hz", "speed", "'50 Hz' is a frequency, not a speed"),  # one turn a second is 2 pi rad/s, one hertz is not
        ("50 1/s", "speed", "'50 1/s' is a frequency, not a speed"),
        ("1500 rpm", "frequency", "'1500 rpm' is a speed, not a frequency"),
        ("3 A", "voltage", "'3 A' is a current, not a voltage"),
        ("3 kg*m^2", "acceleration", "'3 kg*m^2' is an inertia, not an acceleration"),
        ("3 Hz/s", "frequency", "'Hz/s' is a unit of nothing measured here"),
        ("3 kwt", "power", "'kwt' is not a unit known here"),
        (
            "3 VA",
            "power",
            "'3 VA' is an apparent power, not a power",
        ),  # apparent power is no power a motor takes or gives
        ("3 J", "torque", "'J' is not a unit known here"),  # an energy is no torque
        ("3 nm", "torque", "'nm' is not a unit known here"),
        ("3 ft_lb", "torque", "'ft_lb' is not a unit known here"),
        ("3 lb*ft", "torque", "'lb*ft' is a unit of nothing measured here"),
        ("3 degC/min", "temperature", "'degC/min' mixes a temperature scale with other units"),
        ("3 degC*m/m", "temperature", "'degC*m/m' mixes a temperature scale with other units"),
        ("3 m^0.5", "length", "'m^0.5' is not a unit known here"),
        ("3 9^9^9^9^9", "power", "'3 9^9^9^9^9' is not one number with a decimal point"),
        ("3 m^9^9^9^9", "length", "'m^9^9^9^9' is not a unit known here"),
        ("1,5 kW", "power", "'1,5 kW' is not one number with a decimal point"),
        ("1.5.0 kW", "power", "'1.5.0 kW' is not one number with a decimal point"),
        ("1 500 W", "power", "'1 500 W' is not one number with a decimal point"),
        ("1'500 W", "power", "'1'500 W' is not one number with a decimal point"),
        ("1/0 hp", "power", "'1/0 hp' divides by zero"),
        ("", "power", "'' does not begin with a number"),
        ("kW", "power", "'kW' does not begin with a number"),
        ("nan kW", "power", "'nan kW' does not begin with a number"),
        ("inf kW", "power", "'inf kW' does not begin with a number"),
        ("٣ kW", "power", "'٣ kW' does not begin with a number"),
        ("1e999 kW", "power", "'1e999 kW' is too large a number for a motor bench"),
        ("1e16 W", "power", "'1e16 W' is too large a number for a motor bench"),
        ("1e-16 W", "power", "'1e-16 W' is too small a number for a motor bench"),
    ],
)
def test_what_is_no_quantity_of_the_dimension_is_told(text: str, dimension: str, told: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_quantity(text, dimension)
    assert str(caught.value) == told


def test_a_text_may_be_one_of_several_dimensions() -> None:
    assert read_one_of("2 kg", ("mass", "force")) == (2.0, "mass")
    assert read_one_of("2 N", ("mass", "force")) == (2.0, "force")
    assert read_one_of("1/2 kg", ("mass", "force")) == (0.5, "mass")
    with pytest.raises(UnitError, match=r"^'2 m' is a length, not a mass, a force or a torque$"):
        read_one_of("2 m", ("mass", "force", "torque"))


@pytest.mark.parametrize(("dimension", "si_and_example"), DIMENSIONS.items())
def test_every_dimension_has_an_si_unit_and_an_example_that_reads(
    dimension: str, si_and_example: tuple[str, str]
) -> None:
    si_unit, examples = si_and_example
    assert conversion(si_unit) == (dimension, 1.0, 0.0)
    for text in examples.split("' or '"):
        assert read_quantity(text, dimension) > 0.0


def test_a_unit_of_another_dimension_is_refused() -> None:
    with pytest.raises(UnitError, match=r"^'rpm' is a unit of speed, not of torque$"):
        to_si(1.0, "rpm", "torque")


_UNITS = (
    "W", "kW", "MW", "hp", "PS", "V", "mV", "kV", "A", "mA", "Hz", "kHz", "rpm", "rad/s", "rev/s", "deg/s", "N*m",
    "mN*m", "kN*m", "lbf*ft", "lbf*in", "ozf*in", "kgf*m", "kgf*cm", "m", "mm", "cm", "in", "ft", "kg", "g", "lb",
    "oz", "N", "kN", "lbf", "kgf", "gf", "K", "degC", "degF", "ohm", "mohm", "kohm", "Mohm", "s", "min", "h", "d",
    "m/s^2", "ft/s^2", "g_n", "kg*m^2", "lb*ft^2", "1", "%",
)  # fmt: skip


@given(unit=st.sampled_from(_UNITS), value=st.floats(-1e6, 1e6))
def test_out_and_back_is_the_same_number(unit: str, value: float) -> None:
    dimension, scale, offset = conversion(unit)
    there = to_si(value, unit, dimension)
    assert from_si(there, unit) == pytest.approx(value, rel=1e-12, abs=1e-12 * (1.0 + abs(offset / scale)))


@given(unit=st.sampled_from(_UNITS), value=st.floats(1e-6, 1e6))
def test_a_quantity_written_out_reads_as_the_number_it_was(unit: str, value: float) -> None:
    dimension, _, _ = conversion(unit)
    assert read_quantity(f"{value!r} {unit}", dimension) == to_si(value, unit, dimension)


@given(value=st.floats(allow_nan=False, allow_infinity=False))
def test_every_plain_number_is_read_as_it_is(value: float) -> None:
    assert read_number(f" {value!r}\t") == value


@pytest.mark.parametrize(
    "text", ["", " ", "nan", "inf", "-inf", "1e999", "1,5", "1 5", "0x1F", "1_000", "٣", "1e", "--1"]
)
def test_what_is_no_plain_number_is_none(text: str) -> None:
    assert read_number(text) is None


def test_what_a_bench_can_meet() -> None:
    assert all(measurable(value) for value in (0.0, 1e-15, -1e15, 3.4))
    assert not any(measurable(value) for value in (math.nan, math.inf, 1.1e15, -0.9e-15))


@given(text=st.text(max_size=200))
@example("1" * 5000 + "x")
@example("1" + " " * 5000 + "\n!")
@example("1/" + "9" * 5000 + " hp")
@example("1 " + "m*" * 40 + "m")
@example("1 " + "(" * 38)
def test_garbage_is_refused_at_once(text: str) -> None:
    _refused_or_read(text)


@given(text=st.text("0123456789./^*-() eEmkWNhpdegC%°²Ω", max_size=60))
@settings(max_examples=300)
def test_near_quantities_are_read_or_refused_at_once(text: str) -> None:
    _refused_or_read(text)


def _refused_or_read(text: str) -> None:
    conversion("W")  # the registry is built once
    start = time.process_time()
    number = read_number(text)
    assert number is None or math.isfinite(number)
    for dimension in ("power", "temperature", "ratio"):
        with contextlib.suppress(UnitError):
            assert measurable(read_quantity(text, dimension))
    assert time.process_time() - start < 0.5  # a hundred times what it takes, for a busy machine


def test_nouns_with_their_article() -> None:
    assert article("inertia") == "an inertia"
    assert article("power") == "a power"


def test_usual_units_are_as_the_registry_has_them() -> None:
    for unit, known in USUAL_UNITS.items():
        dimension, scale, offset = registry_conversion(unit)
        assert known == (dimension, pytest.approx(scale, rel=1e-15), pytest.approx(offset, rel=1e-15)), unit
