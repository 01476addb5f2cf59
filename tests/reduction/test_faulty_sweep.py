"""What goes wrong in a sweep or a run-down moves no figure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_rig
from sweep_bench import Swept, sweep_job

from certgen.document.build import Toleranced
from certgen.job.rig import Meters, TorqueMeter
from certgen.physics.run_down import CoastingRun, fit_run_down
from certgen.reduction.reduce import reduce_test
from certgen.reduction.sweep import points_of_sweep

BENCH = Swept()


def swept(change=None, **rig):
    """The points of a sweep whose torques were changed."""
    readings = BENCH.readings(1)
    table = readings.load_test
    torque = table.column("torque").copy()
    if change is not None:
        torque = change(table.column("time"), torque)
    readings = replace(readings, load_test=replace(table, columns={**table.columns, "torque": torque}))
    bench = make_rig(inertia=Toleranced(BENCH.inertia), **rig)
    return reduce_test(sweep_job(), bench, points_of_sweep(sweep_job(), bench, readings))


def off_curve(reduction) -> float:
    """Greatest distance of a point from the motor's curve. [N*m]"""
    points = reduction.points
    return float(np.max(np.abs(points.torque - BENCH.shaft_torque(points.speed))))


@pytest.mark.parametrize("begin", [2.0, 3.0, 4.0, 7.0])
@pytest.mark.parametrize("left", [0.0, 0.4])
def test_a_load_gone_for_a_moment_bends_no_curve(begin, left):
    def gone(time, torque):
        return np.where((time > begin) & (time < begin + 0.6), left * torque, torque)

    assert off_curve(swept(gone)) < off_curve(swept()) + 0.5


def test_a_missing_sample_is_no_end_of_the_sweep():
    def missing(time, torque):
        return np.where((time > 3.0) & (time < 3.02), np.nan, torque)

    assert off_curve(swept(missing)) < off_curve(swept()) + 0.1


def test_a_sensor_at_its_span_tells_no_breakdown_torque():
    meters = Meters(torque=TorqueMeter(full_scale=27.0))
    assert swept().extremes.breakdown.torque == pytest.approx(BENCH.breakdown, rel=0.01)
    assert swept(lambda _, torque: np.minimum(torque, 27.0), meters=meters).extremes.breakdown is None


def test_wrong_pulses_move_no_friction():
    """A speed doubled and one halved among 112."""
    time = np.linspace(0.0, 28.0, 112)
    for seed in range(10):
        random = np.random.default_rng(seed)
        speed = 160.0 * np.exp(-time / 25.0) - 1.2 * time + random.normal(0.0, 0.1, time.size)
        sound = fit_run_down([CoastingRun(time, speed)])
        doubled, halved = random.choice(np.arange(3, 109), 2, replace=False)
        faulty = speed.copy()
        faulty[doubled] *= 2.0
        faulty[halved] /= 2.0
        fit = fit_run_down([CoastingRun(time, faulty)])
        assert fit.deceleration(100.0) == pytest.approx(sound.deceleration(100.0), rel=2e-3)
        assert fit.residual == pytest.approx(sound.residual, rel=0.15)
