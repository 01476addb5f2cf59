"""The whole list of inputs: complete, of different names, and perturbed by nothing nothing moves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_calibration, make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions, Job
from certgen.job.rig import Ammeter, Drive, Meters, Scale, Tachometer, Wattmeter
from certgen.readings.model import Readings, Table, Zero
from certgen.reduction.uncertainty.inputs import uncertain_inputs
from certgen.reduction.uncertainty.model import Measured

pytestmark = pytest.mark.slow

GRAM = Dimensioned(0.001, "mass")
CALIBRATED = Scale("mass", GRAM, make_calibration([0.0, 1.0, 2.0], [0.002, 1.0, 2.01]), hysteresis=GRAM)
BELT = Drive("belt", ratio=2.0, efficiency=0.9, tolerance=0.01)
METERS = Meters(current=Ammeter(reading=0.01, resolution=0.01), input_power=Wattmeter(range=0.01, full_scale=6000.0))
COLUMNS = {
    "speed": [0.0, 149.0, 155.0], "scale": [3.0, 1.0, 0.0], "voltage": [400.0, 400.0, 401.0],
    "current": [9.0, 3.4, 1.9], "input_power": [2000.0, 1800.0, 150.0],
}  # fmt: skip
ROPE = {**COLUMNS, "scale_2": [0.5, 0.2, 0.0]}
SENSOR = {**{name: values for name, values in COLUMNS.items() if name != "scale"}, "torque": [9.0, 3.0, 0.0]}


def with_no_load(readings: Readings) -> Readings:
    table = Table({"current": np.array([2.0]), "input_power": np.array([140.0])}, ("",))
    return Readings(readings.load_test, readings.zero, readings.zero_2, {"no_load": table})


BENCHES = {
    "arm": Measured(make_rig("arm", scale=CALIBRATED, tachometer=Tachometer(60, 1.0), meters=METERS, out_of_square=0.03),
                    with_no_load(make_readings(Zero(0.0, 0.01), **COLUMNS)), None),
    "rope": Measured(make_rig("rope", drive=BELT), make_readings(Zero(0.0, 0.01), Zero(0.1, None), **ROPE), 9.81),
    "sensor": Measured(make_rig(), make_readings(Zero(0.0, 0.01), **SENSOR), None),
}  # fmt: skip


def a_job() -> Job:
    gravity = Toleranced(9.81, tolerance=0.01)
    return make_job(conditions=Conditions(supply_frequency=50.0, local_gravity=gravity), power=1500.0)


def same(one: Measured, other: Measured) -> bool:
    """Whether every number of the rig and the readings is the same."""
    if one.rig != other.rig or one.local_gravity != other.local_gravity:
        return False
    if (one.readings.zero, one.readings.zero_2) != (other.readings.zero, other.readings.zero_2):
        return False
    tables = [({"": found.readings.load_test, **found.readings.others}) for found in (one, other)]
    return all(
        tables[0][name].columns.keys() == tables[1][name].columns.keys()
        and all(np.array_equal(tables[1][name].columns[key], value) for key, value in tables[0][name].columns.items())
        for name in tables[0]
    )


@pytest.mark.parametrize("bench", BENCHES)
def test_every_name_stands_once_and_every_step_is_a_size(bench):
    inputs = uncertain_inputs(a_job(), BENCHES[bench])
    assert len({one.identifier for one in inputs}) == len(inputs) > 5
    for one in inputs:
        assert one.step > 0.0
        assert one.degrees_of_freedom >= 1.0
        assert one.known
        assert one.standard_uncertainty > 0.0
        assert one.assumed == (one.to_state is not None)


@pytest.mark.parametrize("bench", BENCHES)
def test_an_error_of_nothing_changes_nothing(bench):
    found = BENCHES[bench]
    for one in uncertain_inputs(a_job(), found):
        assert same(one.perturb(found, 0.0), found), one.name
        assert one.shared or same(one.perturb(found, np.zeros(3)), found), one.name


@pytest.mark.parametrize("bench", BENCHES)
def test_every_error_changes_something_and_leaves_the_original_alone(bench):
    found, again = BENCHES[bench], BENCHES[bench]
    for one in uncertain_inputs(a_job(), found):
        assert not same(one.perturb(found, one.step), found), one.name
        assert same(found, again)


COLUMN_OF = {
    "ammeter resolution": "current", "tachometer, one pulse": "speed", "scale hysteresis": "scale",
    "voltmeter, offset": "voltage", "scale, scatter about its calibration line": "scale",
}  # fmt: skip


@given(error=st.floats(-0.4, 0.4))
@pytest.mark.parametrize("name", COLUMN_OF)
def test_an_error_moves_its_own_column_by_itself_and_no_other(name, error):
    found = BENCHES["arm"]
    one = next(one for one in uncertain_inputs(a_job(), found) if one.identifier == name)
    before, after = found.readings.load_test, one.perturb(found, error).readings.load_test
    for column, values in before.columns.items():
        moved = after.columns[column] - values
        turning = values > 0.0 if column == "speed" else np.full(3, True)
        expected = np.where(turning, error, 0.0) if column == COLUMN_OF[name] else np.zeros(3)
        assert moved == pytest.approx(expected, abs=1e-12)


def test_an_instruments_own_error_is_in_every_table_it_read():
    found = BENCHES["arm"]
    inputs = {one.identifier: one for one in uncertain_inputs(a_job(), found)}
    gain = inputs["ammeter accuracy"].perturb(found, 1.0).readings
    assert gain.others["no_load"].column("current") == pytest.approx([2.02])
    assert gain.load_test.column("current") == pytest.approx([9.09, 3.434, 1.919])
    rounded = inputs["ammeter resolution"].perturb(found, 1.0).readings
    assert rounded.others["no_load"].column("current") == pytest.approx([2.0])


def test_gravity_written_with_its_tolerance_is_taken_from_the_job():
    inputs = {one.identifier: one for one in uncertain_inputs(a_job(), BENCHES["arm"])}
    assert inputs["local gravity"].standard_uncertainty == pytest.approx(0.01 / math.sqrt(3.0))
