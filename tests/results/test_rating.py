from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Toleranced
from certgen.job.model import Conditions, Gear
from certgen.job.rig import Ammeter, Meters, Tachometer, TorqueMeter, Voltmeter
from certgen.quantity import Quantity
from certgen.reduction.reduce import reduce_test
from certgen.results.model import Characteristic, Thermal
from certgen.results.rating import Evidence, LoadLimit, assessed_rating, greatest_step, torque_limit, up_to
from certgen.standards.ratings import HP, KW, ladder, step_at_or_below

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
SPEED = np.array([1493, 1476, 1459, 1441, 1421, 1396, 1370]) * RPM
TORQUE = np.array([0.03, 2.6, 5.1, 7.6, 10.1, 12.6, 15.0])
CURRENT = np.array([1.9, 2.1, 2.5, 2.95, 3.4, 4.05, 4.8])
LOSSES = np.array([150, 175, 205, 260, 340, 450, 590])
#: The heat run below was made at the fifth point: 1503 W and 340 W of losses.
HELD = 3.4


def kelvin(value):
    return Quantity(value, "K")


#: A winding at 50 K, and a run whose exponential has 1 K of 41 K still to go: 51.25 K in the end.
STEADY = Thermal(winding_rise=kelvin(50.0), final_rise=kelvin(41.0), remaining_rise=kelvin(1.0), steady=True)
BREAKDOWN = Characteristic(poles=4, breakdown_torque=Quantity(30.0, "N*m"))


def evidence(plate=None, *, kind="three-phase induction", watts=True, heat_run=True, frequency=50.0, last=None, **more):
    columns = {"speed": SPEED, "torque": TORQUE, "voltage": np.full(7, 400.0), "current": CURRENT}
    if watts:
        columns["input_power"] = TORQUE * SPEED + LOSSES
    readings = make_readings(**{name: values[:last] for name, values in columns.items()})
    if heat_run:
        run = make_table(time=[0.0, 3600.0, 7200.0], frame_temperature=[293.0, 330.0, 333.0], current=[HELD] * 3)
        readings = replace(readings, others={"heat_run": run})
    job = make_job(kind, Conditions(supply_frequency=frequency), **(plate or {}))
    kept = {"characteristic": BREAKDOWN, "thermal": STEADY, "criteria": "iec-60034-1", **more}
    return Evidence(job, make_rig(), readings, reduce_test(job, make_rig(), readings), **kept)


def test_a_plate_with_its_power_leaves_nothing_to_assess():
    assert assessed_rating(evidence({"power": 1500.0})) is None


def test_the_least_of_the_limits_brought_down_to_the_ladder():
    """Heat: 340 W of losses at 51.25 K, class A allows 60 K: 398 W, between 1503 W and 1842 W of power.

    By hand, the curve straight between the two points: 1503 + (398 - 340) / (450 - 340) x 339 = 1682 W; so 1.5 kW.
    """
    rating = assessed_rating(evidence())
    assert rating.power_label == "1.5 kW"
    assert rating.power.value == pytest.approx(1500.0)
    assert str(rating.words) == "Rating assessed by this bench, not a maker's rating"
    assert str(rating.limited_by) == "the heat run"
    assert rating.current.value == pytest.approx(3.4, abs=0.01)
    assert rating.torque.value * rating.speed.value == pytest.approx(1500.0, rel=1e-4)
    assert rating.service_factor.value == 1.0
    assert rating.to_measure == ()
    heat = next(one for one in map(str, rating.basis) if one.startswith("Heat"))
    assert "class A assumed, as none is marked" in heat
    assert "60 K allowed" in heat
    assert "up to 1.7 kW" in heat  # the curve bends between the two points


def test_a_marked_insulation_class_is_used_and_scaling_has_an_end():
    """Class F allows 105 K, twice the rise: taken no further than 1.25 times the losses, 425 W or about 1766 W."""
    rating = assessed_rating(evidence({"insulation_class": "F"}))
    heat = next(one for one in map(str, rating.basis) if one.startswith("Heat"))
    assert "105 K allowed" in heat
    assert "limited to 1.25 times the losses of the run" in heat
    assert "assumed" not in heat
    assert rating.power_label == "1.5 kW"


def test_a_hotter_place_on_the_plate_allows_less():
    cooler, hotter = (assessed_rating(evidence({"ambient": 273.15 + degrees})) for degrees in (40, 55))
    assert cooler.power_label == "1.5 kW"
    assert "45 K allowed" in str(hotter.basis[0])
    assert hotter.power.value < cooler.power.value


def test_breakdown_torque_holds_the_rating_down():
    """IEC 60034-1, 9.4.1, from memory: 1.6 times rated torque; 1.1 kW at about 1445 rpm is 7.3 N*m, so 11.6."""
    weak = replace(BREAKDOWN, breakdown_torque=Quantity(12.0, "N*m"))
    rating = assessed_rating(evidence(characteristic=weak))
    assert rating.power_label == "1.1 kW"
    assert str(rating.limited_by) == "the breakdown torque"
    assert any("1.6 times rated torque or more" in one for one in map(str, rating.basis))


def test_slip_holds_the_rating_down():
    """A plate that gives 1459 rpm and no more: the motor gives 779 W there."""
    rating = assessed_rating(evidence(plate={"speed": 1459 * RPM, "frequency": 50.0}))
    assert rating.power_label == "0.75 kW"
    assert str(rating.limited_by) == "the slip"
    assert any("speed on the plate" in one for one in map(str, rating.basis))


def test_usual_slip_holds_no_rating_down_that_heat_and_breakdown_torque_allow():
    """The motor of this page 12 % slower: slower than any usual one (1300 rpm at four poles), and it bears the load."""
    slow = replace(evidence(), reduction=reduce_slow(0.88))
    rating = assessed_rating(slow)
    assert str(rating.limited_by) != "the slip"
    assert not any(one.startswith("Slip") for one in map(str, rating.basis))
    assert rating.power.value >= 1100.0


def reduce_slow(part):
    """The motor of this page turning slower by a part at every load but the lightest."""
    speed = np.concatenate([SPEED[:1], SPEED[1:] * part])
    readings = make_readings(
        speed=speed, torque=TORQUE, voltage=np.full(7, 400.0), current=CURRENT, input_power=TORQUE * speed + LOSSES
    )
    return reduce_test(make_job(conditions=Conditions(supply_frequency=50.0)), make_rig(), readings)


def test_nothing_is_rated_beyond_the_test():
    rating = assessed_rating(evidence(thermal=replace(STEADY, winding_rise=kelvin(20.0)), last=6))
    assert rating.power.value <= 12.6 * 1396 * RPM


def test_horsepower_under_nema_criteria_with_design_b_in_reserve():
    """NEMA MG 1, 12.39.1, from memory: 280 % at 1.5 hp and 270 % at 2 hp, four poles; 2 hp here is 10.0 N*m."""
    rated = assessed_rating(evidence(criteria="nema-mg-1"))
    assert rated.power_label == "2 hp"
    weaker = replace(BREAKDOWN, breakdown_torque=Quantity(26.9, "N*m"))
    assert assessed_rating(evidence(criteria="nema-mg-1", characteristic=weaker)).power_label == "1.5 hp"


def wanted(**change):
    return " | ".join(map(str, assessed_rating(evidence(**change)).to_measure))


def test_what_is_missing_is_named_and_nothing_else():
    assert wanted() == ""
    assert wanted(heat_run=False, thermal=None) == (
        "a heat run at the load the motor is to be rated for | "
        "winding resistance cold, and hot right after the heat run"
    )
    assert (
        wanted(thermal=replace(STEADY, winding_rise=None))
        == "winding resistance cold, and hot right after the heat run"
    )
    assert wanted(thermal=replace(STEADY, steady=False)) == "the heat run until the temperature is steady"
    assert wanted(thermal=replace(STEADY, steady=None)) == "the heat run until the temperature is steady"
    assert wanted(characteristic=Characteristic(poles=4)).startswith("the load test past breakdown")
    assert wanted(watts=False) == "input power in the load test, for the losses that heat the motor"
    assert wanted(characteristic=replace(BREAKDOWN, poles=None)).startswith("supply frequency and a row at light load")


def test_a_run_steady_from_its_beginning_needs_no_exponential():
    """50 K then is the final rise: 340 W x 60 / 50 = 408 W of losses."""
    flat = Thermal(winding_rise=kelvin(50.0), steady=True)
    rating = assessed_rating(evidence(thermal=flat))
    assert rating.power_label == "1.5 kW"
    assert "a rise of 50 K" in str(rating.basis[0])


def test_with_too_few_rows_everything_is_asked_for():
    rating = assessed_rating(evidence(last=2))
    assert rating.power is None
    assert len(rating.to_measure) == 4
    assert str(rating.words).startswith("No rating was assessed")


def test_a_rating_with_something_missing_is_none():
    rating = assessed_rating(evidence(thermal=replace(STEADY, steady=False)))
    assert (rating.power, rating.power_label, rating.current) == (None, "", None)
    assert any(one.startswith("Slip") for one in map(str, rating.basis))  # what is known still stands


@pytest.mark.parametrize("plate", [{}, {"current": 3.4}])
@pytest.mark.parametrize("which", [np.s_[:0], np.s_[-1:], np.s_[2:5], np.s_[1:]])
def test_points_that_cannot_be_true_are_no_part_of_what_is_rated(plate, which):
    """Whatever reduction leaves of such a test is rated like any other; nothing breaks, and nothing is extrapolated."""
    columns = {"speed": SPEED, "torque": TORQUE, "current": CURRENT, "input_power": TORQUE * SPEED + LOSSES}
    columns["input_power"][which] = 1.0
    job = make_job(conditions=Conditions(supply_frequency=50.0), **plate)
    readings = make_readings(**columns)
    reduction = reduce_test(job, make_rig(), readings)
    rating = assessed_rating(Evidence(job, make_rig(), readings, reduction, BREAKDOWN, STEADY, "iec-60034-1"))
    believed = np.where(reduction.points.impossible, -np.inf, reduction.points.shaft_power)
    assert rating.power is None or rating.power.value <= 1.05 * float(believed.max())


def test_a_load_that_pulled_the_wrong_way_is_rated_nothing():
    readings = make_readings(speed=SPEED, torque=-TORQUE, current=CURRENT, input_power=TORQUE * SPEED + LOSSES)
    job = make_job(conditions=Conditions(supply_frequency=50.0))
    reduction = reduce_test(job, make_rig(), readings)
    rating = assessed_rating(Evidence(job, make_rig(), readings, reduction, BREAKDOWN, STEADY, "iec-60034-1"))
    assert rating.power is None


def test_a_motor_too_weak_for_the_ladder_gets_no_step():
    rating = assessed_rating(evidence(characteristic=replace(BREAKDOWN, breakdown_torque=Quantity(0.2, "N*m"))))
    assert rating.power is None
    assert rating.to_measure == ()
    assert "No preferred rating from 0.06 kW up" in str(rating.basis[-1])


def test_current_on_the_plate_is_taken_as_the_rating_and_not_rounded_up():
    """3.9 A lies between 3.4 A at 1503 W and 4.05 A at 1842 W; the label is the step below, 1.5 kW."""
    rating = assessed_rating(evidence({"current": 3.9, "voltage": 400.0}, heat_run=False, thermal=None))
    assert 1503.0 < rating.power.value < 1842.0
    assert rating.power_label == "1.5 kW"
    assert rating.current.value == pytest.approx(3.9, rel=1e-6)
    assert str(rating.limited_by) == "the current on the plate"
    assert "not rated for continuous duty" in str(rating.basis[-1])


def test_continuous_duty_is_claimed_only_where_the_load_was_held():
    held = assessed_rating(evidence({"current": 3.4}))
    beyond = assessed_rating(evidence({"current": 3.9}))
    unsteady = assessed_rating(evidence({"current": 3.4}, thermal=replace(STEADY, steady=False)))
    assert "Held in the heat run until steady" in str(held.basis[-1])
    assert "not rated for continuous duty" in str(beyond.basis[-1])
    assert "not rated for continuous duty" in str(unsteady.basis[-1])


def test_a_current_the_test_did_not_reach_asks_for_it():
    rating = assessed_rating(evidence({"current": 6.0}))
    assert rating.power is None
    assert tuple(map(str, rating.to_measure)) == ("load points on both sides of the current on the plate, 6 A",)


def test_one_row_near_the_current_is_rated_there():
    readings = make_readings(speed=[1421 * RPM], torque=[10.1], voltage=[400.0], current=[3.46], input_power=[1843.0])
    job = make_job(conditions=Conditions(supply_frequency=50.0), current=3.4)
    one = Evidence(
        job, make_rig(), readings, reduce_test(job, make_rig(), readings), Characteristic(), None, "iec-60034-1"
    )
    rating = assessed_rating(one)
    assert rating.power.value == pytest.approx(10.1 * 1421 * RPM)
    assert "Judged at a tested point, +1.8 % off rated current." in " ".join(map(str, rating.basis))


def test_a_geared_motor_is_rated_at_its_output_shaft():
    rating = assessed_rating(evidence({"current": 3.4, "gear": Gear(ratio=15.0)}))
    assert str(rating.words).endswith("at the output shaft of its gear")


def test_a_direct_current_motor_needs_no_breakdown_but_torque_in_reserve():
    """IEC 60034-1, 9.4.1, from memory: 1.6 times rated torque was shown: 15.0 N*m, so 9.4 N*m or about 1.4 kW."""
    rating = assessed_rating(evidence(kind="dc", characteristic=Characteristic()))
    assert rating.power_label == "1.1 kW"
    assert str(rating.limited_by) == "the greatest torque tested"
    assert not any("lip" in one for one in map(str, rating.basis))


def test_no_limit_of_rise_for_other_machines_is_invented():
    rating = assessed_rating(evidence(kind="other", characteristic=Characteristic()))
    assert rating.power is None
    assert "no limit of temperature rise is tabled for 'other'" in str(rating.to_measure[0])


powers = st.lists(st.floats(50.0, 1.2e6), min_size=1, max_size=5)


@given(powers, st.floats(50.0, 1.2e6), st.sampled_from([HP, KW]))
def test_the_step_is_the_least_limit_brought_down(limits, tighter, unit):
    """Of the ladder, above no limit, the greatest such; and one more limit never raises it."""
    steps = ladder(unit)
    found = tuple(up_to(str(power), "", power) for power in limits)
    step, held = greatest_step(steps, found)
    assert step == step_at_or_below(min(limits), unit)
    assert step is None or all(one.allows(step) for one in found)
    if step != steps[-1]:
        assert held == str(min(limits))
    lower, _ = greatest_step(steps, (*found, up_to("more", "", tighter)))
    assert lower is None or (step is not None and lower.power <= step.power)


def test_a_limit_that_allows_nothing_leaves_no_step():
    step, held = greatest_step(ladder(KW), (LoadLimit("never", "", -1.0, lambda _: False),))
    assert step is None
    assert held == "never"


@given(st.floats(5.0, 60.0), st.floats(0.3, 1.0), st.floats(20.0, 60.0), st.floats(1.0, 2.0))
def test_a_weaker_or_warmer_motor_is_never_rated_higher(breakdown, weaker, rise, warmer):
    def power(torque, kelvins):
        change = {
            "characteristic": replace(BREAKDOWN, breakdown_torque=Quantity(torque, "N*m")),
            "thermal": replace(STEADY, winding_rise=kelvin(kelvins)),
        }
        found = assessed_rating(replace(base, **change)).power
        return 0.0 if found is None else found.value

    base = evidence()
    assert power(breakdown * weaker, rise * warmer) <= power(breakdown, rise)


# A step within the uncertainty of the power is its label.


def hp(value):
    return value * 745.699872


@pytest.mark.parametrize(
    ("power", "uncertainty", "label"),
    [
        (0.498, 0.0, "1/3 hp"),
        (0.498, 0.02 * 0.498, "1/2 hp"),
        (0.498, 0.0019, "1/3 hp"),
        (0.500, 0.0, "1/2 hp"),
        (0.480, 0.10, "1/2 hp"),  # 4.2 % short
        (0.470, 0.10, "1/3 hp"),  # 6.4 % short, however uncertain
        (0.740, 0.02, "3/4 hp"),
    ],
)
def test_a_power_reaches_a_step_within_its_uncertainty(power, uncertainty, label):
    assert step_at_or_below(hp(power), HP, hp(uncertainty)).label == label
    step, _ = greatest_step(ladder(HP), (up_to("heat", "", hp(power), hp(uncertainty)),))
    assert step.label == label


def nearly_half_horsepower(tolerance, rows):
    """A plate of 7 A, where the shaft gives 0.498 hp, read by a torque sensor of a stated accuracy."""
    taken = slice(1, 2) if rows == 1 else slice(0, 3)
    speed = np.array([1747.0, 1725.0, 1708.0]) * RPM
    readings = make_readings(
        speed=speed[taken],
        torque=(hp(0.498) / speed[1] * np.array([0.7, 1.0, 1.2]))[taken],
        voltage=np.full(3, 115.0)[taken],
        current=np.array([6.0, 7.0, 7.9])[taken],
    )
    meters = Meters(torque=TorqueMeter(tolerance), current=Ammeter(0.001), voltage=Voltmeter(0.001))
    rig = make_rig(meters=meters, tachometer=Tachometer(tolerance=0.1), tare_torque=Toleranced(0.0, 1e-6))
    job = make_job("single-phase induction", Conditions(supply_frequency=60.0), current=7.0)
    reduction = reduce_test(job, rig, readings)
    return assessed_rating(Evidence(job, rig, readings, reduction, Characteristic(), None, "nema-mg-1"))


@pytest.mark.parametrize(
    ("rows", "tolerance", "label"), [(1, 0.02, "1/2 hp"), (1, 0.0001, "1/3 hp"), (3, 0.02, "1/2 hp")]
)
def test_half_a_horsepower_within_its_uncertainty_is_no_third(rows, tolerance, label):
    """The measured power stays what it is, with its uncertainty; the step is a label beside it."""
    rating = nearly_half_horsepower(tolerance, rows)
    assert rating.power_label == label
    assert rating.power.value == pytest.approx(hp(0.498), rel=1e-6)
    assert rating.power.expanded_uncertainty > 0.0
    assert ("next rating up, within the uncertainty" in " ".join(map(str, rating.basis))) is (label == "1/2 hp")


def test_a_breakdown_torque_short_by_less_than_its_reading_may_be_off_allows_the_step():
    """1.1 kW at 1.6 times asks 11.7 N*m (IEC 60034-1, 9.4.1, from memory)."""
    tested = evidence(characteristic=replace(BREAKDOWN, breakdown_torque=Quantity(11.5, "N*m")))
    step = next(one for one in ladder(KW) if one.label == "1.1 kW")
    kind, curve = tested.job.motor.type, tested.reduction.curve
    allowed = [
        torque_limit(kind, tested.characteristic, curve, ladder(KW), spread=spread).allows(step)
        for spread in (0.0, 0.4)
    ]
    assert allowed == [False, True]


def test_points_far_apart_about_breakdown_give_no_higher_rating():
    """What the spacing of the points leaves open is in the uncertainty of breakdown torque, and allows nothing."""
    short = Quantity(11.5, "N*m")
    open_by_spacing = replace(short, expanded_uncertainty=0.4, coverage_factor=2.0)
    labels = [
        assessed_rating(evidence(characteristic=replace(BREAKDOWN, breakdown_torque=torque))).power_label
        for torque in (short, open_by_spacing)
    ]
    assert labels == ["0.75 kW", "0.75 kW"]


@pytest.mark.parametrize("rows", [1, 3])
def test_an_accuracy_that_nobody_stated_gives_no_higher_step(rows):
    """0.498 hp by a sensor of 1 % is within its uncertainty of 1/2 hp; by one of which nothing is said it is not."""
    stated, unstated = nearly_half_horsepower(0.01, rows), nearly_half_horsepower(None, rows)
    assert unstated.power.expanded_uncertainty > 0.002 * unstated.power.value
    assert unstated.power.assumed
    assert (stated.power_label, unstated.power_label) == ("1/2 hp", "1/3 hp")
