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
from certgen.planning.plan import ALL_HELD, ALL_REFUSED, SOME_REFUSED, UNLOADED_REFUSED
from certgen.reduction.reduce import reduce_test
from certgen.results.rig_use import rig_use

pytestmark = pytest.mark.slow

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
        refused = {f"rig_{reason.values['limit'].key.removeprefix('limit.')}" for reason in point.refused}
        assert refused == {one.id for one in cautions}
        assert point.holds is (False if refused else point.holds)


@pytest.mark.parametrize(
    ("limits", "outcome"),
    [
        (RigLimits(torque=16.0), ALL_HELD),
        (RigLimits(torque=11.0), SOME_REFUSED),
        (RigLimits(torque=1.0), ALL_REFUSED),
        (RigLimits(torque=16.0, speed=700.0 * RPM), ALL_REFUSED),
    ],
)
def test_outcome(limits, outcome):
    plan = plan_on(make_rig("arm", limits=limits))
    assert plan.outcome == outcome
    assert plan.do_not_run is (outcome == ALL_REFUSED)


def test_what_is_not_known_leads_the_outcome():
    assert str(plan_on(make_rig("arm")).outcome) == (
        "not known whether the rig is OK for every load: torque cannot be compared"
    )
    unknown = plan_on(make_rig("arm", limits=RigLimits(torque=16.0, absorber_power=900.0)), voltage=400.0)
    assert str(unknown.outcome) == (
        "rated load not known; not known whether the rig is OK for every load: absorber power cannot be compared"
    )


def test_the_greatest_load_held_lies_just_below_the_limit():
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=11.0, absorber_power=1700.0)))
    assert str(plan.greatest_load_by) == "torque"
    torque, speed = 11.0, plan.synchronous_speed.value * (1.0 - plan.rated_slip.value * 11.0 / RATED_TORQUE)
    assert plan.greatest_load.value == pytest.approx(torque * speed / 1500.0, rel=1e-6)
    assert plan_on(make_rig("arm", limits=RigLimits(torque=99.0))).greatest_load is None


def test_no_limit_is_named_as_not_stated_and_asked_for():
    plan = plan_on(make_rig("arm"))
    assert {one.outcome for one in plan.rig_checks} == {"not stated"}
    assert all(str(one.note) == f"state {one.key}" for one in plan.rig_checks)
    assert "Whether the rig is OK for these loads is not known: state its limits in the rig file." in map(
        str, plan.missing
    )
    assert "What the brake holds at each speed is not known: state brake_envelope in the rig file." in map(
        str, plan.missing
    )
    assert "How long the absorber can be loaded is not known: state absorber_heat in the rig file." in map(
        str, plan.missing
    )


def test_an_envelope_that_ends_too_early_is_not_stretched():
    envelope = make_table(speed=[0.0, 1000.0 * RPM], torque=[0.0, 20.0])
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=20.0)), envelope)
    check = next(one for one in plan.rig_checks if one.key == "brake_envelope")
    assert (check.outcome, str(check.note)) == ("not known", "the brake envelope has no row for these speeds")
    assert str(plan.outcome).endswith("for every load: torque at this speed cannot be compared")
    assert all(tuple(map(str, point.not_compared)) == ("torque at this speed",) for point in plan.points)


def test_a_load_below_the_tare_torque_cannot_be_set():
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=50.0), tare_torque=Toleranced(4.0)))
    quarter = next(point for point in plan.points if str(point.name) == "25 %")
    assert quarter.scale is None
    assert tuple(map(str, quarter.refused)) == ("the tare torque alone loads the motor with 4.00 N·m",)
    assert "Tare torque is 40 % of the torque at 100 %: free the trunnions, or measure it again." in map(
        str, plan.rig_notes
    )


def test_how_long_the_absorber_bears_each_load():
    heat = AbsorberHeat(800.0, ShortTime(1600.0, 300.0))
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=50.0), absorber_heat=heat))
    by_name = {str(point.name): point for point in plan.points}
    assert str(by_name["125 %"].held) == "not stated above 1.600 kW"
    assert by_name["100 %"].may_be_held.value == pytest.approx(300.0 * math.log(1 - 800 / 1500) / math.log(0.5))
    assert str(by_name["100 %"].held) == "5.4 min from cold"
    assert str(by_name["50 %"].held) == "no limit"
    assert by_name["50 %"].may_be_held is None
    alone = plan_on(make_rig("arm", absorber_heat=AbsorberHeat(800.0)))
    assert str(alone.points[0].held) == "not stated above 800.0 W"
    assert any("state absorber_heat.short_time" in str(sentence) for sentence in alone.missing)


def test_a_scale_used_below_a_tenth_and_beyond_its_calibration_is_said():
    little = plan_on(make_rig("arm", limits=RigLimits(scale=Dimensioned(50.0, "mass"))))
    assert any("below a tenth of its span (2.057 kg of 50 kg at 100 %)" in str(note) for note in little.rig_notes)
    enough = plan_on(make_rig("arm", limits=RigLimits(scale=Dimensioned(5.0, "mass"))))
    assert not any("tenth" in str(note) for note in enough.rig_notes)
    assert "Scale not calibrated" in " ".join(map(str, enough.rig_notes))


# A motor whose rating is not known: what bounds it, and what refuses it.


MAGNET = Tachometer(magnet=TachometerMagnet(0.001, 0.02, 5.0))


def test_the_pull_on_the_magnet_is_refused_at_the_fastest_an_unknown_motor_can_turn():
    """m w^2 r of 1 g at 20 mm and 3000 rpm is 1.97 N; of 6 g, 11.8 N, with a holding force of 5 N."""
    light = plan_on(make_rig("arm", limits=RigLimits(torque=16.0), tachometer=MAGNET), frequency=50.0)
    assert not light.do_not_run
    heavy = Tachometer(magnet=TachometerMagnet(0.006, 0.02, 5.0))
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=16.0), tachometer=heavy), frequency=50.0)
    assert plan.outcome == ALL_REFUSED
    assert plan.do_not_run
    assert all(point.holds is False for point in plan.points)
    assert "pull on the magnet 11.84 N, limit 5 N" in map(str, plan.points[1].refused)
    assert str(plan.steps[-1]) == "Do not run this motor on this rig."
    assert not any("load" in str(step).split() for step in plan.steps)


@pytest.mark.parametrize("limits", [RigLimits(torque=16.0, rim_speed=20.0), RigLimits(rim_speed=20.0)])
def test_a_rim_too_fast_is_refused_whatever_the_load(limits):
    """3000 rpm at 0.1 m is 31.4 m/s."""
    plan = plan_on(make_rig("arm", limits=limits, rim=Rim(0.1)), frequency=50.0)
    assert plan.outcome == ALL_REFUSED
    assert next(one for one in plan.rig_checks if one.key == "limits.rim_speed").outcome == "exceeded"


@pytest.mark.parametrize("limit", ["speed", "bearing_speed", "tachometer_speed"])
@pytest.mark.parametrize("torque", [None, 16.0])
@pytest.mark.parametrize("plate", [{"frequency": 50.0}, {"speed": 1420.0 * RPM}])
def test_whatever_is_too_slow_for_any_load_of_an_unknown_motor_refuses_it(limit, torque, plate):
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=torque, **{limit: 100.0})), None, **plate)
    assert plan.do_not_run
    assert next(one for one in plan.rig_checks if one.key == f"limits.{limit}").outcome == "exceeded"
    assert str(plan.steps[-1]) == "Do not run this motor on this rig."


def test_a_motor_too_fast_without_load_is_not_run_though_its_loads_are_slower():
    """1455 rpm lies between rated speed and the 1500 rpm it runs at without load."""
    plan = plan_on(make_rig("arm", limits=RigLimits(torque=30.0, speed=1455.0 * RPM)))
    assert plan.points[2].holds is True
    assert plan.outcome == UNLOADED_REFUSED
    assert plan.do_not_run


@pytest.mark.parametrize(
    ("kind", "rig_limits", "plate", "at_most"),
    [
        # 400 V x 2 A x 1.732 x 0.97 = 1344 W, less than 14.4 N*m at 3000 rpm
        ("three-phase induction", {}, {"voltage": 400.0, "current": 2.0, "frequency": 50.0}, 1344.1),
        ("universal", {}, {"voltage": 230.0, "current": 1.2}, 230.0 * 1.2 * 0.97),
        ("universal", {"supply_power": 200.0}, {"voltage": 230.0, "current": 1.2}, 194.0),
        ("dc", {"supply_power": 500.0}, {}, 485.0),
        ("three-phase induction", {}, {"frequency": 50.0}, 14.4 * 3000.0 * RPM),
        ("dc", {}, {}, None),
    ],
)
def test_the_absorber_is_bounded_where_the_motor_is_not_known(kind, rig_limits, plate, at_most):
    limits = RigLimits(torque=16.0, absorber_power=5000.0, **rig_limits)
    plan = plan_on(make_rig("arm", limits=limits), None, kind, **(plate or {"insulation_class": "B"}))
    last, check = plan.points[-1], next(one for one in plan.rig_checks if one.key == "limits.absorber_power")
    assert last.absorber_power is None
    if at_most is None:
        assert (last.absorber_power_at_most, last.holds, check.outcome) == (None, None, "not known")
        return
    assert last.absorber_power_at_most.value == pytest.approx(at_most, rel=1e-4)
    assert (last.holds, check.outcome, check.at_most) == (True, "holds", True)
    assert str(plan.outcome).startswith("rated load not known; ")


def test_a_bound_above_the_limit_is_no_reassurance_and_its_power_is_watched():
    limits = RigLimits(torque=16.0, absorber_power=200.0)
    plan = plan_on(make_rig("arm", limits=limits), None, "universal", voltage=230.0, current=1.2)
    assert plan.points[-1].holds is None
    assert next(one for one in plan.rig_checks if one.key == "limits.absorber_power").outcome == "not known"
    assert any(str(one.sign) == "torque x speed at the brake" and one.limit.value == 200.0 for one in plan.stops)


@given(st.floats(1.0, 40.0), st.floats(10.0, 10000.0), st.none() | st.floats(100.0, 9000.0))
def test_a_bound_never_lies_below_what_an_induction_motor_gives(torque, power, supply):
    """Whatever slip the motor has, its power stays below the bound; and the last step below every sign to stop at."""
    limits = RigLimits(torque=torque, absorber_power=power, supply_power=supply)
    plan = plan_on(make_rig("arm", limits=limits), frequency=50.0)
    for point in plan.points:
        bound = point.absorber_power_at_most.value
        assert bound <= point.torque.value * 3000.0 * RPM * (1.0 + 1e-9)
        assert point.holds is (True if bound <= power else None)
    assert plan.points[-1].torque.value == pytest.approx(0.9 * torque)


def test_part_load_of_a_motor_without_slip_is_bounded_by_the_plate():
    """Beyond rated torque it is slower than rated speed; below it takes no more than the plate's volts and amperes."""
    plate = {"power": 150.0, "voltage": 230.0, "current": 1.2, "speed": 6450.0 * RPM}
    limits = RigLimits(torque=0.5, absorber_power=200.0)
    by_name = {
        str(point.name): point for point in plan_on(make_rig("arm", limits=limits), None, "universal", **plate).points
    }
    assert by_name["125 %"].absorber_power_at_most.value == pytest.approx(187.5)
    assert by_name["125 %"].holds is True
    assert by_name["75 %"].absorber_power_at_most.value == pytest.approx(230.0 * 1.2 * 0.97)
    assert by_name["75 %"].holds is None
    assert by_name["100 %"].absorber_power_at_most is None


OF_SPEED = [
    {"tachometer": Tachometer(magnet=TachometerMagnet(0.010, 0.06, 5.0))},
    {"rim": Rim(0.2), "limits": RigLimits(torque=16.0, rim_speed=10.0)},
]


@pytest.mark.parametrize("parts", OF_SPEED)
@pytest.mark.parametrize("kind", ["three-phase induction", "single-phase induction", "universal", "dc", "other"])
def test_an_unknown_motor_whose_plate_speed_passes_a_limit_is_not_run(kind, parts):
    """Magnet and rim do not wait for the load; nothing else of the plate can be read."""
    plan = plan_on(make_rig("arm", **{"limits": RigLimits(torque=16.0), **parts}), None, kind, speed=1420.0 * RPM)
    assert plan.do_not_run
    assert all(point.holds is False for point in plan.points)
    exceeded = [one for one in plan.rig_checks if one.outcome == "exceeded"]
    assert [str(one.at) for one in exceeded] == ["at the plate's speed"]


@pytest.mark.parametrize("parts", OF_SPEED)
def test_a_plate_speed_within_the_limits_clears_nothing(parts):
    """Without load the motor turns faster than its plate says, how much is not known."""
    plan = plan_on(make_rig("arm", **{"limits": RigLimits(torque=16.0), **parts}), None, "dc", speed=200.0 * RPM)
    assert not plan.do_not_run
    assert all(point.holds is None for point in plan.points)


@given(st.floats(1.0, 40.0), st.floats(0.5, 10.0), st.sampled_from(["three-phase induction", "universal", "dc"]))
def test_the_last_step_stays_below_what_the_stop_list_stops_at(torque, span, kind):
    limits = RigLimits(torque=torque, scale=Dimensioned(span, "mass"))
    plan = plan_on(make_rig("arm", limits=limits, tare_torque=Toleranced(0.05)), None, kind, frequency=50.0)
    (most,) = [stop.limit.value for stop in plan.stops if stop.limit is not None and stop.limit.unit == "kg"]
    assert plan.points[-1].scale.value <= 0.95 * most
    assert plan.points[-1].torque.value <= 0.95 * torque
