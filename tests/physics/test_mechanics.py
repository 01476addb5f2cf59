"""Torque and power against worked examples of textbooks.

The figures of the books are those of the textbook companions (FOSSEE), which recompute the examples.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from certgen.physics.mechanics import (
    STANDARD_GRAVITY,
    accelerating_torque,
    gear_motor_speed,
    gear_output_speed,
    lever_arm_torque,
    motor_torque_through_drive,
    referred_inertia,
    rope_brake_torque,
    shaft_power,
    torque_at,
    weight,
)

RPM = math.pi / 30.0
RPM_WITH_PI_3_14 = 3.14 / 30.0
POUND_FOOT = constants.lbf * constants.foot

torques = st.just(0.0) | st.floats(1e-6, 1e4) | st.floats(-1e4, -1e-6)
speeds = st.floats(0.1, 1e4)
ratios = st.floats(0.05, 100.0)
shares = st.floats(0.01, 1.0)


def test_standard_gravity_is_that_of_codata():
    assert constants.g == STANDARD_GRAVITY


def test_rope_brake_with_the_net_load_given(as_printed):
    # R. K. Rajput, A Textbook of Internal Combustion Engines, ch. 17, ex. 17.9, p. 575
    torque = rope_brake_torque(1500.0, 0.0, 0.9, 0.02)
    assert shaft_power(torque, 300 * RPM) / 1e3 == as_printed("42.88")


def test_rope_brake_with_a_dead_load_in_kilograms_and_a_balance_in_newtons(as_printed):
    # Rajput, ch. 17, ex. 17.10, p. 576; the book takes g = 9.81. Brake power itself is not printed.
    torque = rope_brake_torque(weight(50.0, 9.81), 50.0, 0.35, 0.025)
    brake_power = shaft_power(torque, 900 * RPM)
    fuel_per_hour, heat_of_combustion = 4.0, 44000e3
    assert fuel_per_hour / (brake_power / 1e3) == as_printed("0.27")
    assert 100 * brake_power * 3600 / (fuel_per_hour * heat_of_combustion) == as_printed("30.78")


def test_rope_brake_with_both_ends_in_newtons(as_printed):
    # Rajput, ch. 17, ex. 17.16, p. 581; brake power itself is not printed
    brake_power = shaft_power(rope_brake_torque(400.0, 50.0, 0.375, 0.05), 1000 * RPM)
    fuel_per_hour, heat_of_combustion = 4.2, 43900e3
    assert fuel_per_hour / (brake_power / 1e3) == as_printed("0.29")
    assert 100 * brake_power * 3600 / (fuel_per_hour * heat_of_combustion) == as_printed("28.62")


def test_rope_brake_of_a_web_question(as_printed):
    # careerride.com, rope brake question: 70 kg against 150 N, 1 m drum, 50 mm rope, 300 rpm; g = 9.81
    torque = rope_brake_torque(weight(70.0, 9.81), 150.0, 0.5, 0.05)
    assert shaft_power(torque, 300 * RPM) == as_printed("8851.987")


def test_two_balances_on_a_brake_drum(as_printed):
    # U. A. Bakshi and M. V. Bakshi, DC Machines and Synchronous Machines, ch. 3, ex. 3.4, p. 14; g = 9.81
    torque = rope_brake_torque(weight(9.1, 9.81), weight(0.8, 9.81), 0.075)
    assert 100 * shaft_power(torque, 1320 * RPM) / (110.0 * 10.0) == as_printed("76.74")


def test_loads_on_both_sides_of_a_brake(as_printed):
    # T. Singh, Electrical Machines - 1, ch. 2, ex. 2.42, p. 129; g = 9.81, pi = 3.14
    torque = rope_brake_torque(weight(40.0, 9.81), weight(5.0, 9.81), 0.5)
    output = shaft_power(torque, 1500 * RPM_WITH_PI_3_14)
    assert output == as_printed("26953")
    assert 100 * output / (400.0 * 80.0) == as_printed("84.2")


def test_shaft_power_of_a_cradled_machine(as_printed):
    # J. Bird, Electrical Circuit Theory and Technology, ch. 21, ex. 19, p. 367: a generator, 12 N*m at
    # 1500 rpm in, 1500 W out
    power = shaft_power(12.0, 1500 * RPM)
    assert 100 * 1500.0 / power == as_printed("79.58")
    assert power - 1500.0 == as_printed("384.96")


def test_power_in_horsepower_from_pound_feet(as_printed):
    # I. L. Kosow, Electric Machinery and Transformers, 2nd ed., ch. 10, ex. 10-4, p. 345: 1 lb-ft at
    # 1750 rpm. The book divides by 5252, which leaves these four digits as they are.
    assert shaft_power(1.0 * POUND_FOOT, 1750 * RPM) / constants.hp == as_printed("0.3332")


def test_rated_torque_in_pound_feet(as_printed):
    # C. I. Hubert, Electric Machines, ch. 4, ex. 4.6, p. 159: 74600 W, which the book calls 100 hp, at the
    # speed that 1549 W rotor loss out of 77478 W leaves of 1200 rpm. T = 5252 hp / n with hp = 746 W.
    speed = 1200 * RPM * (1 - 1549 / 77478)
    book_pound_foot = 746.0 / (5252 * RPM)
    assert torque_at(74600.0, speed) / book_pound_foot == as_printed("446.6")


def test_motor_torque_behind_a_belt_without_loss(as_printed):
    # R. Anandanatarajan, Electrical Engineering, ch. 1, ex. 1.18, p. 1.43: 300 N at 0.2 m, 900 rpm, motor at
    # 1800 rpm and 200 V with efficiency 0.9; pi = 3.14
    tool = lever_arm_torque(300.0, 0.2)
    motor = motor_torque_through_drive(tool, 2.0, 1.0)
    motor_speed = gear_motor_speed(900 * RPM_WITH_PI_3_14, 2.0)
    assert gear_output_speed(1800.0, 2.0) == 900.0
    assert shaft_power(motor, motor_speed) / (0.9 * 200.0) == as_printed("31.4")


@pytest.mark.parametrize(
    ("millinewton_metres", "rpm", "milliwatts"),
    [
        (97.65625, 1771.875, "18116.73"),
        (275.0, 1743.75, "50206.92"),
        (701.5625, 1641.25, "120555.7"),
        (917.9688, 1499.375, "144106.9"),
        (389.8438, 0.0, "0.0"),
    ],
)
def test_shaft_power_of_a_measured_motor(as_printed, millinewton_metres, rpm, milliwatts):
    # Load test of a 220 V 150 W 60 Hz single-phase motor, github.com/Shinjinok/MultiLayerHeatTransferEx,
    # Octave/220V_150W_60Hz.txt. The table takes 0.1047 for 2 pi / 60; it holds floats of seven digits, so one
    # digit is left to their rounding.
    power = shaft_power(millinewton_metres, rpm * 0.1047)
    assert power == as_printed(milliwatts, cut=True)


def test_a_horsepower_is_0_746_kilowatts(as_printed):
    # common practice, no source; exactly 550 ft*lbf/s, NIST SP 811 (2008), B.8
    one_pound_on_one_foot = lever_arm_torque(weight(constants.pound, STANDARD_GRAVITY), constants.foot)
    power = shaft_power(one_pound_on_one_foot, 550.0)
    assert power == pytest.approx(constants.hp, rel=1e-14)
    assert power / 1e3 == as_printed("0.746")


def test_two_horsepower_at_1725_rpm_are_about_six_pound_feet(as_printed):
    # common practice, no source
    assert torque_at(2 * constants.hp, 1725 * RPM) / POUND_FOOT == as_printed("6")


@pytest.mark.parametrize("pounds", [0.0, 1.0, 6.1, 50.0])
def test_pounds_on_an_arm_of_one_foot_read_as_pound_feet(pounds):
    # common practice, no source
    force = weight(pounds * constants.pound, STANDARD_GRAVITY)
    assert lever_arm_torque(force, constants.foot) / POUND_FOOT == pytest.approx(pounds, rel=1e-14)


def test_a_geared_motor_of_0_2_kilowatts_at_90_rpm():
    # common practice, no source: about 15.6 lbf*ft; "about 90 rpm" leaves more than the last digit open
    assert torque_at(200.0, 90 * RPM) / POUND_FOOT == pytest.approx(15.6, abs=0.1)


@given(torques, speeds)
def test_torque_at_undoes_shaft_power(torque, speed):
    assert torque_at(shaft_power(torque, speed), speed) == pytest.approx(torque, rel=1e-12)


@given(torques, speeds, ratios, shares)
def test_a_drive_keeps_the_energy(absorber_torque, absorber_speed, ratio, share):
    into = shaft_power(
        motor_torque_through_drive(absorber_torque, ratio, share), gear_motor_speed(absorber_speed, ratio)
    )
    out = shaft_power(absorber_torque, absorber_speed)
    assert out == pytest.approx(into * share, rel=1e-12)
    assert abs(into) >= abs(out) * (1 - 1e-12)


@given(speeds, ratios)
def test_gear_speeds_undo_each_other(speed, ratio):
    assert gear_motor_speed(gear_output_speed(speed, ratio), ratio) == pytest.approx(speed, rel=1e-12)


def test_torque_has_no_value_at_standstill():
    torque = torque_at(np.array([100.0, 100.0, 0.0]), np.array([50.0, 0.0, 0.0]))
    np.testing.assert_array_equal(torque, [2.0, math.nan, math.nan])
    assert math.isnan(torque_at(100.0, 0.0))


def test_equal_pulls_make_no_torque():
    assert rope_brake_torque(80.0, 80.0, 0.1, 0.01) == 0.0


def test_retardation_loss_of_a_printed_example():
    """B. L. and A. K. Theraja, A Textbook of Electrical Technology, vol. II, example 31.17, page 1107: J = 121.709 from
    4000 W at 1500 rpm falling by 50 rpm in 25 s, with pi = 3.14."""
    to_si = 2.0 * 3.14 / 60.0
    torque = accelerating_torque(121.709, -50.0 * to_si / 25.0)
    assert shaft_power(torque, 1500.0 * to_si) == pytest.approx(-4000.0, abs=0.02)


@given(st.floats(1e-4, 10.0), st.floats(0.05, 50.0), st.floats(1.0, 500.0))
def test_a_referred_inertia_holds_the_same_energy(inertia, ratio, speed):
    assert 0.5 * referred_inertia(inertia, ratio) * speed**2 == pytest.approx(
        0.5 * inertia * (ratio * speed) ** 2, rel=1e-12
    )


@pytest.mark.parametrize(
    ("function", "good"),
    [
        (accelerating_torque, (0.02, -3.0)),
        (referred_inertia, (0.02, 3.0)),
        (shaft_power, (2.0, 3.0)),
        (torque_at, (2.0, 3.0)),
        (weight, (2.0, 3.0)),
        (lever_arm_torque, (2.0, 3.0)),
        (rope_brake_torque, (5.0, 3.0, 0.1, 0.01)),
        (motor_torque_through_drive, (2.0, 3.0, 0.9)),
        (gear_output_speed, (2.0, 3.0)),
        (gear_motor_speed, (2.0, 3.0)),
    ],
)
def test_nan_stays_nan_and_arrays_go_point_by_point(function, good):
    expected = function(*good)
    for place in range(len(good)):
        arguments = list(good)
        arguments[place] = np.array([good[place], math.nan])
        np.testing.assert_array_equal(function(*arguments), [expected, math.nan])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: weight(1.0, 0.0), "gravity must be above 0"),
        (lambda: lever_arm_torque(1.0, -0.5), "arm length must be above 0"),
        (lambda: rope_brake_torque(2.0, 1.0, 0.0), "drum radius must be above 0"),
        (lambda: rope_brake_torque(2.0, 1.0, 0.1, -0.01), "rope diameter must not be below 0"),
        (lambda: motor_torque_through_drive(1.0, 0.0, 0.9), "drive ratio must be above 0"),
        (lambda: motor_torque_through_drive(1.0, 2.0, 0.0), "drive efficiency must be above 0 and at most"),
        (lambda: motor_torque_through_drive(1.0, 2.0, 1.01), "drive efficiency must be above 0 and at most"),
        (lambda: gear_output_speed(1.0, -25.0), "gear ratio must be above 0"),
        (lambda: gear_motor_speed(1.0, 0.0), "gear ratio must be above 0"),
        (lambda: accelerating_torque(-0.1, 1.0), "inertia must not be below 0"),
        (lambda: referred_inertia(0.1, 0.0), "drive ratio must be above 0"),
    ],
)
def test_impossible_parameters_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
