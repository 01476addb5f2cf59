"""A simulated sweep made into load points: torque recovered, wrong inertia seen, and nothing invented without one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_rig
from sweep_bench import SYNCHRONOUS, Swept, sweep_job

from certgen.document.build import Toleranced
from certgen.errors import RefusedTest
from certgen.job.rig import Drive, Meter, Meters, Tachometer
from certgen.readings.model import ACCELERATION, Zero
from certgen.reduction.reduce import reduce_test
from certgen.reduction.sweep import points_of_sweep

pytestmark = pytest.mark.slow

MEASURED = {
    "tachometer": Tachometer(tolerance=0.01),
    "meters": Meters(torque=Meter(reading=0.0005)),
}
RIG = Toleranced(0.02, 0.002)
ROTOR = Toleranced(0.005, 0.0002)


def reduced(swept, *, rig_inertia=RIG, rotor=ROTOR, seed=0, bandwidth=2.0, readings=None, **rig):
    job = sweep_job(bandwidth, rotor)
    bench = make_rig(inertia=rig_inertia, **{**MEASURED, **rig})
    made = points_of_sweep(job, bench, readings or swept.readings(seed))
    return reduce_test(job, bench, made)


def breakdown(reduction):
    """Breakdown torque with its expanded uncertainty."""
    torque = reduction.extremes.breakdown.torque
    row = int(np.flatnonzero(reduction.points.torque == torque)[0])
    return torque, reduction.uncertainties.points[row]["torque"].expanded


@pytest.mark.parametrize("both", [True, False])
def test_breakdown_torque_is_recovered_within_its_uncertainty(both):
    """16 tests: noise and, within its tolerance, the true inertia differ; 95 % of them leave more than 2 outside in 4 %."""
    random = np.random.default_rng(1)
    inside = 0
    for seed in range(16):
        true = 0.02 + random.uniform(-0.002, 0.002) + 0.005
        torque, doubt = breakdown(reduced(Swept(both=both, inertia=round(true, 6), rate=100.0), seed=seed))
        assert doubt < 0.5
        inside += abs(torque - 30.0) <= doubt
    assert inside >= 14


@pytest.mark.parametrize("both", [True, False])
def test_every_point_lies_on_the_curve_of_the_motor(both):
    swept = Swept(both=both, speed_noise=0.0, torque_noise=0.0)
    points = reduced(swept).points
    # The low-pass flattens the bends at the ends of the ramp; between them it follows the curve.
    inner = (points.speed < 0.985 * SYNCHRONOUS) & (points.speed > 0.15 * SYNCHRONOUS)
    assert np.count_nonzero(inner) >= 12
    np.testing.assert_allclose(points.torque[inner], swept.shaft_torque(points.speed[inner]), atol=0.06)


def test_without_the_correction_a_falling_sweep_reads_more_than_the_motor_gives():
    swept = Swept(both=False, speed_noise=0.0, torque_noise=0.0)
    reduction = reduced(swept)
    fast = (reduction.points.speed < 0.8 * SYNCHRONOUS) & (reduction.points.speed > 0.2 * SYNCHRONOUS)
    rate = (SYNCHRONOUS * 0.9) / swept.there
    more = (reduction.absorber_torque - reduction.points.torque)[fast]
    np.testing.assert_allclose(more, 0.025 * rate, rtol=0.1)


def test_runs_down_and_up_agree_with_the_right_inertia():
    gap = reduced(Swept()).sweep.gap
    assert abs(gap.falling - gap.rising) < 4.0 * gap.deviation
    assert gap.closing_inertia == pytest.approx(0.025, abs=3.0 * gap.closing_deviation)


@pytest.mark.parametrize("stated", [0.01, 0.035])
def test_a_wrong_inertia_leaves_a_gap_and_the_right_one_is_named(stated):
    gap = reduced(Swept(), rig_inertia=Toleranced(stated, 0.0005)).sweep.gap
    assert abs(gap.falling - gap.rising) > 4.0 * gap.deviation
    assert np.sign(gap.falling - gap.rising) == np.sign(0.02 - stated)
    assert gap.closing_inertia == pytest.approx(0.025, abs=3.0 * gap.closing_deviation)
    assert gap.closing_deviation < 0.001


def test_a_rotor_that_is_not_stated_shows_as_missing_inertia():
    reduction = reduced(Swept(), rotor=None)
    assert not reduction.sweep.rotor_included
    assert reduction.sweep.gap.closing_inertia - reduction.sweep.inertia == pytest.approx(0.005, abs=0.0015)


def test_an_error_of_the_inertia_nearly_leaves_the_mean_of_both_ways():
    torques = [breakdown(reduced(Swept(), rig_inertia=Toleranced(one, 0.0001)))[0] for one in (0.01, 0.03)]
    assert torques[0] == pytest.approx(torques[1], abs=0.05)


def test_without_an_inertia_no_torque_is_made_up():
    reduction = reduced(Swept(), rig_inertia=None)
    assert not np.isfinite(reduction.points.torque).any()
    assert np.isfinite(reduction.points.speed).all()
    assert reduction.curve is None
    assert reduction.sweep.inertia is None
    assert reduction.sweep.greatest_acceleration > 0.9 * SYNCHRONOUS * 0.9 / 4.0
    assert reduction.sweep.gap.closing_inertia == pytest.approx(0.025, abs=0.0015)


def test_behind_a_belt_the_inertia_counts_by_the_square_of_the_ratio():
    """Motor and rotor inertia as simulated; the absorber turns at half the speed with four times the inertia."""
    swept = Swept(both=False, speed_noise=0.0, torque_noise=0.0)
    direct = reduced(swept)
    log = swept.readings()
    columns = {**log.load_test.columns, "torque": 2.0 * log.load_test.column("torque")}
    belted = replace(log, load_test=replace(log.load_test, columns=columns))
    drive = Drive("belt", ratio=2.0, efficiency=1.0)
    through = reduced(swept, readings=belted, drive=drive, rig_inertia=Toleranced(0.08, 0.002))
    np.testing.assert_allclose(through.points.torque, direct.points.torque, atol=1e-9)
    columns["speed"] = log.load_test.column("speed") / 2.0
    slow = replace(log, load_test=replace(log.load_test, columns=columns))
    on_absorber = reduced(
        swept, readings=slow, drive=drive, rig_inertia=Toleranced(0.08, 0.002), tachometer=Tachometer(on="absorber")
    )
    np.testing.assert_allclose(on_absorber.points.torque, direct.points.torque, atol=1e-6)


def test_a_drifting_zero_is_taken_out_of_the_log():
    swept = Swept(both=False, speed_noise=0.0, torque_noise=0.0)
    steady, log = reduced(swept), swept.readings()
    time = log.load_test.column("time")
    columns = {**log.load_test.columns, "torque": log.load_test.column("torque") + 0.5 + 2.0 * time / time[-1]}
    drifting = replace(log, load_test=replace(log.load_test, columns=columns), zero=Zero(0.5, 2.5))
    np.testing.assert_allclose(reduced(swept, readings=drifting).points.torque, steady.points.torque, atol=1e-6)


def test_other_columns_are_in_step_with_the_torque():
    swept = Swept(speed_noise=0.0, torque_noise=0.0)
    readings = swept.readings(current=lambda speed, torque: 2.0 + 0.1 * torque)
    reduction = reduced(swept, readings=readings)
    np.testing.assert_allclose(reduction.points.current, 2.0 + 0.1 * (reduction.absorber_torque), atol=1e-9)


def test_a_log_of_uneven_times_gives_the_same():
    swept = Swept(torque_noise=0.0, speed_noise=0.0)
    even, log = reduced(swept), swept.readings()
    kept = np.sort(np.random.default_rng(3).choice(log.load_test.rows, log.load_test.rows // 2, replace=False))
    table = replace(
        log.load_test,
        columns={name: values[kept] for name, values in log.load_test.columns.items()},
        remarks=("",) * kept.size,
    )
    uneven = reduced(swept, readings=replace(log, load_test=table))
    assert breakdown(uneven)[0] == pytest.approx(breakdown(even)[0], abs=0.05)
    np.testing.assert_allclose(uneven.points.torque, swept.shaft_torque(uneven.points.speed), atol=0.5)


def test_points_are_spaced_along_the_curve_with_its_summit_among_them():
    job = sweep_job(points=12)
    made = points_of_sweep(job, make_rig(inertia=RIG), Swept(speed_noise=0.0, torque_noise=0.0).readings())
    table = made.load_test
    assert 10 <= table.rows <= 14
    assert (np.diff(table.column("speed")) < 0.0).all()
    assert ACCELERATION in table.columns
    assert "time" not in table.columns
    assert table.column("torque").max() == pytest.approx(30.0, abs=0.05)


def test_a_test_that_is_no_sweep_stays_as_it_is():
    job = sweep_job()
    job = replace(job, readings=replace(job.readings, load_test=None))
    readings = Swept().readings()
    assert points_of_sweep(job, make_rig(), readings) is readings


def test_a_log_at_one_speed_is_refused():
    readings = Swept().readings()
    columns = {**readings.load_test.columns, "speed": np.full(readings.load_test.rows, 150.0)}
    steady = replace(readings, load_test=replace(readings.load_test, columns=columns))
    with pytest.raises(RefusedTest, match="holds no sweep: the speed does not go from one end to another"):
        points_of_sweep(sweep_job(), make_rig(inertia=RIG), steady)
