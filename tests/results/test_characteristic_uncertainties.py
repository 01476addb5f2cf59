from __future__ import annotations

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.job.model import Conditions
from certgen.job.rig import Tachometer
from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import characteristic_of, with_uncertainties


@pytest.fixture(scope="module")
def reduction_and_job():
    torque = np.array([0.02, 2.0, 4.0, 6.0, 8.0, 9.0, 8.5, 6.0])
    speed = np.array([156.5, 154.0, 151.0, 147.0, 140.0, 125.0, 100.0, 60.0])
    job = make_job(conditions=Conditions(supply_frequency=50.0), poles=4, power=700.0)
    rig = make_rig(tachometer=Tachometer(tolerance=0.1))
    return reduce_test(job, rig, make_readings(speed=speed, torque=torque)), job


def test_figures_of_the_machine_take_the_uncertainty_of_their_load_point(reduction_and_job):
    reduction, job = reduction_and_job
    plain = characteristic_of(job, reduction)
    sure = with_uncertainties(plain, job, reduction)
    assert plain.no_load_speed.expanded_uncertainty is None
    assert sure.no_load_speed.expanded_uncertainty == pytest.approx(0.2 / 3**0.5, rel=1e-6)
    assert sure.breakdown_speed.expanded_uncertainty > 2.0  # the points beside it are 15 and 25 rad/s away
    assert sure.breakdown_torque.assumed  # nothing is said of the sensor
    assert sure.breakdown_torque.expanded_uncertainty > 0.0
    assert sure.breakdown_torque.value == plain.breakdown_torque.value
