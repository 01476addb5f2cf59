from __future__ import annotations

import math

import numpy as np
import pytest
from builders import figures_of, make_job, make_readings, make_rig

from certgen.assessment.cautions import cautions_of
from certgen.assessment.supply import supply_findings
from certgen.document.build import Dimensioned
from certgen.job.model import Conditions
from certgen.job.rig import RigLimits
from certgen.reduction.reduce import reduce_test
from certgen.standards.criteria import shipped_criteria

RPM = math.pi / 30.0
FIFTY = Conditions(supply_frequency=50.0)


def cautions(kind="three-phase induction", *, plate=None, rig=None, criteria="iec-60034-1", **columns):
    columns = {"speed": [1490 * RPM, 1450 * RPM, 1420 * RPM], "torque": [0.1, 5.0, 10.0], **columns}
    job = make_job(kind, FIFTY, **(plate or {}))
    rig = rig or make_rig()
    reduction = reduce_test(job, rig, make_readings(**columns))
    findings = supply_findings(job, reduction, shipped_criteria(criteria))
    return {one.id: one for one in cautions_of(job, rig, reduction, figures_of(job, rig, reduction), findings)}


def test_every_page_warns_of_rotation_installation_and_untested_insulation():
    found = cautions(voltage=[400.0, 400.0, 399.0])
    assert {"insulation", "rotation", "installation"} <= set(found)
    assert str(found["rotation"].because) == "the shaft turned at up to 1490 rpm"
    assert str(found["installation"].because) == "supply of up to 400 V"
    assert "local code" in str(found["installation"].text)


@pytest.mark.parametrize(
    ("kind", "wanted", "unwanted"),
    [
        ("universal", {"no_load_speed"}, {"capacitor"}),
        ("dc", {"no_load_speed"}, {"capacitor"}),
        ("single-phase induction", {"capacitor"}, {"no_load_speed"}),
        ("three-phase induction", set(), {"capacitor", "no_load_speed"}),
    ],
)
def test_cautions_of_a_kind(kind, wanted, unwanted):
    found = set(cautions(kind))
    assert wanted <= found
    assert not unwanted & found


def test_a_hot_winding_is_said():
    assert "heat" not in cautions(winding_temperature=[300.0, 310.0, 320.0])
    assert str(cautions(winding_temperature=[300.0, 310.0, 361.15])["heat"].because) == "winding reached 88 °C"


def test_supply_off_the_plate_by_the_standards_own_limit():
    """IEC 60034-1 zone A: 5 % of voltage, 2 % of frequency; NEMA MG 1, 12.44: 10 % and 5 %."""
    plate, volts = {"voltage": 400.0, "frequency": 50.0}, {"voltage": [400.0, 390.0, 376.0]}
    found = cautions(plate=plate, **volts)["supply_voltage"]
    assert str(found.because) == "−6.0 % from the plate"
    assert "supply_voltage" not in cautions(plate=plate, criteria="nema-mg-1", **volts)
    assert "supply_voltage" not in cautions(plate=plate, voltage=[400.0, 390.0, 380.0])
    assert "supply_frequency" in cautions(plate={"frequency": 52.0})
    assert "supply_frequency" not in cautions(plate={"frequency": 50.9})


def test_unbalanced_supply():
    found = cautions(voltage_ab=[400.0] * 3, voltage_bc=[400.0] * 3, voltage_ca=[400.0, 400.0, 380.0])
    assert str(found["voltage_unbalance"].because) == "3.4 % at most"


def test_every_limit_of_the_rig_that_was_passed_is_named_with_both_numbers():
    limits = RigLimits(
        torque=8.0,
        speed=1480 * RPM,
        scale=Dimensioned(2.0, "mass"),
        coupling_torque=9.0,
        absorber_power=1400.0,
        brake_current=3.0,
    )
    rig = make_rig("arm", limits=limits)
    found = cautions(rig=rig, scale=[0.02, 1.0, 2.1], torque=[0.0] * 3, brake_current=[0.0, 2.0, 3.5])
    wanted = {"rig_torque", "rig_speed", "rig_scale", "rig_coupling_torque", "rig_absorber_power", "rig_brake_current"}
    assert wanted <= set(found)
    assert str(found["rig_scale"].because) == "scale 2.1 kg, limit 2 kg"
    assert str(found["rig_speed"].because) == "speed 1490 rpm, limit 1480 rpm"


def test_a_rig_within_its_limits_is_not_mentioned():
    rig = make_rig(limits=RigLimits(torque=10.0, speed=1490 * RPM, coupling_torque=20.0))
    assert not [name for name in cautions(rig=rig) if name.startswith("rig_")]


def test_extrapolated_points_are_named():
    found = cautions(plate={"power": 1.03 * 10.0 * 1420 * RPM, "current": 5.0}, current=[2.0, 3.0, 4.9])
    assert str(found["extrapolated"].because) == "rated current, rated power"


def test_negative_torque_and_speed_above_synchronous():
    found = cautions(torque=[-1.0, -5.0, -10.0], plate={"poles": 4}, speed=[1515 * RPM, 1530 * RPM, 1550 * RPM])
    assert {"negative_torque", "above_synchronous"} <= set(found)


def test_watts_above_volt_amperes():
    found = cautions(
        "single-phase induction", voltage=[230.0] * 3, current=[2.0] * 3, input_power=[400.0, 440.0, 480.0]
    )
    assert str(found["watts_above_volt_amperes"].because) == "row 3"


def test_impossible_rows_are_named_with_causes():
    found = cautions(input_power=[100.0, 700.0, 2000.0])["impossible"]
    assert str(found.because) == "row 2"
    assert "Likely causes" in str(found.text)


def test_every_caution_says_what_raised_it():
    found = cautions("universal", voltage=[np.nan] * 3, plate={"voltage": 230.0})
    assert all(str(one.text).endswith(".") and str(one.because) for one in found.values())


@pytest.mark.parametrize(
    ("plate", "current", "told"),
    [
        ({"power": 1500.0}, [2.0, 2.8, 3.4], False),
        ({"power": 1.5e6}, [2.0, 2.8, 3.4], True),  # kW read as MW
        ({"power": 20_000.0, "current": 40.0}, [2.0, 2.8, 3.4], False),  # a light test of a large motor
        ({"power": 20_000.0, "current": 3.4}, [2.0, 2.8, 3.4], True),  # rated current drawn, hardly any power
        ({"power": 150.0}, [2.0, 2.8, 3.4], True),  # ten times the plate
    ],
)
def test_a_plate_the_test_contradicts(plate, current, told):
    """Common practice, no source."""
    found = cautions(plate=plate, current=current)
    assert ("plate_power" in found) == told
    if told:
        assert str(found["plate_power"].because).endswith("1.487 kW at the heaviest load")
