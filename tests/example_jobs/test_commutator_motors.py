"""Commutator motors against a worked example, their no-load and standstill ends, and the balance of power."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_bench.commutator_motors import PermanentMagnetMotor, UniversalMotor

UNIVERSAL = UniversalMotor(
    R=52, X=58, mutual=0.22, saturation_current=2.2, brush_drop=2.5, friction=0.010, windage=1.6e-8, iron=0.01
)
MAGNET = PermanentMagnetMotor(R=7.6, k=0.92, brush_drop=1.8, friction=0.11, drag_slope=3.5e-4)


def test_universal_motor_at_8000_rpm(as_printed):
    # B. S. Guru and H. R. Hiziroglu, Electric Machinery and Transformers, ch. 10, ex. 10.5, p. 606, as
    # printed by its textbook companion (FOSSEE): 120 V, 17.58 A, 74.1 V of rotation, 80 W of rotational loss
    speed = 8000 * math.pi / 30
    motor = UniversalMotor(
        R=0.65 + 1.36, X=1.2 + 1.6, mutual=74.1 / 17.58 / speed, saturation_current=math.inf, brush_drop=0.0,
        friction=80 / speed, windage=0.0, iron=0.0,
    )  # fmt: skip
    point = motor.at_current(120, 17.58)
    assert point.power_factor == as_printed("0.912")
    # The speed follows from the voltage of rotation, which is printed with three digits.
    assert point.speed * 30 / math.pi == pytest.approx(8000, rel=0.05 / 74.1)
    assert point.torque == as_printed("1.46")
    # The companion rounds the voltage of rotation to 74.1 V before it goes on.
    assert point.shaft_power == pytest.approx(1222.75, rel=0.05 / 74.1)
    assert 100 * point.efficiency == as_printed("63.6")


@given(st.floats(200, 250), st.floats(0.5, 1.8))
def test_universal_motor_loses_and_makes_no_watt(voltage, current):
    point = UNIVERSAL.at_current(voltage, current)
    assert point.input_power == pytest.approx(point.shaft_power + point.losses, rel=1e-9, abs=1e-9)


@given(st.floats(0.0, 0.35))
def test_universal_motor_gives_the_torque_asked_for(torque):
    assert UNIVERSAL.at_torque(230, torque).torque == pytest.approx(torque, abs=1e-9)


def test_more_current_than_standstill_is_refused():
    with pytest.raises(ValueError, match="takes at standstill"):
        UNIVERSAL.at_current(230, 3.5)


@given(st.floats(100, 200), st.floats(0.0, 3.0))
def test_magnet_motor_gives_the_torque_asked_for_and_loses_no_watt(voltage, torque):
    point = MAGNET.at_torque(voltage, torque)
    assert point.torque == pytest.approx(torque, abs=1e-9)
    assert point.input_power == pytest.approx(point.shaft_power + point.losses, rel=1e-9, abs=1e-9)
    assert voltage == pytest.approx(point.current * MAGNET.R + MAGNET.brush_drop + MAGNET.k * point.speed)


def test_warm_magnets_turn_faster_without_load():
    assert MAGNET.at_temperature(80).at_torque(180, 0.0).speed > MAGNET.at_torque(180, 0.0).speed
