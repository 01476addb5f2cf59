"""Sensitivities to all inputs found at once, against each input moved by itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from certgen.document.source import Problems
from certgen.job.load import load_job
from certgen.readings.read import read_readings
from certgen.reduction.log.reduce import reduced_log
from certgen.reduction.model import Poles
from certgen.reduction.reduce import measured_points
from certgen.reduction.sweep import points_of_sweep
from certgen.reduction.uncertainty.errors import sensitivities
from certgen.reduction.uncertainty.inputs import uncertain_inputs
from certgen.reduction.uncertainty.interpolation import QUANTITIES
from certgen.reduction.uncertainty.model import Measured

POLES = Poles(4, "nameplate")
EXAMPLES = Path(__file__).parents[3] / "example_jobs"


@pytest.mark.parametrize(
    "example",
    ["capacitor_start_us_units", "geared_motor", "logged_load_test", "permanent_magnet_dc", "swept_motor",
     "three_phase_full_plate", "universal_motor"],
)  # fmt: skip
def test_inputs_moved_together_tell_what_each_alone_tells(example):
    loaded = load_job(EXAMPLES / example / "job.yaml", Problems())
    readings = points_of_sweep(loaded.job, loaded.rig, read_readings(loaded))
    log = reduced_log(loaded.job, loaded.rig, readings)
    measured = Measured(loaded.rig, readings if log is None else log.readings, loaded.job.conditions.local_gravity)
    columns = measured.readings.load_test.columns.keys()
    inputs = [one for one in uncertain_inputs(loaded.job, measured) if not one.columns or one.columns & columns]

    def points_of(moved):
        found = measured_points(moved, loaded.job, POLES)
        return {name: getattr(found, name) for name in QUANTITIES}

    together, alone = (sensitivities(measured, points_of, inputs, at_once=at_once) for at_once in (True, False))
    assert len(together) == len(inputs) > 5
    assert any(np.any(slopes["shaft_power"] != 0.0) for slopes in alone)
    for one, found, expected in zip(inputs, together, alone, strict=True):
        for name, slopes in expected.items():
            np.testing.assert_allclose(found[name], slopes, rtol=1e-9, atol=0.0, err_msg=f"{one.identifier}: {name}")
