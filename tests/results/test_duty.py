from __future__ import annotations

import pytest

from certgen.results.heat import duty_of


@pytest.mark.parametrize("written", [None, "S1", "s1", "S 1", "CONT", "Cont.", "continuous", "S1 100 %"])
def test_continuous(written):
    assert duty_of(written).continuous


@pytest.mark.parametrize(
    ("written", "minutes"), [("S2 10 min", 10), ("S2-30min", 30), ("60 MIN", 60), ("S2 90 MINUTES", 90)]
)
def test_short_time(written, minutes):
    """IEC 60034-1, 4.2, from memory; NEMA plates give the time alone."""
    duty = duty_of(written)
    assert (duty.continuous, duty.running_time) == (False, 60.0 * minutes)


@pytest.mark.parametrize("written", ["S3 40 %", "S6", "INT", "S2", "0 min", "S10"])
def test_other_duties_are_not_judged(written):
    duty = duty_of(written)
    assert (duty.continuous, duty.running_time) == (False, None)
