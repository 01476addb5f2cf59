"""Slip, speed and power flow against worked examples of textbooks.

The figures of the books are those of the textbook companions (FOSSEE), which recompute the examples.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.induction import (
    air_gap_power,
    is_synchronous,
    mechanical_power,
    poles_from_speed,
    rotor_frequency,
    rotor_loss,
    slip,
    speed_at_slip,
    synchronous_speed,
)

RPM = math.pi / 30.0
RPM_WITH_PI_3_14 = 3.14 / 30.0
REV_PER_SECOND = 2.0 * math.pi

frequencies = st.floats(1.0, 1000.0)
pole_numbers = st.integers(1, 24).map(lambda pairs: 2 * pairs)


def test_slip_and_rotor_frequency(as_printed):
    # C. I. Hubert, Electric Machines, ch. 4, ex. 4.2, p. 143: six poles, 60 Hz, 1100 rpm
    field = synchronous_speed(60.0, 6)
    share = slip(1100 * RPM, field)
    assert field / RPM == as_printed("1200")
    assert share == as_printed("0.0833")
    assert rotor_frequency(share, 60.0) == as_printed("5.0")


def test_speed_of_a_two_pole_motor(as_printed):
    # J. Bird, Electrical Circuit Theory and Technology, ch. 22, ex. 5, p. 392: 60 Hz, slip 2 %
    field = synchronous_speed(60.0, 2)
    assert field / REV_PER_SECOND == as_printed("60.0")
    assert speed_at_slip(0.02, field) / REV_PER_SECOND == as_printed("58.8")
    assert rotor_frequency(0.02, 60.0) == as_printed("1.2")


def test_speed_from_the_rotor_frequency(as_printed):
    # Bird, ch. 22, ex. 7, p. 394: eight poles, 50 Hz, 3 Hz in the rotor
    field = synchronous_speed(50.0, 8)
    share = slip(705 * RPM, field)
    assert 100 * share == as_printed("6.0")
    assert rotor_frequency(share, 50.0) == pytest.approx(3.0, rel=1e-12)
    assert speed_at_slip(3.0 / 50.0, field) / RPM == as_printed("705.0")


def test_power_flow_from_32_kilowatts(as_printed):
    # Bird, ch. 22, ex. 8, p. 396: stator losses 1.2 kW, slip 5 %, friction and windage 750 W
    gap = air_gap_power(32000.0, 1200.0)
    developed = mechanical_power(0.05, gap)
    assert rotor_loss(0.05, gap) == as_printed("1540.0")
    assert developed == as_printed("29260.0")
    assert developed - 750.0 == as_printed("28510.0")
    assert 100 * (developed - 750.0) / 32000.0 == as_printed("89.09")


def test_power_flow_from_line_resistance_and_slip(as_printed):
    # B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. II, ch. 34, ex. 34.38,
    # p. 1289: 45 kW in, 75 A, 0.12 ohm between lines, core 1200 W, friction 900 W, slip 3 %, six poles,
    # 50 Hz.
    winding_loss = 1.5 * 75.0**2 * 0.12
    gap = air_gap_power(45000.0, winding_loss + 1200.0)
    output = mechanical_power(0.03, gap) - 900.0
    assert rotor_loss(0.03, gap) == as_printed("1283.6")
    assert output == as_printed("40604")
    assert 100 * output / 45000.0 == as_printed("90.23")
    speed_with_book_pi = 1000 * RPM_WITH_PI_3_14 * 0.97  # the book takes pi = 3.14
    assert output / speed_with_book_pi == as_printed("399.9")
    assert speed_at_slip(0.03, synchronous_speed(50.0, 6)) / RPM == pytest.approx(970.0, rel=1e-12)


def test_torques_from_losses_in_percent(as_printed):
    # Theraja, vol. II, ch. 34, ex. 34.39(b), p. 1290: 400 V, 10 A, pf 0.86, four poles, 50 Hz; stator losses
    # 5 % of the input, rotor loss 4 % and friction 3 % of the power across the gap; pi = 3.14.
    input_power = math.sqrt(3) * 400.0 * 10.0 * 0.86
    gap = air_gap_power(input_power, 0.05 * input_power)
    share = 0.04
    field_with_book_pi = 1500 * RPM_WITH_PI_3_14
    assert rotor_loss(share, gap) / gap == pytest.approx(0.04, rel=1e-12)
    assert speed_at_slip(share, synchronous_speed(50.0, 4)) / RPM == as_printed("1440.0")
    assert mechanical_power(share, gap) / speed_at_slip(share, field_with_book_pi) == as_printed("36.0531")
    output = mechanical_power(share, gap) - 0.03 * gap
    assert output / speed_at_slip(share, field_with_book_pi) == as_printed("34.9265")


def test_air_gap_power_of_a_fifteen_horsepower_motor(as_printed):
    # P. C. Sen, Principles of Electric Machines and Power Electronics, ch. 5, ex. 5.2, p. 226: hp = 746 W,
    # friction 750 W, four poles, 60 Hz, 1728 rpm; the book goes from the shaft back to the gap.
    share = slip(1728 * RPM, synchronous_speed(60.0, 4))
    assert mechanical_power(share, 12437.5) == as_printed("11940")
    assert mechanical_power(share, 12437.5) - 750.0 == pytest.approx(15 * 746.0, rel=1e-9)
    assert rotor_loss(share, 12437.5) == as_printed("497.5")


def test_slip_from_rotor_loss_and_gap_power(as_printed):
    # G. McPherson, An Introduction to Electrical Machines and Transformers, ch. 4, ex. 4-1 and 4-2, p. 70;
    # core loss is counted after the gap there. Six digits, as the companion gives them.
    gap = air_gap_power(math.sqrt(3) * 460.0 * 25.0 * 0.85, 1000.0)
    share = 500.0 / gap
    assert gap == as_printed("15930.8")
    assert rotor_loss(share, gap) == pytest.approx(500.0, rel=1e-12)
    assert mechanical_power(share, gap) == as_printed("15430.8")
    assert speed_at_slip(share, synchronous_speed(60.0, 4)) / RPM == as_printed("1743.51")
    assert gap / synchronous_speed(60.0, 4) == as_printed("84.5155")


def test_power_flow_of_a_hundred_horsepower_motor(as_printed):
    # Hubert, ch. 4, ex. 4.6, p. 159: 74600 W out at efficiency 0.91; core 1697, stator 2803, rotor 1549 W
    gap = air_gap_power(74600.0 / 0.91, 1697.0 + 2803.0)
    share = 1549.0 / gap
    assert gap == as_printed("77478")
    assert speed_at_slip(share, synchronous_speed(60.0, 6)) / RPM == as_printed("1176")
    assert mechanical_power(share, gap) - 74600.0 == as_printed("1329")


@pytest.mark.parametrize(
    ("rpm", "frequency", "poles"),
    [
        (1100.0, 60.0, 6),  # Hubert, ex. 4.2, p. 143
        (60 * 58.8, 60.0, 2),  # Bird, ex. 22.5, p. 392
        (705.0, 50.0, 8),  # Bird, ex. 22.7, p. 394
        (1728.0, 60.0, 4),  # Sen, ex. 5.2, p. 226
        (60 * 24.0, 50.0, 4),  # Bird, ex. 22.10, p. 398
        (1185.0, 60.0, 6),  # Hubert, ex. 5.2, p. 180
        (1500.0, 50.0, 4),  # at synchronous speed
        (1514.9, 50.0, 4),  # a tachometer that reads 0.99 % too much
        (1125.0, 50.0, 4),  # the most slip, 25 %
    ],
)
def test_pole_number_of_a_running_motor(rpm, frequency, poles):
    assert poles_from_speed(rpm * RPM, frequency) == poles


@pytest.mark.parametrize(
    ("rpm", "frequency"),
    [
        (1516.0, 50.0),  # too far above 1500, and half of 3000
        (1124.0, 50.0),  # slip above 25 % with four poles, above 1000 with six
        (3031.0, 50.0),  # faster than any induction motor at 50 Hz
        (20.0, 50.0),  # 300 poles or 298: a per cent does not tell
        (5e-324, 50.0),
        (0.0, 50.0),
        (-1450.0, 50.0),
        (math.nan, 50.0),
        (math.inf, 50.0),
        (1450.0, 0.0),
        (1450.0, math.nan),
    ],
)
def test_a_speed_that_tells_no_pole_number(rpm, frequency):
    assert poles_from_speed(rpm * RPM, frequency) is None


@given(frequencies, pole_numbers, st.floats(0.0, 1.0))
def test_pole_number_is_found_again(frequency, poles, place):
    # slower than that is another pole number, or none
    slowest = max(0.75, 1.01 * poles / (poles + 2)) * 1.000001
    share_of_field = slowest + place * (1.0099 - slowest)
    found = poles_from_speed(share_of_field * synchronous_speed(frequency, poles), frequency)
    assert found == poles


@given(st.floats(-1.0, 2.0), frequencies, pole_numbers)
def test_speed_and_slip_undo_each_other(share, frequency, poles):
    field = synchronous_speed(frequency, poles)
    assert slip(speed_at_slip(share, field), field) == pytest.approx(share, rel=1e-9, abs=1e-12)


@given(st.floats(-1.0, 2.0), st.floats(-1e6, 1e6))
def test_the_gap_power_splits_into_rotor_loss_and_mechanical_power(share, gap):
    assert rotor_loss(share, gap) + mechanical_power(share, gap) == pytest.approx(gap, rel=1e-9, abs=1e-9)


def test_slip_at_its_landmarks():
    field = synchronous_speed(50.0, 4)
    assert slip(0.0, field) == 1.0
    assert slip(field, field) == 0.0
    assert slip(-field, field) == 2.0


@pytest.mark.parametrize(
    ("function", "good"),
    [
        (slip, (150.0, 157.0)),
        (speed_at_slip, (0.03, 157.0)),
        (rotor_frequency, (0.03, 50.0)),
        (air_gap_power, (1000.0, 100.0)),
        (rotor_loss, (0.03, 900.0)),
        (mechanical_power, (0.03, 900.0)),
    ],
)
def test_nan_stays_nan_and_arrays_go_point_by_point(function, good):
    expected = function(*good)
    for place in range(len(good)):
        arguments = list(good)
        arguments[place] = np.array([good[place], math.nan])
        np.testing.assert_array_equal(function(*arguments), [expected, math.nan])


def test_synchronous_speed_of_several_frequencies():
    speeds = synchronous_speed(np.array([50.0, 60.0, math.nan]), 4)
    np.testing.assert_allclose(speeds, [1500 * RPM, 1800 * RPM, math.nan], rtol=1e-14)


@pytest.mark.parametrize("poles", [3, 1, 0, -2, 2.5])
def test_impossible_pole_numbers_are_refused(poles):
    with pytest.raises(ValueError, match="poles must be an even whole number from 2 up, got"):
        synchronous_speed(50.0, poles)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: synchronous_speed(0.0, 4), "frequency must be above 0, got 0"),
        (lambda: slip(1.0, 0.0), "synchronous speed must be above 0"),
        (lambda: speed_at_slip(0.1, -1.0), "synchronous speed must be above 0"),
        (lambda: rotor_frequency(0.1, 0.0), "frequency must be above 0"),
    ],
)
def test_impossible_parameters_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


@pytest.mark.parametrize(
    ("rpm", "frequency", "poles", "synchronous"),
    [
        (1500, 50.0, 4, True),
        (3000, 50.0, 2, True),
        (1800, 60.0, 4, True),
        (514, 60.0, 14, True),  # 514.29 rpm, printed in whole rpm
        (514.2857142857143, 60.0, 14, True),
        (1499, 50.0, 4, False),  # a slip of 0.07 %, as large motors have
        (1500, 60.0, 4, False),
        (1500, 50.0, 6, False),
        (1500, 50.0, None, True),
        (1420, 50.0, None, False),
        (1725, 60.0, None, False),
        (3600, 50.0, None, False),
    ],
)
def test_a_plate_with_the_synchronous_speed(rpm, frequency, poles, synchronous):
    """120 f / p (J. Bird, Electrical Circuit Theory and Technology, chapter 22), as plates print it, in whole rpm."""
    assert is_synchronous(rpm * math.pi / 30.0, frequency, poles) is synchronous
