"""How the test was made, in sentences."""

from __future__ import annotations

import pytest
from builders import make_job, make_readings, make_rig

from certgen.assessment.conditions import _electrical, _missing
from certgen.job.model import Conditions
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
