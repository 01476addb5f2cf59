"""The three-phase circuit against a worked example and the laws it must keep."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_bench.three_phase import ThreePhaseMotor, at_slip, at_torque, line_phasors

pytestmark = pytest.mark.slow

MOTOR = ThreePhaseMotor(
    poles=4, frequency=50, R1=3.5, X1=4.4, R2=3.1, X2=5.9, Xm=112, Rc=2150, rated_emf=212, saturation=0.25,
    friction=0.05, windage=0.06, R_stray=0.8,
)  # fmt: skip
voltages = st.floats(360, 440)
lines = st.tuples(voltages, voltages, voltages)
slips = st.floats(-0.3, 1.2).filter(lambda slip: abs(slip) > 1e-6)


def test_six_pole_motor_at_two_per_cent_slip(as_printed):
    # A. E. Fitzgerald, C. Kingsley Jr. and S. D. Umans, Electric Machinery, ch. 6, ex. 6.2, p. 320, as
    # printed by its textbook companion (FOSSEE); 403 W of rotational loss taken off the shaft
    speed = 2 * math.pi * 60 / 3 * 0.98
    motor = ThreePhaseMotor(6, 60, R1=0.294, X1=0.503, R2=0.144, X2=0.209, Xm=13.25, friction=403 / speed)
    point = at_slip(motor, (220.0, 220.0, 220.0), 0.02)
    assert point.current == as_printed("18.8")
    assert point.power_factor == as_printed("0.846")
    assert point.shaft_power == as_printed("5221.6")
    assert point.torque == as_printed("42.4")


@given(lines, slips)
def test_no_watt_is_lost_or_made(supply, slip):
    point = at_slip(MOTOR, supply, slip)
    assert point.input_power == pytest.approx(point.shaft_power + point.losses, rel=1e-9, abs=1e-6)


@given(lines, slips)
def test_two_wattmeters_read_the_whole(supply, slip):
    point = at_slip(MOTOR, supply, slip)
    assert sum(point.wattmeters) == pytest.approx(point.input_power, rel=1e-9, abs=1e-6)


@given(slips)
def test_wattmeters_on_equal_lines_give_the_reactive_power(slip):
    # Q = sqrt(3) (W1 - W2) on a balanced supply; common practice, no source
    point = at_slip(MOTOR, (400.0, 400.0, 400.0), slip)
    reactive = math.sqrt(3) * (point.wattmeters[0] - point.wattmeters[1])
    apparent = math.sqrt(3) * 400 * point.current
    assert math.hypot(point.input_power, reactive) == pytest.approx(apparent, rel=1e-9)


@given(lines)
def test_line_voltages_close_a_triangle_of_the_given_sides(supply):
    phasors = line_phasors(supply)
    assert abs(sum(phasors)) < 1e-9
    assert [abs(one) for one in phasors] == pytest.approx(supply)


@given(st.floats(0.0, 20.0), voltages)
def test_running_point_gives_the_torque_asked_for(torque, voltage):
    point = at_torque(MOTOR, (voltage,) * 3, torque)
    assert point.torque == pytest.approx(torque, abs=1e-9)
    assert 0 < point.slip < 0.35


def test_more_than_breakdown_is_refused():
    with pytest.raises(ValueError, match="more than the motor pulls"):
        at_torque(MOTOR, (400.0,) * 3, 60.0)


def test_warm_windings_have_more_resistance():
    # IEC 60034-1, 8.6.2.3.3, constants 235 (copper) and 225 (aluminium), from memory
    warm, cold = MOTOR.at_temperature(85.0), MOTOR.at_temperature(20.0)
    stator, rotor = warm.R1 / cold.R1, warm.R2 / cold.R2
    assert stator == pytest.approx(320 / 255)
    assert rotor == pytest.approx(310 / 245)


def test_saturation_leaves_the_rated_voltage_alone_and_adds_current_above_it():
    # At the air-gap voltage where Xm is stated the saturated and the linear circuit are the same.
    # So small a stator impedance takes a ten-millionth of the voltage.
    linear = ThreePhaseMotor(4, 50, R1=1e-6, X1=1e-6, R2=3, X2=5, Xm=100, rated_emf=200.0)
    bent = ThreePhaseMotor(4, 50, R1=1e-6, X1=1e-6, R2=3, X2=5, Xm=100, rated_emf=200.0, saturation=0.25)

    def magnetizing(motor: ThreePhaseMotor, emf: float) -> float:
        return at_slip(motor, (emf * math.sqrt(3),) * 3, 1e-9).current

    assert magnetizing(bent, 200.0) == pytest.approx(magnetizing(linear, 200.0), rel=1e-6)
    assert magnetizing(bent, 220.0) == pytest.approx(2.2 * (0.75 + 0.25 * 1.1**6), rel=1e-6)
