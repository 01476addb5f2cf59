"""Accuracies assumed where nobody states them: the table is whole, and stands against the published where there is any."""

from __future__ import annotations

import math

import pytest

from certgen.standards.assumed_accuracy import assumed_accuracy, assumed_kinds, gravity_on_earth


def normal_gravity(latitude: float, height: float = 0.0) -> float:
    """WGS 84, closed formula of Somigliana on the ellipsoid, and the second-order correction for height. [m/s^2]

    National Imagery and Mapping Agency, TR8350.2, 3rd edition (2000), equations (4-1) and (4-3), from memory.
    """
    sine = math.sin(math.radians(latitude)) ** 2
    on_ellipsoid = 9.7803253359 * (1.0 + 0.00193185265241 * sine) / math.sqrt(1.0 - 0.00669437999014 * sine)
    a, f, m = 6378137.0, 1.0 / 298.257223563, 0.00344978650684
    return on_ellipsoid * (1.0 - 2.0 / a * (1.0 + f + m - 2.0 * f * sine) * height + 3.0 * height**2 / a**2)


@pytest.mark.parametrize("kind", assumed_kinds())
def test_every_kind_has_limits_a_reason_and_where_it_is_from(kind):
    found = assumed_accuracy(kind)
    limits = (found.reading, found.greatest, found.constant, found.step)
    assert all(limit >= 0.0 for limit in limits)
    assert found.reading + found.greatest + found.constant > 0.0
    assert found.reading + found.greatest <= 0.5
    assert found.reason.endswith(".")
    assert found.source
    assert found.degrees_of_freedom in (8.0, math.inf)


def test_a_limit_known_to_a_quarter_has_eight_degrees_of_freedom():
    """JCGM 100:2008, G.4.2: a relative uncertainty of 25 % of u gives 8."""
    assert assumed_accuracy("ammeter").degrees_of_freedom == pytest.approx(8.0)


def test_gravity_anywhere_lies_within_its_limits():
    """Normal gravity from the equator to the pole, 9.780 to 9.832 m/s^2, up to 4000 m of height at the equator."""
    low, high = gravity_on_earth()
    assert normal_gravity(0.0) == pytest.approx(9.7803, abs=5e-5)
    assert normal_gravity(90.0) == pytest.approx(9.8322, abs=5e-5)
    assert low < normal_gravity(0.0, 4000.0) < normal_gravity(90.0) < high
    assert assumed_accuracy("local_gravity").constant == pytest.approx(0.5 * (high - low))


def test_the_public_grid_keeps_to_one_per_cent():
    """EN 50160 (from memory): 50 Hz within 1 % for 99.5 % of a year."""
    assert assumed_accuracy("public_grid").limit(50.0, 0.0) == pytest.approx(0.5)


def test_supplies_are_in_order():
    parts = [assumed_accuracy(kind).reading for kind in ("public_grid", "converter", "generator")]
    assert parts == sorted(parts)


def test_the_parts_of_a_limit_add_up():
    """JCGM 100:2008, 4.3.7, example 2; by hand: 3 % of 2 A and 1 % of 5 A."""
    assert assumed_accuracy("ammeter").limit(2.0, 5.0) == pytest.approx(0.06 + 0.05)


def test_a_class_of_panel_meters_lies_within():
    """IEC 60051-1: class 2.5 may be off by 2.5 % of full scale; at full scale the assumed limit is that."""
    assert assumed_accuracy("voltmeter").limit(250.0, 250.0) == pytest.approx(0.025 * 250.0)


def test_an_unknown_kind_is_a_mistake_of_the_program():
    with pytest.raises(KeyError):
        assumed_accuracy("crystal ball")
