"""The torque that changes the speed of rig and rotor, referred to the judged shaft."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_rig

from certgen.document.build import Toleranced
from certgen.job.model import Gear, Motor
from certgen.job.rig import Drive, Tachometer
from certgen.reduction.torque import inertia_torque, rig_at_shaft, rotor_at_shaft

SLOWING = np.array([-10.0, 0.0, 10.0])


def test_a_slowing_shaft_has_its_masses_torque_taken_away_and_a_quickening_one_added():
    found = inertia_torque(SLOWING, make_rig(inertia=Toleranced(0.02)), Toleranced(0.005))
    np.testing.assert_allclose(found, [-0.25, 0.0, 0.25])


def test_without_the_rigs_inertia_there_is_no_torque():
    assert np.isnan(inertia_torque(SLOWING, make_rig(), Toleranced(0.005))).all()


@pytest.mark.parametrize("on", ["motor", "absorber"])
def test_through_a_belt_it_counts_by_the_ratio_squared_and_the_belts_loss(on):
    """Ratio 2: at 10 rad/s^2 of the motor the absorber changes by 5; 0.08 times 5 over 2 and 0.8."""
    drive = Drive("belt", ratio=2.0, efficiency=0.8)
    rig = make_rig(inertia=Toleranced(0.08, 0.008), drive=drive, tachometer=Tachometer(on=on))
    read = SLOWING if on == "motor" else SLOWING / 2.0
    np.testing.assert_allclose(inertia_torque(read, rig, None), 0.08 * 5.0 / (2.0 * 0.8) * SLOWING / 10.0)
    assert rig_at_shaft(rig) == Toleranced(0.02, 0.002)


def test_behind_a_gear_the_rotor_counts_by_the_ratio_squared_and_the_gears_loss():
    job = make_job(gear=Gear(10.0, 0.9))
    assert rotor_at_shaft(job) is None
    motor = Motor("three-phase induction", rotor_inertia=Toleranced(0.001, expanded_uncertainty=1e-4))
    found = rotor_at_shaft(replace(job, motor=motor))
    assert found.value == pytest.approx(0.09)
    assert found.expanded_uncertainty == pytest.approx(0.009)
