"""Propagation through the whole chain: closed forms, simulation, correlation, and what is not known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.job.model import Conditions, Job
from certgen.messages.catalogue import Message
from certgen.physics.curves import ShapePreserving
from certgen.reduction.load_curve import READ_OFF_BY, LoadCurve, fit_load_curve, read_off
from certgen.reduction.model import LoadPoints, OperatingPoint, Poles
from certgen.reduction.reduce import derivation, measured_points
from certgen.reduction.uncertainty.interpolation import _is_wide, interpolation_error
from certgen.reduction.uncertainty.model import Measured, UncertainInput, Uncertainties
from certgen.reduction.uncertainty.propagation import Fitted, propagate, row_errors

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
POLES = Poles(4, "nameplate")
SPEED = np.array([1493.0, 1476.0, 1459.0, 1441.0, 1421.0, 1396.0]) * RPM
SCALE = np.array([0.01, 0.53, 1.04, 1.55, 2.06, 2.57])
CURRENT = np.array([1.9, 2.1, 2.5, 2.95, 3.4, 4.05])
LOSSES = np.array([150.0, 175.0, 205.0, 260.0, 340.0, 450.0])


def a_job(**plate: float) -> Job:
    wanted = {"power": 1400.0, "current": 3.2, "speed": 1431 * RPM, "poles": 4, **plate}
    return make_job(conditions=Conditions(supply_frequency=50.0), **wanted)


def a_bench() -> Measured:
    shaft = SCALE * 9.80665 * 0.5 * SPEED
    readings = make_readings(
        speed=SPEED, scale=SCALE, voltage=np.full(6, 400.0), current=CURRENT, input_power=shaft + LOSSES
    )
    return Measured(make_rig("arm"), readings, None)


def column(name: str, *, gain: bool = False):
    """A perturb of one column, by a part of the reading or by an amount."""

    def perturb(measured: Measured, error):
        table = measured.readings.load_test
        values = table.columns[name]
        moved = {**table.columns, name: values * (1.0 + error) if gain else values + error}
        return replace(measured, readings=replace(measured.readings, load_test=replace(table, columns=moved)))

    return perturb


def lengthen(measured: Measured, error):
    arm = measured.rig.arm_length
    return replace(measured, rig=replace(measured.rig, arm_length=replace(arm, value=arm.value + error)))


def an_input(name, unit, size, perturb, *, shared=True, freedom=math.inf, to_state=None):
    step = 0.001 if math.isnan(size) else size
    return UncertainInput(name, unit, size, perturb, shared, step, degrees_of_freedom=freedom, to_state=to_state)


ARM = an_input(Message("input.arm_length"), "m", 0.001, lengthen)
RESOLUTION = an_input(Message("input.resolution", instrument="scale"), "kg", 0.003, column("scale"), shared=False)
PULSES = an_input(Message("input.one_pulse"), "rad/s", 0.05, column("speed"), shared=False)
WATTS = an_input(Message("instrument.wattmeter"), "1", 0.005, column("input_power", gain=True))
AMPERES = an_input(Message("instrument.ammeter"), "1", 0.01, column("current", gain=True), freedom=5)
INPUTS = (ARM, RESOLUTION, PULSES, WATTS, AMPERES)


def curve_of(points: LoadPoints, job: Job) -> LoadCurve:
    curve = fit_load_curve(points, derivation(job, POLES))
    assert curve is not None
    return curve


def read_all(curve: LoadCurve, job: Job) -> dict[str, OperatingPoint | None]:
    plate = job.nameplate
    wanted = {"at_rated_current": plate.current, "at_rated_power": plate.power, "at_rated_speed": plate.speed}
    return {name: read_off(curve, READ_OFF_BY[name], value) for name, value in wanted.items()}


def propagated(
    inputs=INPUTS, job: Job | None = None
) -> tuple[Uncertainties, LoadPoints, dict[str, OperatingPoint | None]]:
    job, measured = job or a_job(), a_bench()
    points = measured_points(measured, job, POLES)
    curve = curve_of(points, job)
    operating = read_all(curve, job)
    of_rows = row_errors(measured, inputs, points, lambda perturbed: measured_points(perturbed, job, POLES))
    found = propagate(of_rows, Fitted(curve, operating))
    return found, points, operating


def test_shaft_power_of_a_point_in_closed_form():
    """JCGM 100:2008, 5.1.6: for a product, relative variances add: arm 0.2 %, 3 g of the load, 0.05 rad/s of the speed."""
    found, points, _ = propagated()
    row = 4
    relative = math.hypot(0.001 / 0.5, 0.003 / SCALE[row], 0.05 / SPEED[row])
    doubt = found.points[row]["shaft_power"]
    assert doubt.standard == pytest.approx(relative * points.shaft_power[row], rel=1e-6)
    assert doubt.coverage_factor == 2.0
    assert doubt.expanded == pytest.approx(2.0 * doubt.standard)


def test_a_gain_leaves_a_ratio_of_the_same_meters_readings_alone():
    """Shared errors stay correlated: the wattmeter's gain moves all input powers alike, so their ratio not at all."""
    found, _, _ = propagated((WATTS,))
    light, rated = (
        found.correlated["at_rated_power"]["input_power"],
        found.correlated["at_rated_current"]["input_power"],
    )

    def by_gain(value):
        return sum(slope for variable, slope in value.derivatives.items() if variable.std_dev == 0.005)

    assert by_gain(light) == pytest.approx(light.nominal_value)
    assert by_gain(light / rated) == pytest.approx(0.0, abs=1e-6)


def test_operating_points_agree_with_simulation():
    """JCGM 101:2008: the chain run on 400 draws; a standard deviation from 400 draws is sure to 3.5 %, so 12 % is wide."""
    found, _, _ = propagated()
    job, rng = a_job(), np.random.default_rng(20260101)
    seen: dict[str, list[list[float]]] = {name: [] for name in found.operating}
    quantities = ("torque", "shaft_power", "input_power", "efficiency", "current", "slip")
    for _ in range(400):
        measured = a_bench()
        for one in INPUTS:
            size = one.standard_uncertainty
            measured = one.perturb(measured, rng.normal(0.0, size) if one.shared else rng.normal(0.0, size, 6))
        for name, point in read_all(curve_of(measured_points(measured, job, POLES), job), job).items():
            assert point is not None
            seen[name].append([float(getattr(point.point, quantity)[0]) for quantity in quantities])
    for name, rows in seen.items():
        spread = np.std(rows, axis=0)
        for quantity, simulated in zip(quantities, spread, strict=True):
            value = found.correlated[name][quantity]
            if READ_OFF_BY[name] == quantity or (name, quantity) == ("at_rated_speed", "slip"):
                assert found.operating[name][quantity].standard is None  # met exactly by being read off there
                continue
            without_curve = math.hypot(
                *(
                    size
                    for variable, size in value.error_components().items()
                    if abs(size) > 0 and is_tested(variable, found)
                )
            )
            assert without_curve == pytest.approx(simulated, rel=0.12), (name, quantity)


def is_tested(variable, found: Uncertainties) -> bool:
    """Whether a variable is an error of a reading, which simulation draws; interpolation it does not."""
    return variable.std_dev in {one.standard_uncertainty for one in found.inputs}


RESOLUTION_NEEDED = Message("to_state.scale_resolution")


def test_what_is_not_known_is_said_and_leaves_what_does_not_depend_on_it():
    unknown = an_input(Message("instrument.scale"), "kg", math.nan, column("scale"), to_state=RESOLUTION_NEEDED)
    found, _, _ = propagated((ARM, unknown, PULSES, WATTS))
    point = found.points[3]
    assert point["torque"].expanded is None
    assert point["torque"].missing_inputs == (RESOLUTION_NEEDED,)
    assert point["efficiency"].missing_inputs == (RESOLUTION_NEEDED,)
    assert point["speed"].expanded == pytest.approx(0.1)
    assert point["input_power"].expanded is not None
    assert found.missing_inputs == (RESOLUTION_NEEDED,)
    assert found.budgets["at_rated_current"]["shaft_power"] == ()
    rated = found.operating["at_rated_current"]
    assert rated["torque"].missing_inputs == (RESOLUTION_NEEDED,)
    assert rated["input_power"].expanded is not None  # the same error at every load only names the loads anew


def test_few_degrees_of_freedom_widen_the_coverage():
    """JCGM 100:2008, table G.2: 95.45 % with 5 degrees of freedom takes k = 2.65."""
    found, _, _ = propagated((AMPERES,))
    assert found.points[0]["current"].coverage_factor == pytest.approx(2.65, abs=0.005)


def test_budget_is_complete_and_sorted():
    found, _, _ = propagated()
    for lines in found.budgets["at_rated_current"].values():
        assert sum(line.share for line in lines) == pytest.approx(1.0 if lines else 0.0)
        assert [line.share for line in lines] == sorted((line.share for line in lines), reverse=True)
    power = {str(line.name): line for line in found.budgets["at_rated_current"]["shaft_power"]}
    assert next(iter(power)) == "ammeter"
    assert power["arm length"].contribution == pytest.approx(abs(power["arm length"].sensitivity) * 0.001)


def test_an_interpolated_curve_is_sure_at_its_points_and_less_so_between():
    curve = ShapePreserving(np.array([0.0, 1.0, 2.0, 3.0, 4.0]), np.array([0.0, 0.5, 2.0, 2.5, 2.6]))
    assert interpolation_error(curve, 2.0) == pytest.approx(0.0, abs=1e-12)
    # Halfway, by hand: cubic (-0.5 + 9 * 2.0 + 9 * 2.5 - 2.6) / 16; curve 2.25 + (3/4 - 1/6) / 8.
    difference = (-0.5 + 18.0 + 22.5 - 2.6) / 16.0 - (2.25 + (0.75 - 1.0 / 6.0) / 8.0)
    assert interpolation_error(curve, 2.5) == pytest.approx(difference / math.sqrt(3.0))
    straight = ShapePreserving(np.arange(5.0), 3.0 * np.arange(5.0))
    assert interpolation_error(straight, 1.3) == pytest.approx(0.0, abs=1e-12)


def test_three_points_do_not_tell_how_a_curve_bends():
    """A current sqrt(i0^2 + (k T)^2) read at 25, 80 and 120 % of rated torque: the error is within twice the term."""
    knots, torque = np.array([2.5, 8.0, 12.0]), np.linspace(2.6, 11.9, 40)
    truth = np.hypot(1.9, 0.279 * torque)
    curve = ShapePreserving(knots, np.hypot(1.9, 0.279 * knots))
    errors = np.abs(np.asarray(curve(torque)) - truth)
    standard = np.array([interpolation_error(curve, one) for one in torque.tolist()])
    assert np.all(errors <= 2.0 * standard)
    chord = float(np.interp(10.0, knots, curve.y))
    assert interpolation_error(curve, 10.0) >= abs(chord - float(curve(10.0))) / math.sqrt(3.0) - 1e-12
    straight = ShapePreserving(knots, 3.0 * knots)
    assert interpolation_error(straight, 5.0) == pytest.approx(0.0, abs=1e-12)


def test_without_a_curve_the_points_still_have_theirs():
    job, measured = a_job(), a_bench()
    points = measured_points(measured, job, POLES)
    found = propagate(
        row_errors(measured, INPUTS, points, lambda perturbed: measured_points(perturbed, job, POLES)), None
    )
    assert found.operating == {}
    assert found.points[2]["torque"].expanded is not None
    assert set(found.budgets) == {"points[5]"}


def test_a_wide_segment_beside_narrow_ones_is_taken_as_wide():
    """Loads at 7 and 11.6 N*m with others close by: two close points tell little more than one."""
    knots, torque = np.array([0.4, 2.0, 6.6, 7.0, 11.6, 12.5]), np.linspace(7.2, 11.4, 20)
    curve = ShapePreserving(knots, np.hypot(1.9, 0.279 * knots))
    errors = np.abs(np.asarray(curve(torque)) - np.hypot(1.9, 0.279 * torque))
    standard = np.array([interpolation_error(curve, one) for one in torque.tolist()])
    assert np.all(errors <= 1.5 * standard)
    assert interpolation_error(curve, 11.6) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(("times", "wide"), [(2.9, False), (3.3, True)])
def test_a_segment_is_wide_from_three_times_its_neighbour_on(times, wide):
    assert _is_wide([0.0, 1.0, 2.0, 2.0 + times, 3.0 + times], 3.0) is wide
