"""The logged example: its plateaus are the loads that were held, its faults those that were put in."""

from __future__ import annotations

import pytest
from simulated_bench.jobs import logged
from simulated_bench.simulated_job import EXAMPLES

from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def results():
    return assess_job(EXAMPLES / logged.NAME / "job.yaml").results


def test_each_load_that_could_be_weighed_is_a_point(results):
    truth = logged.make().truth
    assert (
        len(results.points) == len(truth) == len(logged.LOADS)
    )  # the heaviest was beyond the cell, the brake was off last
    for point, true in zip(results.points, truth, strict=True):
        # The makers' limits of the instruments: 0.15 % of gain each, and the bearings of the cradle.
        assert point.torque.value == pytest.approx(true.torque, rel=0.006, abs=0.006)
        assert point.speed.value == pytest.approx(true.speed, rel=0.001)
        assert point.input_power.value == pytest.approx(true.input_power, rel=0.005, abs=0.5)


def test_a_plateau_lies_within_the_time_its_load_was_held(results):
    for number, plateau in enumerate(results.log.plateaus, start=1):
        begin = number * (logged.HELD + logged.CHANGE)
        assert begin + logged.CHANGE - 0.5 <= plateau.from_ <= plateau.to <= begin + logged.CHANGE + logged.HELD + 0.5


def test_what_went_wrong_is_told_and_nothing_else(results):
    faults = {}
    for one in results.log.left_out:
        if one.fault:
            faults[str(one.reason)] = faults.get(str(one.reason), 0) + one.count
    assert faults == {
        "scale or sensor at the end of its span": pytest.approx(logged.HELD / logged.INTERVAL, rel=0.4),
        "speed halved, pulse missed": len(logged.MISSES),
        "the load came off the motor": pytest.approx((logged.SLIPS[1] - logged.SLIPS[0]) / logged.INTERVAL, abs=1),
        "signal dropped out": 6,
    }


def test_the_cautions_say_so(results):
    assert {"load_lost", "scale_full_span", "faulty_samples"} <= {one.id for one in results.cautions}
