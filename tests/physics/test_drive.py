"""A drive walked both ways gives the torque again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.mechanics import absorber_torque_through_drive, motor_torque_through_drive


@given(st.floats(0.01, 1e3), st.floats(0.1, 20.0), st.floats(0.1, 1.0))
def test_there_and_back(torque, ratio, efficiency):
    at_absorber = absorber_torque_through_drive(torque, ratio, efficiency)
    assert motor_torque_through_drive(at_absorber, ratio, efficiency) == pytest.approx(torque, rel=1e-12)


def test_a_reduction_multiplies_torque():
    """By definition of ratio and efficiency: 2 to 1 without loss doubles, half the power lost halves."""
    assert absorber_torque_through_drive(3.0, 2.0, 1.0) == 6.0
    assert absorber_torque_through_drive(3.0, 1.0, 0.5) == 1.5


@pytest.mark.parametrize(("ratio", "efficiency", "said"), [(0.0, 0.9, "drive ratio"), (1.0, 1.1, "drive efficiency")])
def test_impossible_parameters(ratio, efficiency, said):
    with pytest.raises(ValueError, match=said):
        absorber_torque_through_drive(1.0, ratio, efficiency)
