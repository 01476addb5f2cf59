"""What a rig and a job say of the sureness of their numbers, read in SI."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench import Bench

from certgen.document.build import Dimensioned, Toleranced
from certgen.document.source import Problems
from certgen.job.load import LoadedJob, load_job
from certgen.job.model import Conditions
from certgen.job.rig import Meters, Thermometer, TorqueMeter, Voltmeter

_METERS = """\
meters:
  voltage: {reading: 0.5 %, range: 0.1 %, digits: 2, full_scale: 600 V, resolution: 100 mV}
  winding_temperature: {reading: 0.5 %, range: 0.5 %, full_scale: 200 degC, resolution: 0.1 degC}
  torque: {reading: 0.1 %, resolution: 0.01 lbf*ft}
"""


def loaded(bench: Bench) -> LoadedJob:
    bench.write()
    problems = Problems()
    found = load_job(Path("motor/job.yaml"), problems)
    assert found is not None
    assert not problems.found
    return found


def test_meters_are_read_in_the_units_of_what_they_show(bench: Bench) -> None:
    rig = loaded(bench.edit("rig", {"tare_torque": _METERS + "tare_torque"})).rig
    assert rig.meters == Meters(
        voltage=Voltmeter(reading=0.005, range=0.001, digits=2, full_scale=600.0, resolution=0.1),
        winding_temperature=Thermometer(reading=0.005, range=0.005, full_scale=473.15, resolution=0.1),
        torque=TorqueMeter(reading=0.001, resolution=pytest.approx(0.013558, abs=5e-7)),
    )


def test_a_step_in_degrees_fahrenheit_is_a_difference(bench: Bench) -> None:
    written = "meters: {winding_temperature: {reading: 1 %, full_scale: 392 degF, resolution: 1 degF}}\ntare_torque"
    meters = loaded(bench.edit("rig", {"tare_torque": written})).rig.meters
    assert meters is not None and meters.winding_temperature is not None
    assert meters.winding_temperature.resolution == pytest.approx(5.0 / 9.0)
    assert meters.winding_temperature.full_scale == pytest.approx(473.15)


def test_a_scale_says_how_it_errs(bench: Bench) -> None:
    edits = {
        "  resolution: 0.001 kg": "  resolution: 0.001 kg\n  hysteresis: 2 g",
        "5.009 kg]": "5.009 kg]\n    expanded_uncertainty: 0.01 %",
    }
    scale = loaded(bench.edit("rig", edits)).rig.scale
    assert scale is not None and scale.calibration is not None
    assert scale.hysteresis == Dimensioned(0.002, "mass")
    assert scale.calibration.expanded_uncertainty == Dimensioned(0.0001, "ratio")


def test_conditions_are_plain_numbers_with_their_limits_beside_them(bench: Bench) -> None:
    edits = {
        "supply_frequency: 50 Hz": "supply_frequency: {value: 50 Hz, tolerance: 100 mHz}",
        "9.81 m/s^2": "{value: 9.8122 m/s^2, expanded_uncertainty: 0.0004 m/s^2}",
    }
    conditions = loaded(bench.edit("job", edits)).job.conditions
    assert (conditions.supply_frequency, conditions.local_gravity) == (50.0, 9.8122)
    assert conditions.spreads == {
        "supply_frequency": Toleranced(50.0, tolerance=pytest.approx(0.1)),
        "local_gravity": Toleranced(9.8122, expanded_uncertainty=pytest.approx(0.0004)),
    }


def test_plain_conditions_have_no_limits(bench: Bench) -> None:
    assert loaded(bench).job.conditions.spreads == {
        "supply_frequency": Toleranced(50.0),
        "local_gravity": Toleranced(9.81),
    }
    assert Conditions(supply_frequency=50.0).spreads == {}


def test_what_a_rig_says_of_its_instruments_is_evaluated(bench: Bench) -> None:
    tachometer = "tachometer: {pulses_per_revolution: 60, gate: 1 s, tolerance: 1 rpm}\n"
    edits = {
        "tare_torque": f"{_METERS}{tachometer}out_of_square: 2 deg\ntare_torque",
        "5.009 kg]": "5.009 kg]\n    on: 2026-01-08\n    valid: 12 months",
    }
    assert loaded(bench.edit("rig", edits)).not_evaluated == ()


def test_a_belt_says_how_sure_it_is(bench: Bench) -> None:
    drive = "drive: {kind: belt, ratio: 2.0, efficiency: 0.97, tolerance: 0.01, ratio_tolerance: 0.5 %}\ntare_torque"
    rig = loaded(bench.edit("rig", {"tare_torque": drive})).rig
    assert (rig.drive.tolerance, rig.drive.ratio_tolerance) == (0.01, 0.005)
