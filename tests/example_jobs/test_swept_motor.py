"""What certgen makes of the swept motor against the circuit it was made from."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from simulated_bench.jobs import swept_motor
from simulated_bench.simulated_job import EXAMPLES
from simulated_bench.solving import largest_within
from simulated_bench.three_phase import at_slip
from simulated_bench.three_phase_run import balanced

from certgen.pipeline import assess_job
from certgen.results.model import Results

RPM = math.pi / 30.0


@cache
def results() -> Results:
    return assess_job(EXAMPLES / swept_motor.NAME / "job.yaml").results


def torque_at(speed: float) -> float:
    motor = swept_motor.warm_motor()
    return at_slip(motor, balanced(swept_motor.VOLTAGE), 1.0 - speed / motor.synchronous_speed).torque


def test_breakdown_torque_is_that_of_the_circuit_within_its_uncertainty():
    synchronous = swept_motor.MOTOR.synchronous_speed
    expected = torque_at(largest_within(torque_at, 0.3 * synchronous, 0.95 * synchronous))
    found = results().characteristic.breakdown_torque
    assert found.expanded_uncertainty < 0.02 * expected
    assert abs(found.value - expected) <= found.expanded_uncertainty


def test_every_point_lies_on_the_curve_of_the_circuit():
    points = results().points
    off = np.array([point.torque.value - torque_at(point.speed.value) for point in points])
    doubt = np.array([point.torque.expanded_uncertainty for point in points])
    # Torque changes by 2.4 N*m in 10 rpm about rated speed: what the speed is off there shows as torque.
    steep = np.array([(torque_at(one.speed.value - 0.1) - torque_at(one.speed.value)) / 0.1 for one in points])
    by_speed = np.array([one.speed.expanded_uncertainty for one in points]) * np.abs(steep)
    assert np.mean(np.abs(off) <= np.hypot(doubt, by_speed)) > 0.9


def test_the_runs_agree_and_would_tell_the_inertia():
    sweep = results().sweep
    inertia = swept_motor.ROTOR + swept_motor.COUPLING
    assert sweep.inertia.value == pytest.approx(inertia)
    assert abs(sweep.closing_inertia.value - inertia) <= 1.5 * sweep.closing_inertia.expanded_uncertainty
    assert "sweep_gap" not in {one.id for one in results().cautions}


def test_friction_is_that_of_the_motor_and_of_the_right_terms():
    found = results().run_down
    assert found.at_speed.value == pytest.approx(1420.0 * RPM)
    expected = swept_motor.friction_at(found.at_speed.value)
    assert abs(found.friction_torque.value - expected) <= found.friction_torque.expanded_uncertainty
    assert found.viscous_term is None
    assert found.constant_term.value == pytest.approx(swept_motor.MOTOR.friction, rel=0.05)
    windage = found.windage_term.value * swept_motor.MOTOR.synchronous_speed**2
    assert windage == pytest.approx(swept_motor.MOTOR.windage, rel=0.05)
