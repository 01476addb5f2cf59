"""Meters: a maker's limit of error in parts, and the last digit."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_readings, make_rig

from certgen.job.rig import Ammeter, FrequencyMeter, Meter, Meters, Thermometer, TorqueMeter, Voltmeter, Wattmeter
from certgen.reduction.uncertainty.inputs import limit_of_error, meter_inputs
from certgen.reduction.uncertainty.model import Measured, UncertainInput

SQRT3, SQRT12 = math.sqrt(3.0), math.sqrt(12.0)
LIMIT = "accuracy"


def measured(meters: Meters | None = None, **columns) -> Measured:
    return Measured(make_rig(meters=meters), make_readings(**{"speed": [150.0, 140.0], **columns}), None)


def inputs_of(found: Measured) -> dict[str, UncertainInput]:
    return {one.identifier: one for one in meter_inputs(found.rig, (found.readings.load_test,))}


def test_the_voltmeter_of_the_guide():
    """JCGM 100:2008, 4.3.7 example 2 (from memory): 14e-6 of 0.928571 V + 2e-6 of the 1 V range: 15 uV, u = 8.7 uV."""
    meter = Voltmeter(reading=14e-6, range=2e-6, full_scale=1.0)
    assert limit_of_error(meter, np.array([0.928571])) == pytest.approx([15e-6], abs=0.5e-6)
    found = measured(Meters(voltage=meter), voltage=[0.928571, 0.928571])
    one = inputs_of(found)[f"voltmeter {LIMIT}"]
    moved = one.perturb(found, one.standard_uncertainty).readings.load_test.column("voltage") - 0.928571
    assert moved == pytest.approx([8.7e-6, 8.7e-6], abs=0.05e-6)
    assert (one.unit, one.shared, one.distribution) == ("1", True, "rectangular")


def test_parts_of_reading_of_range_and_digits_add_up():
    """By hand: 0.5 % of 200 V, 0.1 % of 600 V and 3 digits of 0.1 V: 1.0 + 0.6 + 0.3 V."""
    meter = Voltmeter(reading=0.005, range=0.001, digits=3, full_scale=600.0, resolution=0.1)
    assert limit_of_error(meter, np.array([200.0, 0.0, -200.0])) == pytest.approx([1.9, 0.9, 1.9])
    assert set(inputs_of(measured(Meters(voltage=meter), voltage=[200.0, 200.0]))) == {f"voltmeter {LIMIT}"}


def test_a_thermometer_counts_from_zero_celsius():
    """By hand: 0.5 % of 80 degC and of its 200 degC range: 0.4 + 1.0 K, whatever the kelvins."""
    meter = Thermometer(reading=0.005, range=0.005, full_scale=473.15, resolution=0.1)
    found = measured(Meters(winding_temperature=meter), winding_temperature=[353.15, 273.15])
    inputs = inputs_of(found)
    assert set(inputs) == {f"winding thermometer {LIMIT}", "winding thermometer resolution"}
    moved = inputs[f"winding thermometer {LIMIT}"].perturb(found, 1.0).readings.load_test.column("winding_temperature")
    assert moved - np.array([353.15, 273.15]) == pytest.approx([1.4, 1.0])


@pytest.mark.parametrize("meters", [None, Meters(), Meters(voltage=Voltmeter(full_scale=600.0))])
def test_a_column_whose_meter_is_not_described_has_an_ordinary_one(meters):
    columns = {"voltage": [400.0, 399.0], "current_a": [2.0, 3.0], "current_b": [2.0, 3.0], "current_c": [2.0, 3.0]}
    inputs = inputs_of(measured(meters, **columns))
    assert {str(one.to_state) for one in inputs.values()} == {
        "meters.voltage with reading, range or digits in the rig file",
        "meters.current with reading, range or digits in the rig file",
    }
    assert {name: (one.unit, one.standard_uncertainty * SQRT3) for name, one in inputs.items()} == {
        "voltmeter, gain": ("1", pytest.approx(0.015)),
        "voltmeter, offset": ("V", pytest.approx(0.01 * 400.0)),
        "voltmeter resolution": ("V", pytest.approx(0.5 * 0.005 * 400.0)),
        "ammeter, gain": ("1", pytest.approx(0.03)),
        "ammeter, offset": ("A", pytest.approx(0.01 * 3.0)),
        **{f"ammeter resolution, line {one}": ("A", pytest.approx(0.5 * 0.005 * 3.0)) for one in "abc"},
    }
    assert all(one.assumed for one in inputs.values())


def test_the_last_digit_typed_is_the_step_of_a_meter_of_which_nothing_is_stated():
    found = measured(None, current=[2.5, 3.0])
    inputs = {
        one.identifier: one for one in meter_inputs(found.rig, (found.readings.load_test,), steps={"current": 0.1})
    }
    assert inputs["ammeter resolution"].standard_uncertainty == pytest.approx(0.1 / SQRT12)


def test_a_meter_that_read_nothing_is_not_asked_for():
    meters = Meters(voltage=Voltmeter(reading=0.01), current=Ammeter(reading=0.01))
    assert not inputs_of(measured(meters, voltage=[np.nan, np.nan]))


def test_each_line_is_rounded_by_itself_and_errs_with_the_others():
    """JCGM 100:2008, F.2.2.1: 1 W gives 1 / sqrt(12) W."""
    meters = Meters(input_power=Wattmeter(reading=0.01, resolution=1.0))
    found = measured(meters, wattmeter_1=[500.0, 600.0], wattmeter_2=[-100.0, 100.0])
    inputs = inputs_of(found)
    assert {name: one.standard_uncertainty for name, one in inputs.items()} == {
        f"wattmeter {LIMIT}": pytest.approx(1.0 / SQRT3),
        "wattmeter resolution, first": pytest.approx(1.0 / SQRT12),
        "wattmeter resolution, second": pytest.approx(1.0 / SQRT12),
    }
    table = inputs[f"wattmeter {LIMIT}"].perturb(found, 1.0).readings.load_test
    assert table.column("wattmeter_1") == pytest.approx([505.0, 606.0])
    assert table.column("wattmeter_2") == pytest.approx([-99.0, 101.0])  # both limits the same way
    table = inputs["wattmeter resolution, second"].perturb(found, np.array([0.0, 2.0])).readings.load_test
    assert table.column("wattmeter_1") == pytest.approx([500.0, 600.0])
    assert table.column("wattmeter_2") == pytest.approx([-100.0, 102.0])


def test_the_step_of_a_torque_sensor_stands_with_the_scales():
    meters = Meters(torque=TorqueMeter(reading=0.001, resolution=0.01))
    assert set(inputs_of(measured(meters, torque=[1.0, 2.0]))) == {f"torque sensor {LIMIT}"}


def test_a_supply_keeps_some_frequency_however_poor_its_meter():
    meters = Meters(frequency=FrequencyMeter(range=1.0, full_scale=1000.0))
    found = measured(meters, frequency=[50.0, 60.0])
    one = inputs_of(found)[f"frequency meter {LIMIT}"]
    assert one.perturb(found, -0.5).readings.load_test.column("frequency") == pytest.approx([5.0, 6.0])
    assert one.perturb(found, -0.02).readings.load_test.column("frequency") == pytest.approx([30.0, 40.0])


def test_an_undescribed_meter_has_no_limit():
    assert limit_of_error(Meter(), np.array([1.0])) == pytest.approx([0.0])
