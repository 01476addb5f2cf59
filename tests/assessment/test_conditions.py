"""How the test was made, in sentences."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from builders import make_calibration, make_job, make_readings, make_rig

from certgen.assessment.conditions import _electrical, _instruments, _method, _missing
from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions, Gear
from certgen.job.rig import Drive, Scale, Tachometer
from certgen.readings.model import Zero
from certgen.reduction.reduce import reduce_test

COLUMNS = {"speed": [156.0, 153.0, 149.0], "torque": [0.1, 5.0, 10.0], "power_factor": [0.2, 0.6, 0.8]}
AMPERES = {"current": [1.8, 2.5, 3.4]}
LINES = {f"voltage_{line}": [400.0] * 3 for line in ("ab", "bc", "ca")}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "Input power was not measured."),
        (AMPERES, "Input power was not measured."),
        ({"voltage": [400.0] * 3}, "Input power was not measured."),
        ({**AMPERES, "voltage": [400.0] * 3}, "Input power as volts, amperes and power factor."),
        ({**AMPERES, **LINES}, "Input power as volts, amperes and power factor."),
    ],
)
def test_input_power_is_told_as_it_was_found(more, said):
    assert str(_electrical(make_job(), make_readings(**COLUMNS, **more))) == said


def test_a_power_factor_that_was_read_is_not_missing():
    job = make_job(conditions=Conditions(supply_frequency=50.0), poles=4)
    missing = list(_missing(job, reduce_test(job, make_rig(), make_readings(**COLUMNS, **AMPERES)), (), None))
    assert "Efficiency and losses: input power was not measured." in map(str, missing)


CALIBRATION = make_calibration([0.0, 2.0, 4.0], [0.0, 2.01, 4.02])
WATTS = make_readings(**COLUMNS, input_power=[100.0, 900.0, 1900.0])
SENSOR = "Torque by a torque sensor."


@pytest.mark.parametrize(
    ("rig", "zero", "said"),
    [
        (make_rig(), Zero(), (SENSOR, "No zero reading.")),
        (make_rig(), Zero(0.0, 0.01), (SENSOR, "Zero read before and after; drift corrected.")),
        (make_rig(), Zero(after=0.01), (SENSOR, "Zero read once.")),
        (
            make_rig("arm"),
            Zero(before=0.01),
            (
                "Torque by an arm of 0.5 m on a scale, mass shown × local gravity.",
                "Zero read once.",
                "No calibration of the scale is recorded.",
            ),
        ),
        (
            make_rig("arm", scale=Scale("force", calibration=CALIBRATION), tare_torque=Toleranced(0.05)),
            Zero(),
            (
                "Torque by an arm of 0.5 m on a scale, force as shown.",
                "No zero reading.",
                "Scale corrected by its calibration line, 3 loads.",
                "Tare torque 0.05 N·m added.",
            ),
        ),
        (
            make_rig("rope", scale=Scale("mass", calibration=replace(CALIBRATION, on=date(2026, 3, 9)))),
            Zero(),
            (
                "Torque by rope brake: difference of two balances (mass shown × local gravity) times drum radius 100 mm.",
                "No zero reading.",
                "Scale corrected by its calibration line of 2026-03-09, 3 loads.",
            ),
        ),
        (
            make_rig("rope", rope_diameter=Toleranced(0.008)),
            Zero(),
            (
                "Torque by rope brake: difference of two balances (mass shown × local gravity) times drum radius 100 mm "
                "and half the rope of 8 mm.",
                "No zero reading.",
                "No calibration of the scale is recorded.",
            ),
        ),
        (
            make_rig(drive=Drive("belt", 2.0, 0.95)),
            Zero(),
            (SENSOR, "No zero reading.", "Belt between motor and absorber, ratio 2, efficiency 95 %: corrected."),
        ),
    ],
)
def test_the_method_says_how_torque_was_read_and_corrected(rig, zero, said):
    readings = replace(WATTS, zero=zero)
    found = tuple(str(one) for one in _method(make_job(), rig, readings))
    assert found == (*said, "Input power by wattmeter.")


@pytest.mark.parametrize(
    ("kind", "plate", "said"),
    [
        ("single-phase induction", {}, ("Single-phase torque pulsates: scale read as its mean over several turns.",)),
        (
            "three-phase induction",
            {"gear": Gear(ratio=20.0)},
            (
                "Geared motor, ratio 20: speed, torque and power are those of the output shaft.",
                "The plate is taken as the output shaft's.",
            ),
        ),
    ],
)
def test_the_method_names_what_is_special_about_the_motor(kind, plate, said):
    found = tuple(str(one) for one in _method(make_job(kind, **plate), make_rig(), WATTS))
    assert found == (SENSOR, "No zero reading.", *said, "Input power by wattmeter.")


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({}, ()),
        (
            {"tachometer": Tachometer(pulses_per_revolution=6)},
            ("Tachometer 6 pulses a revolution, on the motor shaft",),
        ),
        (
            {"tachometer": Tachometer(pulses_per_revolution=6, gate=0.5, on="absorber")},
            ("Tachometer 6 pulses a revolution, gate 0.5 s, on the absorber shaft",),
        ),
        ({"scale": Scale("mass", Dimensioned(0.002, "mass"))}, ("Scale, resolution 0.002 kg",)),
        ({"scale": Scale("force", Dimensioned(0.05, "force"))}, ("Scale, resolution 0.05 N",)),
    ],
)
def test_instruments_are_listed_as_the_rig_states_them(keys, said):
    assert tuple(map(str, _instruments(make_rig(**keys)))) == said
