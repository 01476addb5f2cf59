from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job

from certgen.job.model import Conditions, Gear
from certgen.reduction.speed import MEASURED, NAMEPLATE, STATED, find_poles, shaft_synchronous_speed, supply_frequency

RPM = math.pi / 30.0


def test_frequency_measured_goes_before_stated_before_plate():
    job = make_job(conditions=Conditions(supply_frequency=50.2), frequency=60.0)
    assert supply_frequency(job, np.array([49.9]))[1] == MEASURED
    values, basis = supply_frequency(job, np.array([np.nan]))
    assert (values[0], basis) == (50.2, STATED)
    assert supply_frequency(make_job(frequency=60.0), np.array([np.nan]))[1] == NAMEPLATE
    assert supply_frequency(make_job(), np.array([np.nan]))[1] is None
    assert [str(basis) for basis in (MEASURED, STATED, NAMEPLATE)] == ["measured", "stated for the test", "nameplate"]


def test_poles_of_the_plate_go_first():
    assert find_poles(make_job(poles=6, speed=1420 * RPM, frequency=50.0), math.nan, 50.0).count == 6


@pytest.mark.parametrize(
    ("speed", "frequency", "poles"),
    [
        (1725, 60.0, 4),
        (3450, 60.0, 2),
        (1140, 60.0, 6),
        (850, 60.0, 8),
        (1420, 50.0, 4),
        (930, 50.0, 6),
        (700, 50.0, 8),
    ],
)
def test_poles_from_typical_plate_speeds(speed, frequency, poles):
    """Full-load speeds of small motors by poles: common practice, no source (from memory)."""
    found = find_poles(make_job(speed=speed * RPM, frequency=frequency), math.nan, frequency)
    assert (found.count, str(found.basis)) == (poles, "nameplate speed and frequency")


def test_poles_of_an_empty_plate_come_from_the_lightest_load():
    found = find_poles(make_job(), 1494 * RPM, 50.0)
    assert (found.count, str(found.basis)) == (4, "speed at the lightest load")


def test_nothing_to_tell_the_poles_by():
    assert find_poles(make_job(), math.nan, 50.0).count is None
    assert find_poles(make_job(speed=1420 * RPM), math.nan, math.nan).count is None


def test_universal_motors_have_no_poles_to_slip_against():
    job = make_job("universal", speed=8000 * RPM, frequency=50.0, poles=2)
    assert find_poles(job, 12000 * RPM, 50.0).count is None


def test_a_gear_divides_the_synchronous_speed():
    """Common practice, no source: 1400 rpm behind a gear of 15.5 turns at about 90 rpm."""
    job = make_job(speed=90.3 * RPM, frequency=50.0, gear=Gear(15.5))
    poles = find_poles(job, math.nan, 50.0)
    assert poles.count == 4
    assert shaft_synchronous_speed(poles, np.array([50.0]), job) / RPM == pytest.approx([1500.0 / 15.5])
