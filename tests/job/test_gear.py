from __future__ import annotations

import math

import pytest
from builders import make_job

from certgen.job.load import at_output_shaft
from certgen.job.model import MOTOR_SHAFT, OUTPUT_SHAFT, Gear

RPM = math.pi / 30.0


def plate_of(kind="three-phase induction", **plate):
    return at_output_shaft(make_job(kind, **plate)).nameplate


def test_a_speed_the_output_shaft_can_have_is_the_output_shafts():
    found = plate_of(speed=95 * RPM, gear=Gear(15.0), frequency=50.0, poles=4)
    assert found.speed == pytest.approx(95 * RPM)
    assert found.gear.speed_of == OUTPUT_SHAFT


@pytest.mark.parametrize("poles", [4, None])
def test_a_speed_only_the_motor_can_have_is_divided_by_the_ratio(poles):
    """1420 rpm behind a gear of 25 would need a motor of 35 500 rpm."""
    found = plate_of(speed=1420 * RPM, gear=Gear(25.0), frequency=50.0, poles=poles)
    assert found.speed == pytest.approx(56.8 * RPM)
    assert found.gear.speed_of == MOTOR_SHAFT


def test_what_the_job_says_goes_first():
    found = plate_of(speed=1420 * RPM, gear=Gear(1.5, speed_of=MOTOR_SHAFT), frequency=50.0)
    assert found.speed == pytest.approx(1420 / 1.5 * RPM)


def test_a_commutator_motor_has_no_speed_it_cannot_reach():
    assert plate_of("universal", speed=9000 * RPM, gear=Gear(10.0)).speed == pytest.approx(9000 * RPM)


def test_without_gear_or_speed_nothing_changes():
    assert plate_of(speed=1420 * RPM).speed == pytest.approx(1420 * RPM)
    assert plate_of(gear=Gear(25.0)).speed is None
