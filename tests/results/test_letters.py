"""Design letters from the tables of NEMA MG 1 for a 5 hp, 4-pole motor: 185, 130, 225 %, 92 A at 230 V (design B)."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.model import Conditions, Gear
from certgen.physics.induction import HORSEPOWER
from certgen.reduction.model import HeldRotor, LockedRotor, TorqueAtSpeed, TorqueSpeed
from certgen.reduction.reduce import reduce_test
from certgen.results.classes import design_letter, kva_per_hp

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
PLATE = {"power": 5 * HORSEPOWER, "voltage": 230.0, "frequency": 60.0, "speed": 1745 * RPM, "poles": 4}
RATED = PLATE["power"] / PLATE["speed"]


def lettered(*, locked=2.1, pull_up=1.5, breakdown=2.5, amperes=84.0, slip=0.03, kind="three-phase induction", **plate):
    """The letter of a motor with torques over rated torque, locked-rotor current and slip at rated power."""
    plate = {**PLATE, **plate}
    job = make_job(kind, Conditions(supply_frequency=60.0), **plate)
    torque = (
        np.array([0.1, 0.5, 0.9, 1.0 / (1.0 - slip), 1.4])
        * (1.0 if plate["power"] is None else plate["power"])
        / (1800 * RPM)
    )
    speed = 1800 * RPM * (1.0 - slip * np.array([0.05, 0.5, 0.9, 1.0, 1.4]))
    reduction = reduce_test(job, make_rig(), make_readings(speed=speed, torque=torque, voltage=np.full(5, 230.0)))

    def held(value):
        return None if value is None else HeldRotor(value, 230.0, 60.0, value)

    def found(ratio):
        return None if ratio is None else TorqueAtSpeed(ratio * RATED, 100.0)

    reduction = replace(
        reduction,
        locked_rotor=LockedRotor(held(amperes), held(None if locked is None else locked * RATED)),
        extremes=TorqueSpeed(TorqueAtSpeed(1.4 * RATED, 100.0), found(breakdown), found(pull_up), 0.0, 5, 10.0),
    )
    return design_letter(job, reduction)


@pytest.mark.parametrize(
    ("figures", "letter"),
    [
        ({}, "B"),
        ({"locked": 1.86, "pull_up": 1.31, "breakdown": 2.26, "amperes": 92.0}, "B"),
        ({"amperes": 92.1}, "A"),
        ({"locked": 2.6, "pull_up": 1.9, "breakdown": 2.1}, "C"),  # 255, 180 and 200 % of design C; breakdown below B
        ({"locked": 2.6, "pull_up": 1.9, "breakdown": 2.5}, "B"),
        ({"locked": 2.6, "pull_up": 1.9, "breakdown": 2.5, "design_letter": "C"}, "C"),
        ({"locked": 2.8, "slip": 0.07}, "D"),
        ({"locked": 1.84}, None),
        ({"pull_up": 1.29}, None),
        ({"breakdown": 2.24}, None),
        ({"slip": 0.07}, None),
        ({"locked": 2.8, "slip": 0.07, "amperes": 93.0}, None),
    ],
)
def test_the_letter_whose_tables_are_met(figures, letter):
    assert lettered(**figures).letter == letter


def test_a_motor_that_meets_two_letters_says_so():
    found = lettered(locked=2.6, pull_up=1.9)
    assert str(found.reason).startswith("indicative: meets the tables of B and of C with 3.0 % slip; ")
    assert "partly from memory" in str(found.reason)


def test_design_d_needs_no_pull_up_or_breakdown():
    assert lettered(locked=2.8, slip=0.07, pull_up=None, breakdown=None).letter == "D"


@pytest.mark.parametrize(
    ("figures", "reason"),
    [
        ({"pull_up": None, "amperes": None}, "not known: pull-up torque, locked-rotor current"),
        ({"locked": None}, "not known: locked-rotor torque"),
        ({"frequency": 50.0}, "design letters are judged at 60 Hz"),
        ({"frequency": None}, "design letters are judged at 60 Hz"),
        ({"power": None}, "the power is not known"),
        ({"voltage": None}, "the voltage is not known"),
        ({"power": 3000.0}, "3 kW is not a listed horsepower"),
        ({"kind": "single-phase induction"}, "design letters A to D are for three-phase motors"),
        ({"gear": Gear(15.0), "speed": 110 * RPM}, "judged at the output shaft of a gear"),
        ({"locked": 1.5}, "with 3.0 % slip, no letter's tables are met"),
    ],
)
def test_no_letter_has_its_reason(figures, reason):
    found = lettered(**figures)
    assert (found.letter, str(found.reason)) == (None, reason)


@given(st.floats(1.0, 4.0), st.floats(0.5, 3.0), st.floats(1.5, 4.0), st.floats(0.0, 1.0))
def test_more_torque_never_loses_design_b(locked, pull_up, breakdown, more):
    """Least torques: what meets B still meets it with more of any of them."""
    if lettered(locked=locked, pull_up=pull_up, breakdown=breakdown, design_letter="B").letter == "B":
        raised = lettered(locked=locked + more, pull_up=pull_up + more, breakdown=breakdown + more, design_letter="B")
        assert raised.letter == "B"


def test_single_phase_and_three_phase_kva():
    """NEMA MG 1, 10.37.2: sqrt(3) V I / (1000 hp), or V I / (1000 hp)."""
    plate = {"power": 0.5 * HORSEPOWER, "voltage": 115.0}
    assert kva_per_hp(make_job("single-phase induction", **plate), 35.6) == pytest.approx(115 * 35.6 / 500)
    assert kva_per_hp(make_job(**plate), 35.6) == pytest.approx(math.sqrt(3) * 115 * 35.6 / 500)
    assert kva_per_hp(make_job("universal", **plate), 35.6) is None
    assert kva_per_hp(make_job(power=1000.0), 35.6) is None
