from __future__ import annotations

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.job.model import Conditions
from certgen.job.rig import Tachometer
from certgen.reduction.reduce import reduce_test
from certgen.results import points as results_of
from certgen.results.points import budget_of, operating_points


@pytest.fixture(scope="module")
def reduction_and_job():
    torque = np.array([0.02, 2.0, 4.0, 6.0, 8.0, 9.0, 8.5, 6.0])
    speed = np.array([156.5, 154.0, 151.0, 147.0, 140.0, 125.0, 100.0, 60.0])
    job = make_job(conditions=Conditions(supply_frequency=50.0), poles=4, power=700.0)
    rig = make_rig(tachometer=Tachometer(tolerance=0.1))
    return reduce_test(job, rig, make_readings(speed=speed, torque=torque)), job


def test_points_carry_their_uncertainty_where_it_is_stated(reduction_and_job):
    """JCGM 100:2008, 4.3.7: a limit of 0.1 rad/s is 0.1 / sqrt(3), twice that at k = 2."""
    points = results_of.tested_points(reduction_and_job[0], make_rig())
    assert points[3].speed.expanded_uncertainty == pytest.approx(0.2 / 3**0.5, rel=1e-6)
    assert points[3].speed.coverage_factor == 2.0
    assert not points[3].speed.assumed or points[3].slip.assumed
    assert points[3].torque.assumed  # nothing is said of the sensor


def test_operating_points_and_budget(reduction_and_job):
    reduction, _ = reduction_and_job
    assert operating_points(reduction)["at_rated_current"] is None
    assert operating_points(reduction)["at_rated_power"].shaft_power.expanded_uncertainty is None
    lines = budget_of(reduction)
    assert {line.at for line in lines} <= {"at_rated_power"}
