"""Nominal efficiencies at 60 Hz: spot values of the regulations, and the midpoint rule."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.induction import HORSEPOWER
from certgen.standards.efficiency import polyphase_level, small_motor_level, supported_nominal


@pytest.mark.parametrize(
    ("level", "horsepower", "poles", "enclosure", "percent"),
    [
        # 10 CFR 431.25, Table 1 (self-law.org)
        ("premium", 1, 2, "enclosed", 77.0), ("premium", 5, 4, "enclosed", 89.5), ("premium", 10, 4, "open", 91.7),
        ("premium", 75, 4, "enclosed", 95.4), ("premium", 75, 4, "open", 95.0), ("premium", 200, 6, "open", 95.4),
        ("premium", 1.5, 8, "open", 77.0),  # 78 FR 73589, correction; 77.5 in WAC 51-11C-40508 is no step of the series
        # 42 USC 6313(b)(1)
        ("energy_efficient", 1, 4, "open", 82.5), ("energy_efficient", 20, 4, "enclosed", 91.0),
        ("energy_efficient", 200, 2, "open", 94.5),
    ],
)  # fmt: skip
def test_levels_as_printed(level, horsepower, poles, enclosure, percent):
    found = polyphase_level(level, horsepower * HORSEPOWER, poles, enclosure)
    assert 100 * found.efficiency == pytest.approx(percent)


@pytest.mark.parametrize(
    ("kind", "horsepower", "poles", "percent"),
    [
        # 10 CFR 431.446(a) (codes.findlaw.com)
        ("polyphase", 0.25, 6, 67.5), ("polyphase", 1.0, 4, 83.5), ("polyphase", 3.0, 2, 85.5),
        ("capacitor_start", 0.5, 4, 76.2), ("capacitor_start", 0.75, 6, 80.2), ("capacitor_start", 3.0, 2, 84.1),
    ],
)  # fmt: skip
def test_small_motors_as_printed(kind, horsepower, poles, percent):
    assert 100 * small_motor_level(kind, horsepower * HORSEPOWER, poles).efficiency == pytest.approx(percent)


def test_midpoint_of_ratings_in_horsepower_of_746_watts():
    """10 CFR 431.25: at or above the midpoint between two ratings the higher one; 4 hp lies between 3 and 5."""
    assert polyphase_level("premium", 4.0 * 746, 2, "enclosed").horsepower == "5"
    assert polyphase_level("premium", 3.99 * 746, 2, "enclosed").horsepower == "3"
    assert small_motor_level("polyphase", 2.49 * 746, 2).horsepower == "2"


def test_no_level_outside_the_tables():
    assert polyphase_level("premium", 500.0, 4, "open") is None
    assert polyphase_level("premium", 5 * 746, 10, "open") is None
    assert polyphase_level("energy_efficient", 746.0, 2, "open") is None
    assert polyphase_level("premium", 520 * 746, 4, "open") is None
    assert small_motor_level("capacitor_start", 2 * 746, 6) is None


def test_cells_from_memory_say_so():
    assert str(polyphase_level("premium", 250 * 746, 4, "open").source).endswith("from memory")
    # 96.2 % from 250 to 500 hp: motors of ASHRAE 90.1-2019, 4 poles enclosed (NREL/openstudio-standards)
    assert polyphase_level("premium", 250 * 746, 4, "enclosed").status == "thin"
    assert polyphase_level("premium", 200 * 746, 4, "enclosed").status == "confirmed"
    assert str(polyphase_level("premium", 40 * 746, 8, "open").source).endswith("from memory")
    assert not str(polyphase_level("premium", 40 * 746, 6, "open").source).endswith("from memory")


@pytest.mark.parametrize(
    ("measured", "nominal"), [(0.825, 0.855), (0.8249, 0.84), (0.988, 0.99), (0.46, 0.505), (0.459, None)]
)
def test_nominal_by_its_paired_minimum(measured, nominal):
    """NEMA MG 1, 12.58.2, from memory: 85.5 is paired with 82.5, 84.0 with 81.5, 99.0 with 98.8, 50.5 with 46.0."""
    assert supported_nominal(measured) == (None if nominal is None else pytest.approx(nominal))


@given(st.floats(0.3, 0.999), st.floats(0.3, 0.999))
def test_a_higher_efficiency_never_supports_a_lower_nominal(one, other):
    low, high = (supported_nominal(value) or 0.0 for value in sorted((one, other)))
    assert low <= high
