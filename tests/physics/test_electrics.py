"""Electric power and efficiency against worked examples of textbooks.

The figures of the books are those of the textbook companions (FOSSEE), which recompute the examples.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.electrics import (
    active_power,
    direct_current_power,
    efficiency,
    losses,
    mean_of_lines,
    power_factor,
    single_phase_apparent_power,
    three_phase_apparent_power,
    two_wattmeter_power,
    two_wattmeter_power_factor,
    unbalance,
)

voltages = st.floats(1.0, 1e4)
currents = st.floats(0.01, 1e4)
powers = st.floats(-1e6, 1e6)


def test_load_point_of_a_three_phase_motor(as_printed):
    # G. McPherson, An Introduction to Electrical Machines and Transformers, ch. 1, ex. 1-1, p. 4; hp = 746 W.
    # Six digits, as the companion gives them.
    input_power = active_power(three_phase_apparent_power(230.0, 7.0), 0.8)
    output = 2.5 * 746.0
    assert input_power == as_printed("2230.88")
    assert efficiency(output, input_power) == as_printed("0.83599")
    assert losses(output, input_power) == as_printed("365.881")


def test_power_factor_of_a_three_phase_motor(as_printed):
    # B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II, ch. 34, ex. 34.38,
    # p. 1289
    assert power_factor(45000.0, three_phase_apparent_power(400.0, 75.0)) == as_printed("0.866")


def test_power_flow_of_a_hundred_horsepower_motor(as_printed):
    # C. I. Hubert, Electric Machines, ch. 4, ex. 4.6, p. 159: efficiency 0.91 at 74600 W out
    input_power = 74600.0 / 0.91
    assert input_power == as_printed("81978")
    assert losses(74600.0, input_power) == as_printed("7378")
    assert power_factor(input_power, three_phase_apparent_power(230.0, 248.0)) == as_printed("0.83")


def test_single_phase_load_point(as_printed):
    # I. L. Kosow, Electric Machinery and Transformers, 2nd ed., ch. 10, ex. 10-4, p. 345; hp = 746 W
    assert power_factor(400.0, single_phase_apparent_power(115.0, 5.35)) == as_printed("0.6501")
    assert 100 * efficiency(746.0 / 3, 400.0) == as_printed("62.2")


def test_direct_current_machine_on_a_cradle(as_printed):
    # J. Bird, Electrical Circuit Theory and Technology, ch. 21, ex. 19, p. 367: a generator, whose input is
    # the shaft: 12 N*m at 1500 rpm in, 100 V and 15 A out
    shaft_input = 12.0 * 2 * math.pi * 25
    output = direct_current_power(100.0, 15.0)
    assert 100 * efficiency(output, shaft_input) == as_printed("79.58")
    assert losses(output, shaft_input) == as_printed("384.96")


@pytest.mark.parametrize(
    ("readings", "power", "factor"),
    [
        ((8000.0, 4000.0), "12000.0", "0.87"),  # Bird, ch. 19, ex. 15, p. 309
        ((10000.0, -3000.0), "7000.0", "0.3"),  # Bird, ch. 19, ex. 17, p. 310: one reversed, pf below 0.5
    ],
)
def test_two_wattmeters(as_printed, readings, power, factor):
    assert two_wattmeter_power(*readings) == as_printed(power)
    assert two_wattmeter_power_factor(*readings) == as_printed(factor)
    assert two_wattmeter_power_factor(*reversed(readings)) == as_printed(factor)


@pytest.mark.parametrize(
    ("readings", "line_current"),
    [
        ((8489.35, 2274.71), 415 / math.sqrt(3) / math.hypot(8, 8)),  # star
        ((25468.05, 6824.14), math.sqrt(3) * 415 / math.hypot(8, 8)),  # delta
    ],
)
def test_two_wattmeters_on_star_and_delta(readings, line_current):
    # Bird, ch. 19, ex. 18, p. 311: three times 8 + j8 ohm on 415 V
    active = active_power(three_phase_apparent_power(415.0, line_current), math.sqrt(0.5))
    assert two_wattmeter_power(*readings) == pytest.approx(active, abs=0.01)  # half a digit of each reading
    # Half a digit in each reading moves this power factor by less than 1e-6.
    assert two_wattmeter_power_factor(*readings) == pytest.approx(math.sqrt(0.5), abs=1e-6)


@given(voltages, currents, st.floats(-89.0, 89.0))
def test_two_wattmeters_agree_with_a_balanced_load(voltage, current, degrees):
    phase, sixth = math.radians(degrees), math.pi / 6
    readings = voltage * current * math.cos(sixth - phase), voltage * current * math.cos(sixth + phase)
    apparent = three_phase_apparent_power(voltage, current)
    assert two_wattmeter_power(*readings) == pytest.approx(active_power(apparent, math.cos(phase)), rel=1e-12)
    assert two_wattmeter_power_factor(*readings) == pytest.approx(math.cos(phase), rel=1e-12)


@pytest.mark.parametrize("readings", [(500.0, -500.0), (0.0, 0.0), (-800.0, 300.0), (math.nan, 400.0)])
def test_no_power_factor_without_power_into_the_load(readings):
    assert math.isnan(two_wattmeter_power_factor(*readings))


@pytest.mark.parametrize(
    ("lines", "mean", "percent"),
    [
        # NEMA MG 1 definition with an example, eng-tips.com thread 481112
        ((462.0, 463.0, 455.0), "460", "1.1"),
        # tools.gera.services, example to the NEMA MG 1 definition
        ((460.0, 467.0, 450.0), "459", "1.96"),
    ],
)
def test_voltage_unbalance(as_printed, lines, mean, percent):
    assert mean_of_lines(*lines) == as_printed(mean)
    assert 100 * unbalance(*lines) == as_printed(percent)


def test_voltage_unbalance_is_not_rounded_on_the_way(as_printed):
    # A heat-pump service manual (manuals.online, DTC series) prints 1.8 % for these, wrong: it rounds mean
    # and deviation to whole volts and cuts 400 / 216. The exact value is 11 / 649.
    assert unbalance(220.0, 216.0, 213.0) == pytest.approx(11 / 649, rel=1e-14)
    assert 100 * unbalance(220.0, 216.0, 213.0) == as_printed("1.69")
    assert 100 * unbalance(220.0, 216.0, 213.0) != as_printed("1.8")


@given(voltages, voltages, voltages, st.floats(0.1, 10.0))
def test_unbalance_knows_neither_order_nor_unit(ab, bc, ca, scale):
    expected = unbalance(ab, bc, ca)
    for lines in itertools.permutations((ab, bc, ca)):
        assert unbalance(*(scale * line for line in lines)) == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert 0.0 <= expected <= 2.0


def test_equal_lines_have_no_unbalance_and_dead_lines_none_to_tell():
    assert unbalance(400.0, 400.0, 400.0) == 0.0
    assert unbalance(300.0, 0.0, 0.0) == pytest.approx(2.0)  # the most there is: one line alone
    assert math.isnan(unbalance(0.0, 0.0, 0.0))


@pytest.mark.parametrize(
    ("reading", "pf_percent", "efficiency_percent"),
    [
        # V, A, W in, mN*m, rpm
        ((220.71, 0.483, 82.6, 97.65625, 1771.875), "77.4838", "21.93309"),
        ((220.64, 0.558, 108.2, 275.0, 1743.75), "87.8838", "46.40196"),
        ((220.57, 0.926, 197.6, 701.5625, 1641.25), "96.74522", "61.00998"),
        ((220.47, 1.306, 279.9, 917.9688, 1499.375), "97.20984", "51.48515"),
    ],
)
def test_a_measured_single_phase_motor(as_printed, reading, pf_percent, efficiency_percent):
    # Load test of a 220 V 150 W 60 Hz motor, github.com/Shinjinok/MultiLayerHeatTransferEx,
    # Octave/220V_150W_60Hz.txt. The table holds floats of seven digits, so one digit is left to their
    # rounding; it takes 0.1047 for 2 pi / 60.
    voltage, current, input_power, millinewton_metres, rpm = reading
    shaft_power = millinewton_metres / 1e3 * rpm * 0.1047
    apparent = single_phase_apparent_power(voltage, current)
    assert 100 * power_factor(input_power, apparent) == as_printed(pf_percent, cut=True)
    assert 100 * efficiency(shaft_power, input_power) == as_printed(efficiency_percent, cut=True)


@given(powers, powers)
def test_output_and_losses_make_up_the_input(shaft_power, input_power):
    assert shaft_power + losses(shaft_power, input_power) == pytest.approx(input_power, abs=1e-9)


@given(powers, st.floats(1.0, 1e6))
def test_efficiency_and_losses_tell_the_same(shaft_power, input_power):
    share_lost = losses(shaft_power, input_power) / input_power
    assert efficiency(shaft_power, input_power) == pytest.approx(1.0 - share_lost, rel=1e-9, abs=1e-9)


def test_an_impossible_test_shows_as_it_is():
    # T. Singh, Electrical Machines - 1, ch. 2, ex. 2.41, p. 129, wrong in print: 70 kgf at 1 m and 1200 rpm
    # from 20 kW (g = 9.81, pi = 3.14). It takes kgf*m for lb-ft and prints 58.79 %; recomputed 431.248 %.
    output = 70 * 9.81 * 1.0 * 1200 * 3.14 / 30
    assert 100 * efficiency(output, direct_current_power(250.0, 80.0)) == pytest.approx(431.248, abs=0.0005)


@pytest.mark.parametrize("nothing", [0.0, -100.0, math.nan])
def test_ratios_have_no_value_without_power(nothing):
    assert math.isnan(efficiency(50.0, nothing))
    assert math.isnan(power_factor(50.0, nothing))


@pytest.mark.parametrize(
    ("function", "good"),
    [
        (three_phase_apparent_power, (400.0, 3.0)),
        (single_phase_apparent_power, (230.0, 3.0)),
        (direct_current_power, (110.0, 3.0)),
        (power_factor, (80.0, 100.0)),
        (active_power, (100.0, 0.8)),
        (two_wattmeter_power, (80.0, 20.0)),
        (two_wattmeter_power_factor, (80.0, 20.0)),
        (mean_of_lines, (400.0, 401.0, 399.0)),
        (unbalance, (400.0, 401.0, 399.5)),
        (efficiency, (80.0, 100.0)),
        (losses, (80.0, 100.0)),
    ],
)
def test_nan_stays_nan_and_arrays_go_point_by_point(function, good):
    expected = function(*good)
    for place in range(len(good)):
        arguments = list(good)
        arguments[place] = np.array([good[place], math.nan])
        np.testing.assert_array_equal(function(*arguments), [expected, math.nan])
