"""Meters that contradict each other, by cases worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from certgen.assessment.plausibility import meter_contradictions as m


def of(*values: float) -> np.ndarray:
    return np.array(values, dtype=float)


def test_watts_above_volt_amperes() -> None:
    """230 V and 4 A are 920 VA; 1000 W exceed them by 80, with 10 of uncertainty; 930 do not."""
    found = m.watts_above_volt_amperes(of(1000, 930, 600), of(7, 7, 7), of(920, 920, 920), of(7, 7, 7))
    assert [each.row for each in found] == [0]
    assert found[0].sizes["power_factor"] == pytest.approx(1000 / 920)


def test_phase_volts_for_line_volts_are_suggested() -> None:
    """Power factors 0.62, 0.75, 0.81 read 1.07, 1.30, 1.40 with volts too small by the root of three."""
    apparent = of(1000, 1500, 2000)
    found = m.watts_above_volt_amperes(
        math.sqrt(3) * of(0.62, 0.75, 0.81) * apparent, of(5, 5, 5), apparent, of(5, 5, 5)
    )
    assert len(found) == 1 and found[0].row is None
    assert found[0].suggestion is not None and found[0].suggestion.key == "phase_for_line"


def test_power_factor_column_against_watts() -> None:
    """800 W of 1000 VA are 0.80; a column of 0.70 is 0.10 off, one of 0.81 is not."""
    found = m.power_factor_against_watts(
        of(0.70, 0.81), of(0.01, 0.01), of(800, 800), of(1000, 1000), ratio_uncertainty=of(0.01, 0.01)
    )
    assert [each.row for each in found] == [0]
    assert found[0].sizes["difference"] == pytest.approx(-0.10)


@pytest.mark.parametrize("factor", [0.1, 0.2, 0.3, 0.42])
def test_lost_sign_of_lighter_wattmeter(factor: float) -> None:
    """W = S/sqrt(3)*cos(phi -+ 30 deg): below 0.5 the lighter is negative; typed without sign it is found."""
    apparent, lag = 1000.0, math.acos(factor)
    heavier, lighter = (apparent / math.sqrt(3) * math.cos(lag + turn * math.pi / 6) for turn in (-1, 1))
    assert lighter < 0
    assert m.lost_sign_of_wattmeter(of(heavier), of(lighter), of(apparent), of(0.005)) == ()
    found = m.lost_sign_of_wattmeter(of(heavier), of(-lighter), of(apparent), of(0.005))
    assert [each.cell for each in found] == ["wattmeter_2"]
    assert found[0].sizes["apparent_with_sign"] == pytest.approx(1000.0)


@given(st.floats(0.5, 1.0), st.floats(10.0, 1e5))
def test_wattmeters_above_one_half_have_no_sign_to_lose(factor: float, apparent: float) -> None:
    lag = math.acos(factor)
    pair = [of(apparent / math.sqrt(3) * math.cos(lag + turn * math.pi / 6)) for turn in (-1, 1)]
    assert m.lost_sign_of_wattmeter(pair[0], pair[1], of(apparent), of(0.01)) == ()


def test_no_load_watts_above_loaded() -> None:
    """180 W unloaded at 230 V against 150 W with 2 N*m at 231 V; 60 W at 115 V says nothing."""
    found = m.no_load_watts_above_loaded(
        of(180, 60),
        of(230, 115),
        of(90, 150, 400),
        of(230, 231, 229),
        torque=of(0.0, 2.0, 6.0),
        relative_uncertainty=0.01,
    )
    assert [(each.row, each.sizes["load_row"]) for each in found] == [(0, 1.0)]


def test_three_currents_that_cannot_sum() -> None:
    """5 A in one line, 2 and 2.2 A in the others: 5 > 4.2. 4.2 A is their sum to the last digit."""
    found = m.currents_cannot_sum(of(5.0, 4.2, 2.1), of(2.0, 2.0, 2.0), of(2.2, 2.2, 2.2), of(0.02, 0.02, 0.02))
    assert [(each.row, each.cell) for each in found] == [(0, "current_a")]


def test_torque_without_power_and_more_out_than_in() -> None:
    found = m.torque_without_power(of(300, 300, 300), of(3, 3, 3), of(5, 250, 400), of(3, 3, 3))
    assert [(each.check, each.row) for each in found] == [("torque_without_power", 0), ("output_above_input", 1)]


numbers = arrays(float, 5, elements=st.one_of(st.floats(-1e9, 1e9), st.just(math.nan)))


@given(numbers, numbers, numbers)
def test_no_input_makes_an_error(one: np.ndarray, two: np.ndarray, three: np.ndarray) -> None:
    spread = np.abs(three)
    m.watts_above_volt_amperes(one, spread, two, spread)
    m.power_factor_against_watts(one, spread, two, three, ratio_uncertainty=spread)
    m.lost_sign_of_wattmeter(one, two, three, spread)
    m.no_load_watts_above_loaded(one, two, three, two, torque=one, relative_uncertainty=0.01)
    m.currents_cannot_sum(one, two, three, spread)
    m.torque_without_power(one, spread, two, spread)
