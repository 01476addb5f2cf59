"""One rule for a figure wherever it stands: digits by its uncertainty, a unit of its size, the reader's units."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from certgen.messages.catalogue import fill
from certgen.messages.format import Units, forms, headline_figure, quantity, single, with_sign
from certgen.messages.languages import Writing
from certgen.quantity import Quantity

FOOT_POUND, HORSEPOWER = constants.lbf * constants.foot, constants.hp


@pytest.mark.parametrize(
    ("torque", "si", "us"),
    [
        (0.0056, "5.6 mN·m", "0.793 ozf·in"),
        (0.03, "0.03 N·m", "0.0221 lbf·ft"),
        (12.4, "12.4 N·m", "9.15 lbf·ft"),
        (18200.0, "18.2 kN·m", "13400 lbf·ft"),
    ],
)
def test_a_torque_has_a_unit_of_its_size(torque: float, si: str, us: str) -> None:
    assert fill("{torque:.3g N·m}", {"torque": torque}) == si
    assert fill("{torque:.3g N·m}", {"torque": torque}, units="us") in (us, us.replace("13400", "13424"))


@given(torque=st.floats(1e-4, 1e6), digits=st.integers(3, 5))
def test_a_converted_torque_is_the_same_torque(torque: float, digits: int) -> None:
    """Pound-force and foot by scipy.constants; an ounce-inch is 1/192 of a foot-pound."""
    shown = fill(f"{{torque:.{digits}g N·m}}", {"torque": torque}, units="us")
    figure, unit = shown.split(" ")
    size = {"lbf·ft": FOOT_POUND, "ozf·in": FOOT_POUND / 192.0}[unit]
    assert float(figure) * size == pytest.approx(torque, rel=6e-3)
    assert "e" not in shown


@given(value=st.floats(1e-3, 1e7), part=st.floats(1e-5, 0.9))
def test_value_and_uncertainty_end_at_the_same_digit(value: float, part: float) -> None:
    """JCGM 100:2008, 7.2.6: at most two digits of an uncertainty, and the value to the same place."""
    shown = single(Quantity(value, "N*m", part * value), "torque", "si")
    figure, _, spread = shown.rpartition(" ")[0].partition(" ± ")
    assert len(figure.partition(".")[2]) == len(spread.partition(".")[2])
    if "." in spread.rstrip("0"):
        assert len(spread.replace(".", "").lstrip("0")) <= 3


def test_a_sentence_and_a_table_round_alike() -> None:
    item = Quantity(5.5998, "N*m", 0.1404)
    assert single(item, "torque", "si") == "5.60 ± 0.14 N·m"
    assert fill("{torque}", {"torque": item}) == "5.60 ± 0.14 N·m"


@pytest.mark.parametrize(
    ("value", "uncertainty", "printed"),
    [
        (400e3, 2887e3, "below 3.3 MΩ, not resolved"),
        (0.0, 2.9e6, "below 2.9 MΩ, not resolved"),
        (5e6, 2.887e6, "5.0 ± 2.9 MΩ"),
        (220e6, None, "220.0 MΩ"),
        (2.2e9, None, "2.200 GΩ"),
        (0.0456, None, "45.60 mΩ"),
    ],
)
def test_a_resistance_less_than_its_uncertainty_is_not_resolved(
    value: float, uncertainty: float | None, printed: str
) -> None:
    """The most it may be is the end of its interval of coverage, and never rounded down."""
    assert quantity(Quantity(value, "ohm", uncertainty), "si") == printed


@given(value=st.floats(1e-3, 1e6), part=st.floats(1e-6, 0.5))
def test_a_headline_has_four_digits_at_most(value: float, part: float) -> None:
    shown = headline_figure(Quantity(value, "W", part * value), "shaft_power", "si").partition(" ")[0]
    assert len(shown.replace(".", "").strip("0")) <= 4


@pytest.mark.parametrize(
    ("sentence", "value", "us"),
    [
        ("{gravity:.5g m/s²}", 9.80665, "32.174 ft/s²"),
        ("{inertia:.3g kg·m²}", 0.0035, "0.0831 lb·ft²"),
        ("{shown:.4g shaft W}", 372.8, "0.4999 hp"),
        ("{shown:.4g W}", 372.8, "372.8 W"),
        ("{span:.3g kg}", 5.0, "11.0 lb"),
        ("{force:.3g N}", 25.0, "5.62 lbf"),
        ("{radius:g mm}", 0.04, "1.57 in"),
        ("{ambient:.0f °C}", 313.15, "104 °F"),
        ("{rise:.0f K}", 80.0, "80 K"),
    ],
)
def test_customary_units_hold_for_whatever_a_sentence_prints(sentence: str, value: float, us: str) -> None:
    """Factors: NIST Special Publication 811 (2008), appendix B. A rise stays in kelvins, as NEMA MG 1 counts it."""
    (name,) = re.findall(r"\{([a-z]+)", sentence)
    assert fill(sentence, {name: value}, units="us") == us


GERMAN = Writing(",", "\u202f", "min⁻¹", "{day}.{month}.{year}", "unter {most}, nicht aufgelöst")


@pytest.mark.parametrize(
    ("sentence", "value", "printed"),
    [
        ("{torque:.3g N·m}", 12.4, "12,4 N·m"),
        ("{speed:.0f rpm}", 150.0, "1432 min⁻¹"),
        ("{power:.0f W}", 18204.0, "18\u202f204 W"),
        ("{power}", Quantity(1502.0, "W", 20.0), "1,502 ± 0,020 kW"),
        ("{speed}", Quantity(150.0, "rad/s"), "1432 min⁻¹"),
        ("{found}", Quantity(4e5, "ohm", 2.887e6), "unter 3,3 MΩ, nicht aufgelöst"),
        ("{low:~3}", 0.5, "0,500"),
    ],
)
def test_a_language_writes_figures_its_own_way(sentence: str, value: object, printed: str) -> None:
    (name,) = re.findall(r"\{([a-z]+)", sentence)
    assert fill(sentence, {name: value}, units=Units("si", writing=GERMAN)) == printed


def test_a_language_writes_dates_its_own_way() -> None:
    assert Units("si", writing=GERMAN).dated("2026-03-14") == "14.03.2026"
    assert Units("si").dated("2026-03-14") == "2026-03-14"
    assert Units("si", writing=GERMAN).dated("not dated") == "not dated"


@pytest.mark.parametrize(
    ("horsepower", "written"),
    [(1.0 / 3.0, "1/3 hp"), (1.0 / 6.0, "1/6 hp"), (1.0 / 12.0, "1/12 hp"), (0.3334, "0.3334 hp"), (0.25, "0.25 hp")],
)
def test_a_third_of_a_horsepower_is_written_as_on_a_plate(horsepower: float, written: str) -> None:
    """The ratings of NEMA MG 1, 10.32, from memory."""
    (form,) = forms("shaft_power", Units("us"), horsepower * HORSEPOWER)
    assert with_sign(form.plain(form.value(horsepower * HORSEPOWER)), form) == written
