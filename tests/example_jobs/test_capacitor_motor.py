"""The single-phase circuit against worked examples and the balance of power."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_bench.capacitor_motor import CapacitorStartMotor, at_torque, running, starting

MOTOR = CapacitorStartMotor(
    poles=4, frequency=60, R_main=1.0, X_main=1.8, R_rotor=1.42, X_rotor=1.4, X_magnetizing=38, core_loss=36,
    rated_voltage=115, friction_windage=16, R_aux=4.4, X_aux=2.7, X_capacitor=7.5, R_capacitor=0.9,
    turns_ratio=1.25,
)  # fmt: skip


def motor_of_a_book(rotational_loss: float, slip: float, **main: float) -> CapacitorStartMotor:
    """A motor without auxiliary winding whose core loss the book takes off the shaft with friction."""
    return CapacitorStartMotor(
        poles=4, frequency=60, core_loss=0, rated_voltage=115, R_aux=1, X_aux=1, X_capacitor=1, R_capacitor=0,
        turns_ratio=1, friction_windage=rotational_loss / (1 - slip) ** 2, **main,
    )  # fmt: skip


def test_shaft_torque_and_efficiency_at_1710_rpm(as_printed):
    # B. S. Guru and H. R. Hiziroglu, Electric Machinery and Transformers, ch. 10, ex. 10.2, p. 576, as
    # printed by its textbook companion (FOSSEE); core loss 25 W, friction and windage 2 W
    motor = motor_of_a_book(27, 0.05, R_main=2.5, X_main=1.25, R_rotor=3.75, X_rotor=1.25, X_magnetizing=65)
    point = running(motor, 120, 0.05)
    assert point.torque == as_printed("1.295")
    assert 100 * point.efficiency == as_printed("65.86")


def test_quarter_horsepower_motor_at_five_per_cent_slip(as_printed):
    # A. E. Fitzgerald, C. Kingsley Jr. and S. D. Umans, Electric Machinery, ch. 9, ex. 9.2, p. 467, as
    # printed by its textbook companion (FOSSEE); core loss 24 W, friction and windage 13 W
    circuit = {"R_main": 2.02, "X_main": 2.79, "R_rotor": 4.12, "X_rotor": 2.12, "X_magnetizing": 66.8}
    motor = motor_of_a_book(37, 0.05, **circuit)
    point = running(motor, 110, 0.05)
    assert point.power_factor == as_printed("0.621")
    assert point.shaft_power == as_printed("147")
    assert point.torque == as_printed("0.823")
    assert 100 * point.efficiency == as_printed("60")


@given(st.floats(80, 140), st.floats(0.001, 1.0), st.booleans())
def test_no_watt_is_lost_or_made(voltage, slip, with_start_winding):
    solve = starting if with_start_winding else running
    point = solve(MOTOR, voltage, slip)
    assert point.input_power == pytest.approx(point.shaft_power + point.losses, rel=1e-9, abs=1e-6)


def test_one_winding_does_not_start_and_two_do():
    assert running(MOTOR, 115, 1.0).torque == pytest.approx(0.0, abs=1e-12)
    assert starting(MOTOR, 115).torque > 3.0


@given(st.floats(0.05, 3.0))
def test_running_point_gives_the_torque_asked_for(torque):
    assert at_torque(MOTOR, 115, torque).torque == pytest.approx(torque, abs=1e-9)


def test_more_than_breakdown_is_refused():
    with pytest.raises(ValueError, match="more than the motor pulls"):
        at_torque(MOTOR, 115, 9.0)
