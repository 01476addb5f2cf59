from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_table
from loss_bench import LossBench

from certgen.job.model import ColdWinding, Winding
from certgen.reduction.model import TooFewReadings
from certgen.reduction.winding import hot_state, state_over_torque, winding_readings, winding_state, winding_with_cold

ICE = 273.15
COLD = ColdWinding(4.0, 20.0 + ICE)


def given(cold=COLD, hot=None, three_phase=True, **keys):
    return winding_readings(Winding(cold=cold, **keys), hot, constant=235.0, three_phase=three_phase)


def test_resistance_read_in_a_row_goes_before_temperature_and_hot():
    """255 K above nothing at 20 degC: 5 ohm is 318.75 K above it, 83.75 degC."""
    winding = given(hot=6.0)
    table = make_table(winding_resistance=[5.0, np.nan, np.nan], winding_temperature=[300.0, 80.0 + ICE, np.nan])
    state = winding_state(table, winding, hot_state(winding))
    assert state.resistance == pytest.approx([5.0, 4.0 * 315.0 / 255.0, 6.0])
    assert state.temperature - ICE == pytest.approx([83.75, 80.0, 147.5])


def test_without_a_cold_reading_temperatures_tell_no_resistance():
    winding = given(cold=None)
    state = winding_state(make_table(winding_temperature=[350.0]), winding, hot_state(winding))
    assert np.isnan(state.resistance).all()
    assert np.isnan(state.temperature).all()


def test_hot_resistance_without_a_cold_one_has_no_temperature():
    winding = given(cold=None, hot=5.0)
    assert hot_state(winding)[0] == 5.0
    assert np.isnan(hot_state(winding)[1])


@pytest.mark.parametrize(("connection", "factor"), [("star", 2.0), ("delta", 2.0 / 3.0)])
def test_a_phase_is_brought_between_lines(connection, factor):
    winding = given(hot=6.0, between="phases", connection=connection)
    assert winding.cold == (pytest.approx(4.0 * factor), 20.0 + ICE)
    assert winding.hot == pytest.approx(6.0 * factor)
    state = winding_state(make_table(winding_resistance=[5.0]), winding, hot_state(winding))
    assert state.resistance == pytest.approx([5.0 * factor])
    assert state.temperature - ICE == pytest.approx([83.75])


def test_a_phase_of_unknown_connection_is_refused():
    with pytest.raises(TooFewReadings, match=r"that of one phase, and star or delta is not stated"):
        given(between="phases")


def test_a_motor_with_one_winding_has_no_phases():
    assert given(three_phase=False, between="phases").cold == (4.0, 20.0 + ICE)


def test_along_the_load_curve_the_winding_is_told_between_rows():
    winding = given()
    table = make_table(winding_temperature=[360.0, 340.0, np.nan])
    state = winding_state(table, winding, hot_state(winding))
    along = state_over_torque(np.array([10.0, 0.0, 5.0]), state, np.array([-1.0, 5.0, 10.0]))
    assert along.temperature == pytest.approx([340.0, 350.0, 360.0])


@pytest.mark.parametrize(
    ("keys", "cold"),
    [
        ({"temperature": 293.15}, ColdWinding(4.02, 293.15)),  # (4.0 + 4.02 + 4.04) / 3
        ({"temperature": 293.15, "cold": ColdWinding(4.1, 291.15)}, ColdWinding(4.1, 291.15)),
        ({}, None),  # a resistance of unknown temperature tells nothing of another
        ({"temperature": 293.15, "between": "phases"}, None),  # between which terminals, then?
    ],
)
def test_three_pairs_of_terminals_stand_for_a_cold_reading(keys, cold):
    """IEC 60034-2-1:2014, 5.7.1, from memory: the mean of the three."""
    job = LossBench().job()
    winding = Winding(u_v=4.0, v_w=4.02, w_u=4.04, **keys)
    found = winding_with_cold(replace(job, readings=replace(job.readings, winding=winding))).cold
    if cold is None:
        assert found is None
    else:
        assert (found.resistance, found.temperature) == pytest.approx((cold.resistance, cold.temperature))
