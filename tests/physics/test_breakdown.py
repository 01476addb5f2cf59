"""The summit of torque over slip against circuits with the textbook's closed form, and a parabola's by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from mesh_circuit import MeshCircuit

from certgen.physics.breakdown import scatter_of_circuit, summit_by_circuit, summit_by_parabola


def test_four_points_of_fitzgerald_example_6_3_give_its_breakdown_torque():
    """Fitzgerald, Kingsley, Umans, Electric Machinery, ex. 6.3, p. 325: 175 N*m at slip 0.192, from far fewer points."""
    motor = MeshCircuit(0.294, 0.503, 0.144, 0.209, 13.25, 6, 60.0)
    slip = np.array([0.08, 0.13, 0.27, 0.4])
    torque, at = summit_by_circuit(slip, motor.at(220 / math.sqrt(3.0), slip).torque)
    assert torque == pytest.approx(175, abs=0.5)
    assert at == pytest.approx(0.192, abs=0.0005)


def test_bird_example_22_10_from_three_points():
    """J. Bird, Electrical Circuit Theory and Technology, ex. 22.10, p. 398: 113.17 N*m at slip 0.1."""
    motor = MeshCircuit(0, 0, 0.35 / 0.85**2, 3.5 / 0.85**2, 1e7, 4, 50.0)
    slip = np.array([0.05, 0.12, 0.5])
    torque, at = summit_by_circuit(slip, motor.at(415 / math.sqrt(3.0), slip).torque)
    assert torque == pytest.approx(113.17, abs=0.005)
    assert at == pytest.approx(0.1, abs=0.00005)


@given(summit=st.floats(0.05, 0.6), torque=st.floats(1.0, 1000.0), ratio=st.floats(0.0, 2.0))
def test_any_three_points_of_a_circuit_give_its_summit(summit, torque, ratio):
    """The formula of Kloss with stator resistance: T/Tb = 2 (1 + a sb)/(s/sb + sb/s + 2 a sb), a = R1/R2'."""
    slip = summit * np.array([0.6, 1.1, 1.9])
    read = torque * 2 * (1 + ratio * summit) / (slip / summit + summit / slip + 2 * ratio * summit)
    found, at = summit_by_circuit(slip, read)
    assert found == pytest.approx(torque, rel=1e-6)
    assert at == pytest.approx(summit, rel=1e-6)


def test_readings_without_a_summit_have_none():
    torque, at = summit_by_circuit(np.array([0.01, 0.02, 0.03]), np.array([10.0, 25.0, 60.0]))
    assert math.isnan(torque)
    assert math.isnan(at)
    assert summit_by_parabola(np.array([1.0, 2.0, 3.0]), np.array([5.0, 2.0, 4.0])) is None


def test_the_summit_of_a_parabola_is_that_of_its_vertex():
    speed = np.array([100.0, 110.0, 125.0, 140.0])
    found = summit_by_parabola(speed, 50.0 - 0.02 * (speed - 118.0) ** 2)
    assert (found.torque, found.speed) == pytest.approx((50.0, 118.0))
    assert (found.torque_scatter, found.speed_scatter) == pytest.approx((0.0, 0.0), abs=1e-5)


def test_scatter_carried_to_the_summit_is_that_of_repeated_tests():
    """The standard deviation of 4000 summits of readings with 0.5 % of scatter."""
    slip = np.linspace(0.1, 0.35, 9)
    exact = 50.0 * 2.0 / (slip / 0.2 + 0.2 / slip)
    read = exact + 0.25 * np.random.default_rng(3).standard_normal((4000, 9))
    torque, at = summit_by_circuit(np.broadcast_to(slip, read.shape), read)
    carried = np.array([scatter_of_circuit(slip, row) for row in read])
    assert np.sqrt(np.mean(carried[:, 0] ** 2)) == pytest.approx(torque.std(), rel=0.06)
    assert np.sqrt(np.mean(carried[:, 1] ** 2)) == pytest.approx(at.std(), rel=0.06)
    assert scatter_of_circuit(slip[:3], exact[:3]) == (0.0, 0.0)
