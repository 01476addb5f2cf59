"""Rim speed and centripetal force against a textbook's worked examples."""

from __future__ import annotations

import math

import numpy as np
import pytest

from certgen.physics.mechanics import STANDARD_GRAVITY, centripetal_force, rim_speed

RPM = 2.0 * math.pi / 60.0


@pytest.mark.parametrize(("speed", "radius"), [(50.0, 0.300), (12.5, 1.2)])
def test_rim_speed_of_a_tyre(speed, radius):
    """OpenStax, College Physics, example 6.1: at 15.0 m/s tyres of 0.300 m and 1.20 m turn at 50.0 and 12.5 rad/s."""
    assert rim_speed(speed, radius) == pytest.approx(15.0, abs=0.05)


def test_pull_in_an_ultracentrifuge():
    """The same, example 6.3: 7.50 cm at 7.50e4 rpm, acceleration 4.63e6 m/s^2 or 4.72e5 times gravity (9.80)."""
    force = centripetal_force(1.0, 7.50e4 * RPM, 0.0750)
    assert force == pytest.approx(4.63e6, abs=0.005e6)
    assert force / 9.80 == pytest.approx(4.72e5, abs=0.005e5)


def test_a_magnet_of_one_gram_is_not_light_at_speed():
    """By the formula: 1 g at 20 mm and 20 000 rpm pulls with 87.7 N, the weight of 9 kg."""
    pull = centripetal_force(0.001, 20000.0 * RPM, 0.020)
    assert pull == pytest.approx(0.001 * (20000.0 * math.tau / 60.0) ** 2 * 0.020)
    assert pull / STANDARD_GRAVITY == pytest.approx(8.95, abs=0.005)


def test_arrays_equal_numbers_and_rest_pulls_nothing():
    speeds = np.array([0.0, 10.0, 20.0])
    assert list(centripetal_force(2.0, speeds, 0.5)) == [centripetal_force(2.0, one, 0.5) for one in (0.0, 10.0, 20.0)]
    assert list(rim_speed(speeds, 0.5)) == [0.0, 5.0, 10.0]


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: rim_speed(1.0, 0.0), "radius must be above 0"),
        (lambda: centripetal_force(1.0, 1.0, -1.0), "radius must be above 0"),
        (lambda: centripetal_force(-1.0, 1.0, 1.0), "mass must not be below 0"),
    ],
)
def test_impossible_parameters(call, said):
    with pytest.raises(ValueError, match=said):
        call()
