"""A log that was really taken: a power meter on a motor whose load was changed while it warmed up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import yaml
from simulated_logs import Log, faults, reduced

TABLE = yaml.safe_load((Path(__file__).parent / "power_log.yaml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def found():
    """The load is the power here; speed was not logged and stands still."""
    power = np.concatenate([np.array(row) for row in TABLE["power"]])
    current = np.concatenate([np.array(row) for row in TABLE["current"]])
    time = TABLE["interval"] * np.arange(power.size, dtype=float)
    return reduced(Log(time, np.full(power.size, 150.0), power, [], {"current": current}))


def test_it_raises_no_alarm(found):
    assert faults(found) == {}


def test_the_change_of_load_parts_two_plateaus(found):
    """As the columns stand: running up until 39 s; at 627 s 155.7 W, at 636 s 163.7 W."""
    assert found.plateaus[0].start > 39.0
    assert any(one.end <= 627.0 for one in found.plateaus)
    assert not any(one.start < 630.0 < one.end for one in found.plateaus)
    assert sum(one.start > 630.0 for one in found.plateaus) == 1


def test_each_plateau_stays_within_the_band(found):
    power = np.concatenate([np.array(row) for row in TABLE["power"]])
    for one in found.plateaus:
        inside = power[round(one.start / 3.0) : round(one.end / 3.0) + 1]
        assert np.abs(inside / np.median(inside) - 1.0).max() < 0.021
    assert sum(one.used for one in found.plateaus) > 0.85 * (power.size - 13)


def test_the_drift_of_a_warming_motor_is_no_scatter(found):
    """Within a load the power falls by some watts; about a line through it the meter scatters by a fraction of one."""
    for plateau in (one for one in found.plateaus if one.used > 20):
        assert plateau.means["torque"].standard_deviation < 0.9
        assert plateau.means["torque"].effective_number < 0.5 * plateau.used  # what is left still wanders
