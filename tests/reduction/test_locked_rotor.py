from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import make_calibration, make_job, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st
from mesh_circuit import MeshCircuit

from certgen.document.build import Toleranced
from certgen.job.model import Conditions
from certgen.job.rig import Drive, Scale
from certgen.readings.model import Zero
from certgen.reduction.reduce import reduce_test

pytestmark = pytest.mark.slow

ROOT_THREE = math.sqrt(3.0)
THREE, DC = "three-phase induction", "dc"


def held(
    locked=None,
    *,
    kind=THREE,
    rig=None,
    zero=None,
    frequency=60.0,
    load_speed=(180.0, 175.0, 170.0),
    load=None,
    **plate,
):
    """Locked-rotor figures of a test with a table and a small load test."""
    torque = [1.0, 5.0, 9.0][: len(load_speed)]
    rows = load or {"speed": load_speed, "torque": torque, "scale": torque}
    readings = make_readings(zero, None, **rows)
    if locked is not None:
        readings = replace(readings, others={"locked_rotor": make_table(**locked)})
    job = make_job(kind, Conditions(supply_frequency=frequency), **plate)
    return reduce_test(job, rig or make_rig(), readings).locked_rotor


def test_current_with_voltage_and_torque_with_its_square():
    """C. I. Hubert, Electric Machines, example 5.4: 90 % of the voltage gives 81 % of the torque."""
    found = held({"voltage": [90.0], "current": [9.0], "torque": [0.81]}, voltage=100.0)
    assert (found.current.read, found.current.at_rated) == pytest.approx((9.0, 10.0))
    assert (found.torque.read, found.torque.at_rated) == pytest.approx((0.81, 1.0))
    assert found.current.voltage == pytest.approx(90.0)
    assert not found.current.other_frequency


def test_another_frequency_is_allowed_for():
    """Hubert, examples 5.7 (151 A at 230 V, 60 Hz are 173 A at 220 V, 50 Hz) and 5.8 (270 lb-ft are 265 lb-ft)."""
    found = held({"voltage": [230.0], "current": [151.0]}, voltage=220.0, frequency=60.0)
    assert found.current.at_rated == pytest.approx(151.0 * 220 / 230)  # no frequency on the plate
    job = make_job(THREE, Conditions(supply_frequency=60.0), voltage=220.0, frequency=50.0)
    readings = replace(
        make_readings(speed=[150.0], torque=[1.0]),
        others={"locked_rotor": make_table(voltage=[230.0], current=[151.0])},
    )
    moved = reduce_test(job, make_rig(), readings).locked_rotor.current
    assert moved.at_rated == pytest.approx(173.0, abs=0.5)
    assert moved.other_frequency
    job = make_job(THREE, Conditions(supply_frequency=60.0), voltage=230.0, frequency=58.0)
    table = make_table(voltage=[240.0], torque=[1.2 * 5252 * 75 / 1750])
    lowered = reduce_test(job, make_rig(), replace(readings, others={"locked_rotor": table})).locked_rotor.torque
    assert lowered.at_rated == pytest.approx(265.0, abs=0.5)


def test_the_row_nearest_rated_voltage_counts():
    found = held(
        {"voltage": [100.0, 210.0, 245.0, 150.0], "current": [5.0, 11.0, 13.0, 7.0], "torque": [1.0, 4.5, 6.1, 2.1]},
        voltage=220.0,
    )
    assert found.current.voltage == found.torque.voltage == pytest.approx(210.0)
    assert found.current.at_rated == pytest.approx(11.0 * 220 / 210)


def test_each_figure_takes_the_nearest_row_that_has_it():
    found = held(
        {"voltage": [100.0, 210.0], "current": [5.0, 11.0], "torque": [1.0, np.nan]},
        voltage=220.0,
    )
    assert found.current.voltage == pytest.approx(210.0)
    assert found.torque.voltage == pytest.approx(100.0)


def test_without_a_plate_voltage_the_highest_voltage_is_left_unscaled():
    found = held({"voltage": [100.0, 210.0], "current": [5.0, 11.0]})
    assert found.current.read == pytest.approx(11.0)
    assert math.isnan(found.current.at_rated)


def test_without_a_read_voltage_nothing_is_scaled():
    found = held({"current": [5.0, 11.0]}, voltage=220.0)
    assert found.current.read == pytest.approx(5.0)
    assert math.isnan(found.current.at_rated)
    assert math.isnan(found.current.voltage)


def test_a_row_at_standstill_of_the_load_test_counts_too():
    load = {
        "speed": [180.0, 170.0, 0.0], "torque": [1.0, 9.0, 12.0], "voltage": [220.0, 220.0, 200.0],
        "current": [3.0, 6.0, 30.0],
    }  # fmt: skip
    found = held(load=load, voltage=220.0)
    assert found.current.at_rated == pytest.approx(33.0)
    assert found.torque.at_rated == pytest.approx(12.0 * 1.21)
    both = held({"voltage": [215.0], "current": [32.0]}, load=load, voltage=220.0)
    assert both.current.read == pytest.approx(32.0)
    assert both.torque.read == pytest.approx(12.0)


def test_the_rotor_was_not_locked():
    assert held() is None


@pytest.mark.parametrize(("volts", "known"), [(12.0, True), (11.9, True), (6.0, False)])
def test_other_machines_are_not_scaled(volts, known):
    found = held({"voltage": [volts], "current": [30.0], "torque": [0.6]}, kind=DC, voltage=12.0)
    assert found.torque.read == pytest.approx(0.6)
    assert found.torque.at_rated == (pytest.approx(0.6) if known else pytest.approx(math.nan, nan_ok=True))


def test_torque_goes_through_scale_calibration_zero_arm_and_belt_but_not_tare():
    """The chain of a load point; the cradle of a shaft at rest has no windage, and the zero is the mean of two."""
    rig = make_rig(
        "arm",
        arm_length=Toleranced(0.5),
        scale=Scale("mass", calibration=make_calibration([0.0, 1.0], [0.0, 1.1])),
        tare_torque=Toleranced(0.3),
        drive=Drive("belt", ratio=2.0, efficiency=0.8),
    )
    found = held({"voltage": [220.0], "scale": [2.215]}, rig=rig, zero=Zero(0.01, 0.02), voltage=220.0)
    assert found.torque.read == pytest.approx(2.2 / 1.1 * 9.80665 * 0.5 / (2.0 * 0.8))


def test_the_mean_of_three_lines_is_the_current():
    lines = {
        "voltage_ab": [218.0], "voltage_bc": [220.0], "voltage_ca": [222.0],
        "current_a": [10.0], "current_b": [11.0], "current_c": [12.0],
    }  # fmt: skip
    found = held(lines, voltage=220.0)
    assert found.current.at_rated == pytest.approx(11.0)


#: I. L. Kosow, Electric Machinery and Transformers, 2nd ed., example 12-18, page 442.
KOSOW = MeshCircuit(R1=0.3, X1=0.5, R2=0.144, X2=0.2, Xm=13.5, poles=6, frequency=60.0)


@given(st.lists(st.floats(20.0, 260.0), min_size=1, max_size=5))
def test_whatever_voltages_were_read_the_circuit_starts_as_printed(volts):
    """Kosow, example 12-18: 153.9 A at 220 V; a linear circuit gives it from any voltage."""
    start = KOSOW.at(np.array(volts) / ROOT_THREE, 1.0)
    found = held({"voltage": volts, "current": start.current, "torque": start.torque}, voltage=220.0)
    assert found.current.at_rated == pytest.approx(153.9, abs=0.05)
    assert found.torque.at_rated == pytest.approx(float(KOSOW.at(220 / ROOT_THREE, 1.0).torque))
