"""What load points ask of a rig, limit by limit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_rig, make_table

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.rig import Drive, RigLimits, Rim, Scale, Tachometer, TachometerMagnet
from certgen.reduction.rig_demand import asked_of, demand_at, torque_held

RPM = 2.0 * math.pi / 60.0
ENVELOPE = make_table(speed=[200 * RPM, 0.0, 1200 * RPM], torque=[9.0, 0.0, 20.0])


def asked(rig, torque=10.0, speed=1000 * RPM, envelope=None, shown=2.0):
    demand = demand_at(rig, np.array([torque]), np.array([speed]), np.array([torque]), np.array([shown]))
    return {one.name: one for one in asked_of(rig, envelope, demand)}


def test_the_envelope_is_read_on_straight_lines_and_never_beyond():
    held = torque_held(ENVELOPE, np.array([0.0, 100.0, 200.0, 700.0, 1200.0, 1201.0, math.nan]) * RPM)
    assert held[:5] == pytest.approx([0.0, 4.5, 9.0, 14.5, 20.0])
    assert np.isnan(held[5:]).all()


def test_an_envelope_with_empty_cells_holds_what_is_left():
    table = make_table(speed=[0.0, math.nan, 100.0], torque=[1.0, 5.0, math.nan])
    assert torque_held(table, np.array([0.0, 50.0]))[0] == 1.0
    assert np.isnan(torque_held(make_table(speed=[math.nan], torque=[1.0]), np.array([0.0]))).all()


def test_the_envelope_is_passed_at_its_speed_and_not_judged_at_rest():
    rig = make_rig("arm")
    assert asked(rig, torque=10.0, speed=200 * RPM, envelope=ENVELOPE)["torque at this speed"].passed[0]
    assert not asked(rig, torque=10.0, speed=1200 * RPM, envelope=ENVELOPE)["torque at this speed"].passed[0]
    at_rest = asked(rig, torque=10.0, speed=0.0, envelope=ENVELOPE)["torque at this speed"]
    assert not at_rest.passed[0]
    assert at_rest.worst is None


@pytest.mark.parametrize(
    ("limits", "name"),
    [
        (RigLimits(torque=9.0), "torque"),
        (RigLimits(speed=900 * RPM), "speed"),
        (RigLimits(scale=Dimensioned(1.9, "mass")), "scale"),
        (RigLimits(coupling_torque=9.0), "coupling torque"),
        (RigLimits(absorber_power=1000.0), "absorber power"),
        (RigLimits(bearing_speed=900 * RPM), "bearing speed"),
        (RigLimits(tachometer_speed=900 * RPM), "tachometer speed"),
        (RigLimits(rim_speed=10.0), "rim speed"),
    ],
)
def test_each_limit_is_passed_alone(limits, name):
    rig = make_rig("arm", limits=limits, rim=Rim(0.1))
    assert [one.name for one in asked(rig).values() if one.passed[0]] == [name]
    assert [one.name for one in asked(make_rig("arm", rim=Rim(0.1))).values() if one.stated] == []


def test_a_belt_divides_the_speed_and_has_a_power_of_its_own():
    rig = make_rig("arm", drive=Drive("belt", 2.0, 0.9), limits=RigLimits(speed=600 * RPM, belt_power=1000.0))
    found = asked(rig)
    assert found["speed"].asked[0] == pytest.approx(500 * RPM)
    assert found["belt power"].passed[0]
    assert "belt power" not in asked(make_rig("arm"))


def test_magnet_and_rim_turn_with_their_own_shafts():
    """m w^2 r and w r, the tachometer looking at the absorber behind a 2 to 1 belt."""
    tachometer = Tachometer(on="absorber", magnet=TachometerMagnet(0.001, 0.03, 1.0))
    rig = make_rig("arm", drive=Drive("belt", 2.0, 0.9), tachometer=tachometer, rim=Rim(0.1, on="motor"))
    found = asked(rig)
    assert found["magnet pull"].asked[0] == pytest.approx(0.001 * (500 * RPM) ** 2 * 0.03)
    assert found["magnet pull"].limit[0] == 1.0
    assert found["rim speed"].asked[0] == pytest.approx(0.1 * 1000 * RPM)


def test_the_drum_of_a_rope_brake_is_a_rim():
    rig = make_rig("rope", scale=Scale("force"), drum_radius=Toleranced(0.05))
    assert asked(rig)["rim speed"].asked[0] == pytest.approx(0.05 * 1000 * RPM)


def test_what_is_not_known_passes_nothing():
    rig = make_rig("arm", limits=RigLimits(torque=1.0, speed=1.0, absorber_power=1.0))
    found = asked(rig, torque=math.nan, speed=math.nan)
    assert not any(one.passed[0] for one in found.values() if one.name != "scale")
    assert found["torque"].worst is None


def test_every_limit_has_a_title():
    tachometer = Tachometer(magnet=TachometerMagnet(0.001, 0.03, 1.0))
    rig = make_rig("arm", drive=Drive("belt", 2.0, 0.9), tachometer=tachometer, rim=Rim(0.1))
    limits = asked(rig, envelope=ENVELOPE)
    assert len(limits) == 12
    titles = {name: name for name in limits} | {"magnet pull": "pull on the magnet"}
    assert {name: str(limit.title) for name, limit in limits.items()} == titles
