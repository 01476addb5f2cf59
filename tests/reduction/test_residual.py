from __future__ import annotations

import numpy as np
import pytest
from loss_bench import LOADS, LossBench

from certgen.reduction.loss_procedure import correction_of, regress, separate
from certgen.reduction.model import TooFewReadings
from certgen.reduction.winding import winding_of_test
from certgen.standards.procedures import procedure_of

pytestmark = pytest.mark.slow

IEC = procedure_of("iec-60034-2-1")


def separated(bench):
    job, readings, reduction = bench.test()
    winding = winding_of_test(job, readings, reduction.points.torque, hot=None, constant=IEC.copper_constant)
    return separate(job, readings, reduction.points, winding=winding, procedure=IEC), reduction


def regressed(bench):
    parts, reduction = separated(bench)
    return regress(parts, reduction, rated_power=bench.motor.power, correction=0.0)


@pytest.mark.parametrize("drag", [0.0, 0.2, 0.8])
def test_drag_that_the_scale_does_not_see_comes_back(drag):
    """Taken off the reading by the bench, and recovered from the run with the brake off and the no-load test.

    0.003 N*m is half a watt: core loss falls a little as the drag draws current, which the formula leaves out.
    """
    parts, reduction = separated(LossBench(hidden_drag=drag, brake_off_row=True))
    assert correction_of(parts, reduction.brake_current, 5500.0) == pytest.approx(drag, abs=0.003)


def test_without_a_run_with_the_brake_off_there_is_no_correction():
    parts, reduction = separated(LossBench())
    assert correction_of(parts, reduction.brake_current, 5500.0) is None


def test_a_load_with_no_brake_current_is_no_run_with_the_brake_off():
    """Above 15 % of rated power (IEEE Std 112, from memory) the brake is not idle, whatever its ammeter shows."""
    parts, _ = separated(LossBench())
    assert correction_of(parts, np.zeros(6), 5500.0) is None


@pytest.mark.parametrize(
    ("loads", "usable", "above"),
    [
        (LOADS[:5], 5, 2),
        ((1.0, 0.9, 0.75, 0.6, 0.5, 0.25), 6, 0),
        ((1.5, 1.4, 1.25, 1.15, 1.0, 0.5), 6, 4),
        ((1.7, 1.25, 1.15, 1.0, 0.5, 0.1), 4, 2),
    ],
)
def test_loads_that_do_not_make_a_regression(loads, usable, above):
    """Six points, four from 25 % up to rated load and two above it, to 150 % (IEC 60034-2-1, from memory)."""
    bench = LossBench(loads=loads, temperatures=(368.15,) * len(loads))
    with pytest.raises(
        TooFewReadings, match=f"{usable} usable load points from 25 % to 150 % of rated load, {above} of"
    ):
        regressed(bench)


def test_loads_near_the_wanted_ones_count():
    found = regressed(LossBench(loads=(1.22, 1.12, 1.03, 0.77, 0.49, 0.23)))
    assert found.rows.tolist() == [0, 1, 2, 3, 4, 5]
    assert found.rated_torque == pytest.approx(5500.0 / 150.3, rel=0.01)


def test_loads_taken_both_ways_use_the_downward_branch():
    loads = (0.25, 0.5, 0.75, 1.0, 1.15, 1.25, 1.15, 1.0, 0.75, 0.5, 0.25)
    found = regressed(LossBench(loads=loads, temperatures=(368.15,) * 11))
    assert found.rows.tolist() == [5, 6, 7, 8, 9, 10]
