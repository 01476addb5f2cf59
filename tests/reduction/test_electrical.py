from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_table

from certgen.reduction.electrical import electrical_input

THREE = "three-phase induction"
SINGLE = "single-phase induction"


def test_three_lines_give_mean_and_unbalance():
    """NEMA MG 1, 12.45: greatest deviation from the mean over the mean; 220, 216, 213 V give 1.69 %."""
    table = make_table(
        voltage_ab=[220.0],
        voltage_bc=[216.0],
        voltage_ca=[213.0],
        current_a=[5.0],
        current_b=[5.0],
        current_c=[5.0],
    )
    found = electrical_input(table, THREE)
    assert found.voltage == pytest.approx([649.0 / 3.0])
    assert 100 * found.voltage_unbalance == pytest.approx([1.69], abs=0.005)
    assert found.current_unbalance == pytest.approx([0.0])


def test_two_wattmeters_one_reversed():
    """J. Bird, Electrical Circuit Theory and Technology, chapter 19, example 17: 10 kW and -3 kW, power factor 0.297."""
    found = electrical_input(make_table(wattmeter_1=[10e3], wattmeter_2=[-3e3]), THREE)
    assert found.active == pytest.approx([7000.0])
    assert found.power_factor == pytest.approx([0.297], abs=5e-4)


def test_volts_and_amps_decide_the_power_factor_where_both_were_read():
    table = make_table(voltage=[400.0], current=[20.0], wattmeter_1=[10e3], wattmeter_2=[-3e3])
    assert electrical_input(table, THREE).power_factor == pytest.approx([7000.0 / (math.sqrt(3.0) * 400.0 * 20.0)])


def test_power_from_volts_amps_and_power_factor():
    """G. McPherson, An Introduction to Electrical Machines and Transformers, example 1-1, page 4: 2230.88 W."""
    found = electrical_input(make_table(voltage=[230.0], current=[7.0], power_factor=[0.8]), THREE)
    assert found.active == pytest.approx([2230.88], abs=0.005)
    assert electrical_input(
        make_table(voltage=[120.0], current=[10.0], power_factor=[0.9]), SINGLE
    ).active == pytest.approx([1080.0])


def test_direct_current_takes_volts_times_amps():
    found = electrical_input(make_table(voltage=[110.0], current=[10.0]), "dc")
    assert found.active == pytest.approx([1100.0])
    assert np.isnan(found.apparent).all()


def test_a_wattmeter_on_direct_current_goes_first():
    table = make_table(voltage=[110.0], current=[10.0], input_power=[1090.0])
    assert electrical_input(table, "dc").active == pytest.approx([1090.0])


def test_alternating_current_without_watts_or_power_factor_has_no_input_power():
    found = electrical_input(make_table(voltage=[400.0], current=[3.0]), THREE)
    assert np.isnan(found.active).all()
    assert np.isnan(found.power_factor).all()
    assert found.apparent == pytest.approx([math.sqrt(3.0) * 1200.0])


def test_a_gap_in_one_row_stays_in_that_row():
    table = make_table(voltage=[400.0, 400.0], current=[3.0, np.nan], input_power=[1500.0, 1500.0])
    found = electrical_input(table, THREE)
    assert np.isfinite(found.power_factor).tolist() == [True, False]
