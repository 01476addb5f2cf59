"""The full-plate example: its segregated losses against those of the circuit its readings were made from."""

from __future__ import annotations

from pathlib import Path

import pytest
from simulated_bench.jobs.full_plate import MOTOR, POWER, VOLTAGE
from simulated_bench.three_phase_run import rated

from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

JOB = Path(__file__).parents[2] / "example_jobs" / "three_phase_full_plate" / "job.yaml"


def test_losses_of_the_example():
    """Its wattmeter is off by up to 0.25 % of 1.8 kW and shows whole watts; its torque by about as much.

    That is 4 W on what is left for stray load loss. The true supply is unbalanced by 0.3 %, which costs it some watts.
    """
    losses = assess_job(JOB).results.losses
    assert str(losses.method) == "loss segregation"
    truth = rated(MOTOR, VOLTAGE, POWER, winding=losses.reference_temperature.value - 273.15)
    rotation = (MOTOR.friction + MOTOR.windage * (truth.speed / MOTOR.synchronous_speed) ** 2) * truth.speed
    assert losses.stator.value == pytest.approx(truth.stator_loss, rel=0.02)
    assert losses.rotor.value == pytest.approx(truth.rotor_loss, rel=0.02)
    assert losses.core.value == pytest.approx(truth.core_loss, abs=2.0)
    assert losses.friction_windage.value == pytest.approx(rotation, abs=1.5)
    assert losses.stray.value == pytest.approx(truth.drag_loss - rotation, abs=4.0)
    assert losses.efficiency.value == pytest.approx(truth.efficiency, abs=0.003)


def test_regression_of_the_example():
    results = assess_job(JOB).results
    stray = results.losses.stray_regression
    assert stray.rows == (1, 2, 3, 4, 5, 6)  # the run with the brake off is not one of them
    assert all(stray.accepted.values())
    # the rig's tare torque and the drag left on the scale are all the brake takes
    assert results.losses.dynamometer_correction.value == pytest.approx(0.0, abs=0.03)
