"""The class a measured efficiency would bear; limits and their sources are tested with the tables."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig
from hypothesis import given, settings
from hypothesis import strategies as st

from certgen.job.model import Conditions, Gear
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.classes import efficiency_class

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
PLATE = {"power": 1500.0, "voltage": 400.0, "frequency": 50.0, "poles": 4}


def classed(efficiency=0.86, *, supply=50.0, volts=400.0, kind="three-phase induction", top=1.3, **plate):
    """A motor of one efficiency at every load, loaded up to ``top`` times the power of the plate."""
    plate = {**PLATE, **plate}
    power = plate["power"] or 1500.0
    output = np.array([0.02, 0.3, 0.6, 0.8, 1.0, top]) * power
    speed = 2 * math.pi * supply / ((plate["poles"] or 4) / 2) * (1 - 0.04 * output / power)
    if plate.get("gear"):
        speed = speed / plate["gear"].ratio
    readings = make_readings(
        speed=speed, torque=output / speed, input_power=output / efficiency, voltage=np.full(6, volts)
    )
    job = make_job(kind, Conditions(supply_frequency=supply), **plate)
    return efficiency_class(job, reduce_test(job, make_rig(), readings))


@pytest.mark.parametrize(
    ("efficiency", "name"), [(0.771, None), (0.773, "IE1"), (0.829, "IE2"), (0.854, "IE3"), (0.883, "IE4")]
)
def test_classes_of_a_four_pole_motor_of_1500_watts(efficiency, name):
    """IEC 60034-30-1: 77.2, 82.8, 85.3 and 88.2 % at 50 Hz."""
    assert classed(efficiency).name == name


def test_the_reason_says_indicative_and_gives_both_limits():
    assert str(classed(0.84).reason) == (
        "indicative, not declared: 84.00 % measured, output over input; IE2 needs 82.8 %, IE3 needs 85.3 %; "
        "IEC 60034-30-1:2014"
    )
    assert str(classed(0.80).reason).endswith("IE1 needs 77.2 %, IE2 needs 82.8 %; IEC 60034-30-1:2014")
    six = classed(0.912, power=30e3, poles=6)  # IE1 was read for six poles up to 11 kW
    assert str(six.reason).endswith("IE1 needs 90.2 %, IE2 needs 91.7 %; IEC 60034-30-1:2014, IE1 from memory")
    assert str(classed(0.70).reason).startswith("below IE1, indicative, not declared: 70.00 % measured")


def test_at_60_hz_no_limit_of_ie1_is_at_hand():
    found = classed(0.80, frequency=60.0, supply=60.0)
    assert found.name is None
    assert str(found.reason).startswith("below IE2 (the limit of IE1 is not in the program's tables), indicative")
    assert str(found.missing) == "Not judged: the limit of IE1 for this rating is not in the program's tables."
    assert classed(0.80).missing is None


def measured_with(efficiency, tolerance):
    """A motor of one efficiency, its input power known within a part of it, and everything else exact."""
    output = np.array([0.02, 0.3, 0.6, 0.8, 1.0, 1.3]) * 1500.0
    speed = 2 * math.pi * 25.0 * (1 - 0.04 * output / 1500.0)
    torque = output / speed
    readings = make_readings(speed=speed, torque=torque, input_power=output / efficiency, voltage=np.full(6, 400.0))
    job = make_job(conditions=Conditions(supply_frequency=50.0), **PLATE)
    reduction = reduce_test(job, make_rig(), readings)
    known = Uncertainty(tolerance / 2, None, 2.0, tolerance)
    uncertainties = replace(reduction.uncertainties, operating={"at_rated_power": {"efficiency": known}})
    return efficiency_class(job, replace(reduction, uncertainties=uncertainties))


@pytest.mark.parametrize(
    ("efficiency", "tolerance", "told"),
    [
        (0.8252, 0.0081, "IE1, perhaps IE2"),  # IE2 needs 82.8 %
        (0.8290, 0.0081, "IE2, perhaps IE1"),
        (0.8252, 0.0020, None),
        (0.8290, 0.0300, "IE2, perhaps IE1 or IE3"),
        (0.8000, 0.0550, "IE1, perhaps below IE1 or IE2 or IE3"),
        (0.7725, 0.0050, "IE1, perhaps below IE1"),
    ],
)
def test_a_limit_within_the_uncertainty_leaves_two_classes_open(efficiency, tolerance, told):
    found = measured_with(efficiency, tolerance)
    assert (None if found.perhaps is None else str(found.perhaps)) == told


def test_below_every_class_the_reason_says_what_is_open():
    found = measured_with(0.770, 0.005)
    assert (found.name, found.perhaps) == (None, None)
    assert "(below IE1, perhaps IE1)" in str(found.reason)


@pytest.mark.parametrize(
    ("case", "reason"),
    [
        ({"poles": None, "supply": 50.0}, None),  # four poles by the speed at no load
        ({"frequency": None}, "rated frequency not known"),
        ({"power": None}, "rated power not known"),
        ({"frequency": 400.0, "supply": 400.0}, "no classes for 400 Hz"),
        ({"frequency": 60.0, "supply": 50.0}, "tested at 50 Hz, too far from the rated frequency"),
        ({"volts": 370.0}, "tested at 370 V, too far from the rated voltage"),
        ({"kind": "single-phase induction"}, "efficiency classes cover three-phase motors only"),
        ({"kind": "dc"}, "efficiency classes cover three-phase motors only"),
        ({"gear": Gear(10.0, 0.9)}, "measured with the gear, whose loss is not the motor's"),
        ({"power": 60.0}, "the rating is outside the classes: 0.12 to 1000 kW, 2 to 8 poles, up to 1000 V"),
        ({"poles": 10}, "the rating is outside the classes: 0.12 to 1000 kW, 2 to 8 poles, up to 1000 V"),
        ({"efficiency": math.nan}, "input power was not measured"),
    ],
)
def test_no_class_has_its_reason(case, reason):
    found = classed(**case)
    assert (found.name is None, reason is None or str(found.reason) == reason) == (reason is not None, True)


def test_a_power_that_was_not_reached_gives_no_class():
    job = make_job(conditions=Conditions(supply_frequency=50.0), **PLATE)
    speed = np.array([156.0, 154.0, 152.0])
    readings = make_readings(speed=speed, torque=[0.1, 2.0, 4.0], input_power=[100.0, 400.0, 760.0])
    found = efficiency_class(job, reduce_test(job, make_rig(), readings))
    assert (found.name, str(found.reason)) == (None, "rated power is outside the tested range")


def test_one_point_near_rated_power_is_classed_and_said():
    job = make_job(conditions=Conditions(supply_frequency=50.0), **PLATE)
    readings = make_readings(speed=[150.0], torque=[10.1], input_power=[1515.0 / 0.84])
    found = efficiency_class(job, reduce_test(job, make_rig(), readings))
    assert found.name == "IE2"
    assert "judged at a tested point, +1.0 % off rated power" in str(found.reason)


# Levels at 60 Hz


def levels(efficiency, **case):
    return tuple(map(str, classed(efficiency, **{"frequency": 60.0, "supply": 60.0, **case}).levels))


def test_nominal_efficiency_supported_and_premium_level():
    """1.5 kW is 2 hp: premium 86.5 % at 4 poles (10 CFR 431.25); 86.5 % is paired with 84.0 % (12.58.2, memory)."""
    nominal, premium = levels(0.8401)
    assert nominal == (
        "84.01 % measured, output over input, indicative: supports a nominal efficiency of 86.5 % by its paired minimum "
        "(NEMA MG 1, 12.58.2, from memory)."
    )
    assert premium == (
        "Level premium, 86.5 % enclosed and 86.5 % open (10 CFR 431.25, Table 5; NEMA MG 1, Table 12-12): reached."
    )


def test_a_level_reached_in_one_enclosure_only():
    """5 hp with 2 poles: premium 88.5 % enclosed, 86.5 % open; energy-efficient 87.5 and 85.5 %."""
    _, premium, lower = levels(0.8401, power=3700.0, poles=2)
    assert premium.startswith("Level premium, 88.5 % enclosed and 86.5 % open")
    assert premium.endswith(": reached open only.")
    assert lower.startswith("Level energy-efficient, 87.5 % enclosed and 85.5 % open")
    assert lower.endswith(": reached open only.")
    assert levels(0.80, power=3700.0, poles=2)[2].endswith(": not reached.")
    assert len(levels(0.8651, power=3700.0, poles=2)) == 2  # 88.5 % is supported: premium in both enclosures


def test_below_the_series_of_nominal_efficiencies():
    assert levels(0.40) == (
        "40.00 % measured, output over input: below the lowest minimum of NEMA MG 1, 12.58.2, from memory.",
    )


def test_small_motors():
    """10 CFR 431.446: 1/2 hp, 4 poles: polyphase 78.2 %, capacitor-start 76.2 %."""
    (polyphase,) = levels(0.79, power=370.0)
    assert polyphase.startswith(
        "As a small polyphase motor of 1/2 hp, indicative: 79.00 % measured, output over input, average of 78.2 %"
    )
    assert polyphase.endswith("reached.")
    (start,) = levels(0.76, power=370.0, kind="single-phase induction")
    assert start.startswith("As a capacitor-start motor of 1/2 hp, indicative: 76.00 % measured, output")
    assert start.endswith("not reached.")
    assert levels(0.76, power=5000.0, kind="single-phase induction") == ()


def test_no_levels_at_50_hz():
    assert classed(0.86).levels == ()


@settings(max_examples=40)
@given(
    st.floats(0.4, 0.97), st.floats(0.4, 0.97), st.sampled_from([50.0, 60.0]), st.sampled_from([370.0, 1500.0, 7500.0])
)
def test_a_better_motor_is_never_in_a_lower_class(one, other, frequency, power):
    low, high = (
        classed(value, frequency=frequency, supply=frequency, power=power).name for value in sorted((one, other))
    )
    order = (None, "IE1", "IE2", "IE3", "IE4")
    assert order.index(low) <= order.index(high)
