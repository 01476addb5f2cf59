"""What goes wrong in a sweep or a run-down moves no figure."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_rig
from sweep_bench import Swept, sweep_job

from certgen.assessment.log_cautions import log_evidence
from certgen.document.build import Toleranced
from certgen.job.rig import Meters, TorqueMeter
from certgen.physics.run_down import CoastingRun, fit_run_down
from certgen.reduction.log.model import Reason
from certgen.reduction.reduce import reduce_test
from certgen.reduction.sweep import points_of_sweep

pytestmark = pytest.mark.slow

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

    assert off_curve(swept(gone)) < off_curve(swept()) + 0.6


@pytest.mark.parametrize("both", [True, False])
@pytest.mark.parametrize(("rate", "there"), [(50.0, 15.0), (200.0, 4.0), (1000.0, 15.0)])
@pytest.mark.parametrize("part", [0.1, 0.4, 0.8])
def test_a_coupling_that_slips_lets_the_motor_race_and_bends_no_curve(part, rate, there, both):
    """The motor races to no load and is pulled back through half of its curve."""
    sound = Swept(rate=rate, there=there, both=both)
    slipped = replace(sound, slips_at=1.0 + part * there, slips_for=0.6)
    bench = make_rig(inertia=Toleranced(sound.inertia))
    found = reduce_test(sweep_job(), bench, points_of_sweep(sweep_job(), bench, slipped.readings(1)))
    # The low-pass flattens the bend at the end of the ramp, the more where it has samples on one side only.
    points = found.points
    allowed = np.array([errors["torque"].expanded for errors in found.uncertainties.points]) + 0.6
    assert (np.abs(points.torque - sound.shaft_torque(points.speed)) < allowed).all()
    (lost,) = [entry for entry in found.sweep.left_out if entry.reason == Reason.LOAD_LOST]
    assert lost.start == pytest.approx(slipped.slips_at, abs=0.1)
    assert 0.6 < lost.end - lost.start < 1.2
    (named,) = log_evidence(None, found.sweep)
    assert (named.id, named.effect) == ("load_lost", "note")
    breakdown = found.extremes.breakdown
    assert breakdown is None or breakdown.torque == pytest.approx(sound.breakdown, rel=0.02)


def test_a_breakdown_torque_beside_speeds_that_were_left_out_is_not_stated():
    """One run down, and the load lost where the torque was greatest."""
    slipped = Swept(there=15.0, both=False, slips_at=1.0 + 0.2 * 15.0, slips_for=1.5)
    bench = make_rig(inertia=Toleranced(slipped.inertia))
    found = reduce_test(sweep_job(), bench, points_of_sweep(sweep_job(), bench, slipped.readings(1)))
    assert found.points.torque.max() < 0.995 * slipped.breakdown
    assert found.extremes.breakdown is None


@pytest.mark.parametrize("both", [True, False])
@pytest.mark.parametrize(("rate", "there"), [(50.0, 4.0), (50.0, 15.0), (200.0, 4.0), (200.0, 15.0), (1000.0, 4.0)])
def test_a_sound_sweep_has_no_mark(rate, there, both):
    bench = make_rig(inertia=Toleranced(BENCH.inertia))
    for seed in range(3):
        swept = Swept(rate=rate, there=there, both=both).readings(seed)
        assert reduce_test(sweep_job(), bench, points_of_sweep(sweep_job(), bench, swept)).sweep.left_out == ()


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
