"""Listed horsepower against the pairs of 10 CFR 431.25 and 431.446."""

from __future__ import annotations

import pytest

from certgen.physics.induction import HORSEPOWER
from certgen.standards.ratings import horsepower_of, listed_horsepower, listed_ratings

#: 10 CFR 431.25, Table 5, and 431.446(a): motor horsepower and standard kilowatt equivalent.
PAIRS = [
    ("1/4", 0.18), ("1/3", 0.25), ("1/2", 0.37), ("3/4", 0.55), ("1", 0.75), ("1.5", 1.1), ("2", 1.5), ("3", 2.2),
    ("5", 3.7), ("7.5", 5.5), ("10", 7.5), ("15", 11), ("20", 15), ("25", 18.5), ("30", 22), ("40", 30), ("50", 37),
    ("60", 45), ("75", 55), ("100", 75), ("125", 90), ("150", 110), ("200", 150),
]  # fmt: skip


@pytest.mark.parametrize(("label", "kilowatts"), PAIRS)
def test_kilowatts_and_horsepower_meet(label, kilowatts):
    assert listed_horsepower(1000.0 * kilowatts) == label
    assert listed_horsepower(horsepower_of(label) * HORSEPOWER) == label
    assert listed_horsepower(horsepower_of(label) * 746.0) == label


@pytest.mark.parametrize("power", [1300.0, 3000.0, 4000.0, 50.0, 1e6])
def test_a_power_between_stands_for_none(power):
    """3 kW and 4 kW are ratings of IEC 60072-1 that no horsepower stands for."""
    assert listed_horsepower(power) is None


def test_no_power_stands_for_two_ratings():
    for powers in listed_ratings().values():
        for power in powers:
            found = [
                label for label, others in listed_ratings().items() if any(abs(power / o - 1) <= 0.01 for o in others)
            ]
            assert len(found) == 1
