from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.mechanics import speed_regulation


@pytest.mark.parametrize(
    ("no_load", "loaded", "percent"),
    [
        (1137, 1100, 3.4),  # I. L. Kosow, Electric Machinery and Transformers, 2nd ed., example 12-8, page 420
        (1316, 1200, 9.7),  # the same book, example 12-9, page 421
    ],
)
def test_shunt_motors_of_the_book(no_load, loaded, percent):
    assert 100 * speed_regulation(no_load, loaded) == pytest.approx(percent, abs=0.05)


@given(st.floats(1.0, 2000.0), st.floats(0.0, 3.0))
def test_it_is_the_rise_in_parts_of_the_loaded_speed(loaded, rise):
    assert speed_regulation(loaded * (1 + rise), loaded) == pytest.approx(rise, abs=1e-12)


def test_a_motor_at_rest_has_none():
    with pytest.raises(ValueError, match="loaded speed"):
        speed_regulation(100.0, 0.0)
