"""What stands at the end of what an instrument shows states no figure. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from simulated_logs import faults, reduced, run, weighed

from certgen.document.build import Dimensioned
from certgen.job.rig import Ammeter, Meters, RigLimits, TorqueMeter
from certgen.reduction.reduce import reduce_test


def loads(found):
    return [round(plateau.means["scale"].value) for plateau in found.plateaus]


@pytest.mark.parametrize("span", [9.98, 50.0])
@pytest.mark.parametrize("often", [0.05, 0.6])
def test_a_scale_that_says_overload_is_above_its_span(often, span):
    """The words came in as infinity; the samples between them would give too small a mean."""
    for seed in range(3):
        log = run(seed)
        random = np.random.default_rng(seed)
        heaviest = log.between(*log.truth[-1][:2])
        over = np.zeros(log.time.size, dtype=bool)
        over[heaviest] = random.random(log.torque[heaviest].size) < often
        log.torque = np.where(over, np.inf, np.minimum(log.torque, 9.9))
        found = weighed(log, span)
        assert loads(found) == [2, 4, 6, 8]
        assert set(faults(found)) == {"FULL_SPAN"}
        assert found.reached_span


def test_a_single_overload_is_one_sample_left_out():
    log = run(1)
    log.torque[log.at(30.0)] = np.inf
    found = weighed(log, 50.0)
    assert loads(found) == [2, 4, 6, 8, 10]
    assert faults(found) == {"FULL_SPAN": 1}


@pytest.mark.parametrize("clipped", [0.1, 0.9])
def test_a_current_that_stood_at_the_ammeters_full_scale_has_no_mean(clipped):
    log = run(1)
    current = 1.0 + 0.2 * log.torque + np.random.default_rng(1).normal(0.0, 0.02, log.time.size)
    full_scale = float(np.quantile(current[log.between(*log.truth[-1][:2])], 1.0 - clipped))
    log.more = {"current": np.minimum(current, full_scale)}
    found = reduced(log, rig=make_rig(meters=Meters(current=Ammeter(full_scale=full_scale))))
    assert len(found.plateaus) == 5
    shown = found.readings.load_test.column("current")
    assert np.isnan(shown).tolist() == [False] * 4 + [True]
    assert found.plateaus[-1].at_full_scale == ("current",)


def test_a_current_beyond_a_stated_full_scale_is_one_that_the_meter_shows():
    log = run(1)
    log.more = {"current": 1.0 + 0.2 * log.torque}
    found = reduced(log, rig=make_rig(meters=Meters(current=Ammeter(full_scale=2.9))))
    assert np.isfinite(found.readings.load_test.column("current")).all()


SPEED = np.array([157.0, 150.0, 140.0, 125.0, 110.0, 90.0, 60.0, 20.0, 5.0])
TORQUE = np.array([0.5, 9.0, 16.0, 21.0, 22.0, 20.5, 18.0, 17.0, 17.5])


def typed(kind, column, span, **rig):
    """Rows of a motor with a breakdown torque of 22 N*m, read on something that ends at a span."""
    shown = np.minimum(TORQUE, span) / (1.0 if column == "torque" else 0.5 * 9.81)
    readings = make_readings(speed=SPEED, **{column: shown}, current=1.0 + 0.2 * TORQUE)
    job = make_job(power=1500.0, frequency=50.0, poles=4)
    job = replace(job, conditions=replace(job.conditions, local_gravity=None))
    return reduce_test(job, make_rig(kind, **rig), readings)


def test_typed_rows_at_the_end_of_a_torque_sensor_state_no_breakdown_torque():
    """The case that passed: 20.03 N*m from a sensor that ends at 20, where the truth is 22."""
    whole = typed("torque sensor", "torque", 25.0, meters=Meters(torque=TorqueMeter(full_scale=25.0)))
    assert whole.extremes.breakdown.torque == pytest.approx(22.0, rel=0.01)
    cut = typed("torque sensor", "torque", 20.0, meters=Meters(torque=TorqueMeter(full_scale=20.0)))
    assert cut.extremes.breakdown is None
    assert np.flatnonzero(cut.load_at_span).tolist() == [3, 4, 5]


def test_typed_rows_at_the_end_of_a_scale_state_no_breakdown_torque():
    span = 20.0 / (0.5 * 9.81)
    limits = RigLimits(scale=Dimensioned(span, "mass"))
    assert typed("arm", "scale", 20.0, limits=limits).extremes.breakdown is None
    assert typed("arm", "scale", 19.0, limits=limits).extremes.breakdown is not None


def test_a_typed_current_at_full_scale_is_not_used():
    meters = Meters(current=Ammeter(full_scale=float(1.0 + 0.2 * TORQUE.max())))
    found = typed("torque sensor", "torque", 25.0, meters=meters)
    assert found.at_full_scale == (("current", 4),)
    assert np.flatnonzero(np.isnan(found.points.current)).tolist() == [4]
