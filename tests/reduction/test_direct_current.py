from __future__ import annotations

import math
from dataclasses import replace

import pytest
from builders import make_job, make_rig, make_table

from certgen.job.model import ColdWinding, Winding
from certgen.readings.model import Readings, Zero
from certgen.reduction.loss_segregation import direct_current_losses
from certgen.reduction.model import TooFewReadings
from certgen.reduction.reduce import reduce_test
from certgen.reduction.winding import winding_of_test

RPM = math.pi / 30.0


def found(no_load, voltage=100.0, resistance=0.05):
    """The motor of the Modelica Standard Library at rated load (DCPM_withLosses, 0.05 ohm when warm)."""
    job = make_job("dc", power=9100.0, speed=1417.5 * RPM, voltage=voltage)
    winding = Winding(cold=ColdWinding(resistance, 368.15))
    job = replace(job, readings=replace(job.readings, winding=winding))
    load = make_table(
        speed=[1417.5 * RPM], torque=[9100.0 / (1417.5 * RPM)], voltage=[100.0], current=[100.0],
        winding_temperature=[368.15],
    )  # fmt: skip
    others = {} if no_load is None else {"no_load": make_table(**no_load)}
    readings = Readings(load, Zero(), Zero(), others)
    point = reduce_test(job, make_rig(), readings).points
    state = winding_of_test(job, readings, point.torque, hot=None, constant=235.0)
    return direct_current_losses(job, readings, point, winding=state, voltage_nearness=0.02)


def test_armature_constant_loss_and_rest():
    """Published there: armature 500 W, core 200 W, friction 100 W, brushes 50 W, stray 50 W of 10 kW.

    Without load 3 A at 100 V leave 300 W less 0.45 W of winding loss as constant loss.
    """
    losses = found({"voltage": [60.0, 100.0], "current": [2.5, 3.0]})
    assert losses.armature == pytest.approx(500.0)
    assert losses.constant == pytest.approx(300.0 - 9.0 * 0.05)
    assert losses.rest == pytest.approx(50.0 + 50.0 + 0.45)


def test_no_load_test_of_a_book():
    """U. A. Bakshi and M. V. Bakshi, DC Machines, chapter 3, example 3.14, page 36, its armature circuit by itself.

    500 V, armature 0.5 ohm, 3 A in the armature without load: 1500 - 4.5 W; the field's 1000 W are fed apart.
    """
    losses = found({"voltage": [500.0], "current": [3.0]}, voltage=500.0, resistance=0.5)
    assert losses.constant == pytest.approx(2495.5 - 1000.0)


def test_between_two_voltages_the_constant_loss_is_told_straight():
    losses = found({"voltage": [110.0, 90.0], "current": [4.0, 2.0]})
    assert losses.constant == pytest.approx(((440.0 - 0.8) + (180.0 - 0.2)) / 2.0)


@pytest.mark.parametrize(
    ("no_load", "message"),
    [
        (None, "a no-load reading is missing"),
        ({"voltage": [60.0], "current": [2.0]}, "no reading of volts and amperes at 100 V"),
        ({"voltage": [100.0]}, "no reading of volts and amperes at 100 V"),
    ],
)
def test_too_little_is_refused(no_load, message):
    with pytest.raises(TooFewReadings, match=message):
        found(no_load)
