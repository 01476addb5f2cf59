"""What a plan refuses, the test that is made all the same is cautioned for, and nothing else."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from builders import make_job, make_readings, make_rig, make_table
from hypothesis import assume, given
from hypothesis import strategies as st

from certgen.assessment.rig_cautions import passed_limits
from certgen.document.build import Dimensioned, Toleranced
from certgen.job.rig import AbsorberHeat, Drive, RigLimits, Rim, ShortTime, Tachometer, TachometerMagnet
from certgen.planning.make import make_plan
from certgen.planning.plan import ALL_HELD, ALL_REFUSED, NOT_ALL_COMPARED, SOME_REFUSED
from certgen.reduction.reduce import reduce_test
from certgen.results.rig_use import rig_use

RPM = 2.0 * math.pi / 60.0
PLATE = {
    "power": 1500.0, "voltage": 400.0, "current": 3.4, "frequency": 50.0, "speed": 1420.0 * RPM, "power_factor": 0.79,
}  # fmt: skip
RATED_TORQUE = 1500.0 / (1420.0 * RPM)


def around(value):
    """A limit somewhere about what the planned loads ask, or none."""
    return st.none() | st.floats(0.1 * value, 2.0 * value)


LIMITS = st.builds(
    RigLimits,
    torque=around(RATED_TORQUE),
    speed=around(1450.0 * RPM),
    scale=around(2.0).map(lambda span: None if span is None else Dimensioned(span, "mass")),
    coupling_torque=around(RATED_TORQUE),
    absorber_power=around(1500.0),
    bearing_speed=around(1450.0 * RPM),
    tachometer_speed=around(1450.0 * RPM),
    belt_power=around(1500.0),
    rim_speed=around(15.0),
)
DRIVES = st.just(Drive("direct")) | st.builds(Drive, st.just("belt"), st.floats(0.8, 1.3), st.floats(0.8, 1.0))


def plan_on(rig, envelope=None, kind="three-phase induction", **plate):
    return make_plan(make_job(kind, **(plate or PLATE)), rig, envelope, {})


@given(LIMITS, DRIVES, st.floats(0.1, 3.0))
def test_refused_limits_are_the_cautions_of_the_same_test(limits, drive, height):
    tachometer = Tachometer(magnet=TachometerMagnet(0.001, 0.03, height))
    rig = make_rig("arm", limits=limits, drive=drive, tachometer=tachometer, rim=Rim(0.1), tare_torque=Toleranced(0.05))
    envelope = make_table(speed=[0.0, 1400.0 * RPM, 2000.0 * RPM], torque=[0.0, 5.0 * height, 4.0 * height])
    job = make_job(**PLATE)
    for point in make_plan(job, rig, envelope, {}).points:
        readings = make_readings(speed=[point.speed.value], scale=[point.scale.value])
        reduction = reduce_test(job, rig, replace(readings, brake_envelope=envelope))
        cautions = list(passed_limits(rig_use(rig, reduction, envelope)))
        assume(all("nan" not in str(one.because) for one in cautions))
        refused = {f"rig_{str(reason.values['limit']).replace(' ', '_')}" for reason in point.refused}
        assert refused == {one.id for one in cautions}
        assert point.holds is (False if refused else point.holds)


@pytest.mark.parametrize(
    ("limits", "outcome"),
    [
        (RigLimits(torque=16.0), ALL_HELD),
        (RigLimits(torque=11.0), SOME_REFUSED),
        (RigLimits(torque=1.0), ALL_REFUSED),
        (RigLimits(torque=16.0, speed=700.0 * RPM), ALL_REFUSED),
        (RigLimits(), NOT_ALL_COMPARED),
    ],
)
def test_outcome(limits, outcome):
    assert plan_on(make_rig("arm", limits=limits)).outcome == outcome


def test_the_greatest_load_held_lies_just_below_the_limit():
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=11.0, absorber_power=1700.0)))
    assert str(plan.greatest_load_by) == "torque"
    torque, speed = 11.0, plan.synchronous_speed.value * (1.0 - plan.rated_slip.value * 11.0 / RATED_TORQUE)
    assert plan.greatest_load.value == pytest.approx(torque * speed / 1500.0, rel=1e-6)
    assert plan_on(make_rig("arm", limits=RigLimits(torque=99.0))).greatest_load is None


def test_no_limit_is_named_as_not_stated_and_asked_for():
    plan = plan_on(make_rig("arm"))
    assert {one.outcome for one in plan.rig_checks} == {"not stated"}
    assert all("the rig states no " in str(one.note) for one in plan.rig_checks)
    assert "Whether the rig holds these loads is not known: write its limits." in map(str, plan.missing)
    assert "What the brake holds at each speed is not known: write the rig's brake_envelope." in map(str, plan.missing)
    assert "How long the absorber bears a load is not known: write the rig's absorber_heat." in map(str, plan.missing)


def test_an_envelope_that_ends_too_early_is_not_stretched():
    envelope = make_table(speed=[0.0, 1000.0 * RPM], torque=[0.0, 20.0])
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=20.0)), envelope)
    check = next(one for one in plan.rig_checks if one.key == "brake_envelope")
    assert (check.outcome, str(check.note)) == ("not known", "the brake's envelope has no row about these speeds")
    assert plan.outcome == NOT_ALL_COMPARED
    assert all(tuple(map(str, point.not_compared)) == ("torque at this speed",) for point in plan.points)


def test_a_load_below_the_tare_torque_cannot_be_set():
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=50.0), tare_torque=Toleranced(4.0)))
    quarter = next(point for point in plan.points if str(point.name) == "25 %")
    assert quarter.scale is None
    assert tuple(map(str, quarter.refused)) == ("the tare torque alone loads the motor with 4.00 N·m",)
    assert "The tare torque is 40% of the torque at 100 %: free the trunnions, or measure it anew." in map(
        str, plan.rig_notes
    )


def test_how_long_the_absorber_bears_each_load():
    heat = AbsorberHeat(800.0, ShortTime(1600.0, 300.0))
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=50.0), absorber_heat=heat))
    by_name = {str(point.name): point for point in plan.points}
    assert str(by_name["125 %"].held) == "not stated above 1600 W"
    assert by_name["100 %"].may_be_held.value == pytest.approx(300.0 * math.log(1 - 800 / 1500) / math.log(0.5))
    assert str(by_name["100 %"].held) == "5.4 min from cold"
    assert str(by_name["50 %"].held) == "as long as wanted"
    assert by_name["50 %"].may_be_held is None
    alone = plan_on(make_rig("arm", absorber_heat=AbsorberHeat(800.0)))
    assert str(alone.points[0].held) == "not stated above 800 W"
    assert any("write absorber_heat.short_time" in str(sentence) for sentence in alone.missing)


def test_a_scale_used_below_a_tenth_and_beyond_its_calibration_is_said():
    little = plan_on(make_rig("arm", limits=RigLimits(scale=Dimensioned(50.0, "mass"))))
    assert any("below a tenth of its span (2.057 kg of 50 kg at 100 %)" in str(note) for note in little.rig_notes)
    enough = plan_on(make_rig("arm", limits=RigLimits(scale=Dimensioned(5.0, "mass"))))
    assert not any("tenth" in str(note) for note in enough.rig_notes)
    assert "The scale has no calibration" in " ".join(map(str, enough.rig_notes))
