"""Plans by kind of motor and by what the plate tells: points, steps, stop list, precautions, the ends of the curve."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from builders import make_job, make_rig, make_table

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions, Gear
from certgen.job.rig import (
    AbsorberHeat,
    Ammeter,
    Drive,
    Meters,
    RigLimits,
    Scale,
    ShortTime,
    Tachometer,
    TachometerMagnet,
    Voltmeter,
    Wattmeter,
)
from certgen.planning.make import make_plan
from certgen.results.heat import allowed_rise
from certgen.results.serialization import as_tree
from certgen.standards.criteria import DEFAULT
from certgen.terminal.plan import plan_text

pytestmark = pytest.mark.slow

RPM = 2.0 * math.pi / 60.0
PLATE = {
    "power": 1500.0, "voltage": 400.0, "current": 3.4, "frequency": 50.0, "speed": 1420.0 * RPM, "power_factor": 0.79,
}  # fmt: skip
LIMITS = RigLimits(torque=30.0, scale=Dimensioned(5.0, "mass"), brake_current=12.0)


def plan_of(kind="three-phase induction", rig=None, envelope=None, conditions=None, **plate):
    job = make_job(kind, conditions=conditions, **plate)
    return make_plan(job, rig or make_rig("arm", limits=LIMITS), envelope, {"job.yaml": "0" * 64})


def names(plan):
    return [str(point.name) for point in plan.points]


def test_six_loads_from_the_greatest_down_then_none():
    plan = plan_of(**PLATE)
    assert names(plan) == ["125 %", "115 %", "100 %", "75 %", "50 %", "25 %", "no load"]
    assert str(plan.loads_source) == "IEC 60034-2-1 (2014), load curve test, from memory; parts of rated power"


@pytest.mark.parametrize(
    ("factor", "expected"),
    [
        (1.0, ["125 %", "115 %", "100 %"]),
        (1.15, ["125 %", "115 %, service factor", "100 %"]),
        (1.25, ["125 %, service factor", "115 %", "100 %"]),
        (1.4, ["140 %, service factor", "125 %", "115 %", "100 %"]),
    ],
)
def test_the_service_factor_is_a_load_of_its_own(factor, expected):
    plan = plan_of(**PLATE, service_factor=factor)
    assert names(plan)[: len(expected)] == expected
    raised = next((point for point in plan.points if "service factor" in str(point.name)), None)
    if raised is not None:
        assert raised.shaft_power.value == pytest.approx(factor * 1500.0)


@pytest.mark.parametrize("kind", ["universal", "dc", "other"])
def test_a_motor_that_may_race_is_never_planned_without_load(kind):
    plan = plan_of(kind, power=150.0, speed=6450 * RPM)
    assert names(plan)[-1] == "25 %"
    assert "without load" in " ".join(map(str, plan.steps)) or "keep a load on it" in " ".join(map(str, plan.steps))
    assert str(plan.loads_source).startswith("common practice, no source")
    assert plan.breakdown is None
    assert plan.starting is None


def test_without_load_the_motor_still_turns_the_trunnions():
    plan = plan_of(rig=make_rig("arm", limits=LIMITS, tare_torque=Toleranced(0.05)), **PLATE)
    assert plan.points[-1].torque.value == pytest.approx(0.05)
    assert plan.points[-1].scale.value == pytest.approx(0.0, abs=1e-12)
    assert plan.points[-1].current is None


def test_without_a_plate_equal_steps_upwards_to_what_the_rig_holds():
    plan = plan_of(conditions=Conditions(supply_frequency=Toleranced(50.0)))
    assert names(plan) == ["no load", *(f"step {step}" for step in range(1, 9))]
    torques = [point.torque.value for point in plan.points[1:]]
    assert torques[-1] == pytest.approx(0.9 * 5.0 * 9.80665 * 0.5)  # of the scale's span, less than the torque allowed
    assert torques == pytest.approx([torques[-1] * step / 8 for step in range(1, 9)])
    assert all(point.speed is None and point.current is None and point.load is None for point in plan.points[1:])
    assert names(plan_of("universal"))[0] == "step 1"
    assert str(plan.rated_torque_basis) == "not known: the plate gives no power and no speed"
    assert "small steps by current and temperature" in " ".join(map(str, plan.steps))
    assert (
        str(next(one for one in plan.rig_checks if one.key == "limits.speed").at) == "two poles, the fastest it can be"
    )


def test_without_plate_or_limits_there_is_nothing_to_aim_at_and_that_is_said():
    plan = plan_of(rig=make_rig("arm"))
    assert plan.points == ()
    assert "No load to aim at: the rig states no limit of torque, scale or coupling." in map(str, plan.missing)
    assert plan.steps


def test_a_current_on_the_plate_is_what_to_load_to():
    assert "up to the plate's 3.40 A, no further" in " ".join(map(str, plan_of(current=3.4).steps))


def test_geared_single_phase_and_short_duty_have_their_own_steps():
    geared = plan_of(power=200.0, speed=95 * RPM, frequency=50.0, poles=4, gear=Gear(15.0))
    assert "those of the output shaft (95.0 rpm)" in " ".join(map(str, geared.steps))
    single = plan_of("single-phase induction", **PLATE, duty="S2 10 min")
    assert "start switch must be heard to open" in " ".join(map(str, single.steps))
    assert "Duty S2 10 min: do not run loaded for longer" in " ".join(map(str, single.steps))
    assert "Duty" not in " ".join(map(str, plan_of(**PLATE, duty="CONT").steps))


@pytest.mark.parametrize(("kind", "brushes"), [("three-phase induction", False), ("universal", True), ("dc", True)])
def test_the_motor_is_inspected_before_anything_is_measured(kind, brushes):
    first = str(plan_of(kind).steps[0])
    assert first.startswith("Power off. Inspect and write down: bearings, shaft")
    assert "frame earth" in first
    assert ("brushes" in first) is brushes


def test_stop_list_has_figures_where_the_plate_gives_them():
    plan = plan_of(**PLATE, insulation_class="F")
    limits = {str(one.sign): one.limit.value for one in plan.stops if one.limit is not None}
    assert limits["current above the plate for long"] == 3.4
    assert limits["winding temperature"] == pytest.approx(273.15 + 20.0 + 105.0)  # class F, IEC 60034-1, Table 8
    assert limits["speed below"] == pytest.approx(1340.0 * RPM)
    assert limits["scale at its limit"] == 5.0
    assert limits["brake current"] == 12.0
    most = max(point.current.value for point in plan.points if point.current is not None)
    assert limits["current at any load"] > most


def test_stop_list_without_figures_still_names_the_signs():
    plan = plan_of("universal", rig=make_rig("torque sensor"))
    signs = " ".join(str(one.sign) for one in plan.stops)
    for word in ("current", "winding temperature", "smell", "noise", "vibration", "sparks", "runs away"):
        assert word in signs
    assert any("class not known, taken as A" in str(one.basis) for one in plan.stops)


def test_precautions_defer_to_local_codes_and_name_what_asks_for_them():
    plan = plan_of(
        "single-phase induction", rig=make_rig("arm", tachometer=Tachometer(magnet=TachometerMagnet(0.001, 0.02)))
    )
    told = " ".join(str(one.text) for one in plan.precautions)
    assert "the local code takes precedence" in str(plan.precautions[0].text)
    for word in (
        "locked off",
        "Emergency stop",
        "earthed",
        "guarded",
        "Eye protection",
        "Capacitors",
        "magnet",
        "Hot surfaces",
    ):
        assert word in told
    assert all(str(one.because) for one in plan.precautions)
    assert "cannot fall off" in " ".join(str(one.text) for one in plan_of("universal").precautions)


def test_starting_current_by_the_code_letter():
    """NEMA MG 1, 10.37.2: letter G is 5.6 to 6.3 kVA/hp; 10 hp at 460 V three-phase, so 70.3 to 79.1 A."""
    plan = plan_of(power=10 * 745.699872, voltage=460.0, speed=1760 * RPM, code_letter="G")
    assert plan.starting.least_current.value == pytest.approx(70.3, abs=0.05)
    assert plan.starting.most_current.value == pytest.approx(79.1, abs=0.05)
    assert "no code letter on the plate" in str(plan_of(**PLATE).starting.basis)


def test_breakdown_is_refused_where_the_rig_holds_too_little_and_left_open_where_it_states_nothing():
    """IEC 60034-1, 9.4.1 (from memory): 1.6 times rated torque at least, here 16.1 N*m."""
    held = plan_of(**PLATE).breakdown
    assert held.least.value == pytest.approx(1.6 * 1500.0 / (1420.0 * RPM))
    assert str(held.words).startswith("Possible up to 24.5 N·m; breakdown is at 16.1 N·m or more.")
    small = plan_of(rig=make_rig("arm", limits=RigLimits(torque=12.0)), **PLATE).breakdown
    assert (
        str(small.words)
        == "Do not run to breakdown: needs 16.1 N·m or more, the rig holds 12.0 N·m from 70 % to 95 % of synchronous speed."
    )
    assert "is not stated" in str(plan_of(rig=make_rig("arm"), **PLATE).breakdown.words)
    assert "synchronous speed is not known" in str(plan_of().breakdown.words)


def test_the_envelope_bounds_breakdown_at_its_weakest_speed():
    envelope = make_table(speed=[0.0, 1000 * RPM, 2000 * RPM], torque=[0.0, 10.0, 40.0])
    assert plan_of(envelope=envelope, **PLATE).breakdown.rig_holds.value == pytest.approx(11.5, rel=1e-6)  # at 1050 rpm


def test_meters_too_small_are_said():
    meters = Meters(
        voltage=Voltmeter(full_scale=300.0), current=Ammeter(full_scale=3.5), input_power=Wattmeter(full_scale=1000.0)
    )
    plan = plan_of(rig=make_rig("arm", limits=LIMITS, meters=meters), **PLATE, efficiency=0.8, code_letter="J")
    told = " ".join(map(str, plan.rig_notes))
    assert "The voltmeter reads to 300 V, 400 V is expected: use a larger range." in told
    assert "The ammeter reads to 3.50 A, 4.00 A is expected: use a larger range." in told
    assert "The wattmeter reads to 1.00 kW, 1.88 kW is expected" in told
    assert "short out the ammeter until the motor runs" in told


def test_columns_to_read_follow_the_meters():
    assert [one.name for one in plan_of(**PLATE).columns] == [
        "speed", "scale", "voltage", "current_a", "current_b", "current_c", "input_power", "frame_temperature",
    ]  # fmt: skip
    rig = make_rig("rope", scale=Scale("force"), meters=Meters(current=Ammeter()))
    assert [(one.name, one.unit) for one in plan_of("dc", rig=rig).columns] == [
        ("speed", "rpm"), ("scale", "N"), ("scale_2", "N"), ("current", "A"), ("frame_temperature", "degC"),
    ]  # fmt: skip


def test_the_plan_is_plain_data_with_units():
    tree = json.loads(json.dumps(as_tree(plan_of(**PLATE)), allow_nan=False))
    assert tree["rated_torque"]["unit"] == "N*m"
    assert tree["points"][2]["scale"]["unit"] == "kg"
    assert tree["points"][2]["name"] == {"key": "plan.load.part", "values": {"part": 1.0}, "text": "100 %"}
    assert tree["inputs"] == {"job.yaml": "0" * 64}


# Motors that may race, loads that are refused, and one limit of temperature.


def may_race():
    """Kinds and excitations; a field that is not stated may be in series."""
    return [("universal", None), ("other", None), ("dc", None), ("dc", "series"), ("dc", "compound")]


def motor_plan(kind, excitation, rig=None, **plate):
    job = make_job(kind, **plate)
    job = replace(job, motor=replace(job.motor, excitation=excitation))
    return make_plan(job, rig or make_rig("arm", limits=LIMITS), None, {})


@pytest.mark.parametrize("plate", [{"power": 150.0, "speed": 6450 * RPM, "current": 1.2}, {"current": 1.2}, {}])
@pytest.mark.parametrize(("kind", "excitation"), may_race())
def test_a_motor_that_may_race_is_never_told_to_unload(kind, excitation, plate):
    """Common practice, no source: a series motor runs away without its load."""
    plan = motor_plan(kind, excitation, **plate)
    assert {(one.act, one.brake_on, one.action) for one in plan.stops} == {("switch off", True, "switch_off_brake_on")}
    said = " ".join(map(str, plan.steps))
    assert "nload" not in said  # neither 'unload' nor 'Unload'
    assert "Switch off, brake on. When the shaft stands, free the absorber" in said
    assert "load secured" in said or any("cannot fall off" in str(one.text) for one in plan.precautions)
    lines = plan_text(plan, "job").split("stop list:\n")[1].split("before power")[0].splitlines()
    assert len(lines) == len(plan.stops)
    assert all(line.startswith("  switch off, brake on: ") for line in lines)


@pytest.mark.parametrize(
    ("kind", "excitation"),
    [("dc", "permanent magnet"), ("dc", "shunt"), ("dc", "separate"), ("three-phase induction", None)],
)
def test_others_are_unloaded_where_that_is_enough(kind, excitation):
    plan = motor_plan(kind, excitation, **PLATE)
    assert {one.act for one in plan.stops} == {"unload", "switch off"}
    assert not any(one.brake_on for one in plan.stops)
    assert str(plan.steps[-1]).startswith("Unload, switch off, read the zero after.")


def test_a_motor_without_synchronous_speed_stops_at_the_greatest_speed_of_the_rig():
    limits = RigLimits(torque=30.0, speed=1200.0 * RPM, tachometer_speed=9000.0 * RPM)
    rig = make_rig("arm", limits=limits, drive=Drive("belt", 3.0, 0.95))
    plan = motor_plan("universal", None, rig, power=150.0, speed=3000 * RPM)
    (stop,) = [one for one in plan.stops if str(one.sign) == "speed above"]
    assert stop.limit.value == pytest.approx(3600.0 * RPM)  # three times the absorber's


def test_no_step_asks_for_a_load_the_rig_refuses():
    limits = RigLimits(torque=6.0)  # rated torque is 10.1 N*m: 50 and 25 % are left
    plan = plan_of(rig=make_rig("arm", limits=limits), **PLATE)
    said = " ".join(map(str, plan.steps))
    assert "Warm up at 50 % load" in said
    assert "Take the loads as listed from 50 % down" in said
    refused = [str(point.name) for point in plan.points if point.holds is False]
    assert refused == ["125 %", "115 %", "100 %", "75 %"]
    assert not any(f"{name} load" in said or f"from {name}" in said for name in refused)
    assert "rated load" not in said


def test_warming_up_ends_with_what_the_absorber_or_the_duty_allows():
    heat = AbsorberHeat(800.0, ShortTime(1600.0, 300.0))
    warm = plan_of(rig=make_rig("arm", limits=RigLimits(torque=30.0), absorber_heat=heat), **PLATE)
    assert "Warm up at 100 % load, 5.4 min at most from a cold absorber." in map(str, warm.steps)
    short = plan_of(**PLATE, duty="S2 10 min")
    assert "Warm up at 100 % load, as far as its duty S2 10 min allows." in map(str, short.steps)


@pytest.mark.parametrize("ambient", [None, 293.15, 308.15])
@pytest.mark.parametrize("duty", ["S1", "S2 10 min"])
@pytest.mark.parametrize("highest", [None, 273.15 + 55.0])
def test_the_winding_stops_where_the_verdict_fails_it(ambient, duty, highest):
    """The same function gives the rise of the finding, by class, duty and the ambient of the plate."""
    conditions = Conditions(ambient=ambient)
    plan = plan_of(conditions=conditions, **PLATE, insulation_class="B", duty=duty, ambient=highest)
    job = make_job(conditions=conditions, **PLATE, insulation_class="B", duty=duty, ambient=highest)
    (stop,) = [one for one in plan.stops if str(one.sign) == "winding temperature"]
    allowed = allowed_rise(job, None, DEFAULT)
    assert stop.limit.value == pytest.approx((ambient or 293.15) + allowed.rise)
