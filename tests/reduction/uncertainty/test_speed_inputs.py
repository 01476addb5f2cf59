"""Tachometer and supply frequency."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.document.build import Toleranced
from certgen.job.model import Conditions
from certgen.job.rig import Tachometer
from certgen.reduction.uncertainty.inputs import frequency_inputs, pulse_limit, speed_inputs
from certgen.reduction.uncertainty.model import Measured

RPM = math.pi / 30.0
SQRT3 = math.sqrt(3.0)


def measured(tachometer: Tachometer | None = None, **columns) -> Measured:
    readings = make_readings(**(columns or {"speed": [0.0, 150.0]}))
    return Measured(make_rig(tachometer=tachometer or Tachometer()), readings, None)


@pytest.mark.parametrize(
    ("pulses", "gate", "rpm"), [(1, 1.0, 60.0), (60, 1.0, 1.0), (60, 10.0, 0.1), (360, 0.5, 1 / 3)]
)
def test_one_pulse_in_the_counting_time(pulses, gate, rpm):
    """By hand: one pulse more is 1/p of a turn in t seconds, 60 / (p t) turns a minute. JCGM 100:2008, 4.3.7."""
    assert pulse_limit(pulses, gate) == pytest.approx(rpm * RPM)
    (one,) = speed_inputs(measured(Tachometer(pulses, gate)))
    assert one.standard_uncertainty == pytest.approx(rpm * RPM / SQRT3)
    assert (one.identifier, one.unit, one.shared) == ("tachometer, one pulse", "rad/s", False)


def test_a_stated_limit_of_error_is_the_same_in_all_rows():
    (one,) = speed_inputs(measured(Tachometer(tolerance=15.0 * RPM)))
    assert one.standard_uncertainty == pytest.approx(15.0 * RPM / SQRT3)
    assert (one.identifier, one.shared) == ("tachometer, limit of error", True)
    both = speed_inputs(measured(Tachometer(60, 1.0, 1.0 * RPM)))
    assert [one.identifier for one in both] == ["tachometer, one pulse", "tachometer, limit of error"]


@pytest.mark.parametrize(
    ("tachometer", "to_state"),
    [
        (Tachometer(), "tachometer.tolerance, or pulses_per_revolution and gate in the rig file"),
        (Tachometer(gate=1.0), "tachometer.tolerance, or pulses_per_revolution and gate in the rig file"),
        (Tachometer(60), "tachometer.gate in the rig file"),
    ],
)
def test_a_tachometer_of_which_too_little_is_stated_is_one_held_by_hand(tachometer, to_state):
    found = measured(tachometer)
    inputs = list(speed_inputs(found))
    assert {(one.assumed, str(one.to_state)) for one in inputs} == {(True, to_state)}
    limits = {one.identifier: one.standard_uncertainty * SQRT3 for one in inputs}
    assert limits == {
        "tachometer, gain": pytest.approx(0.003),
        "tachometer, offset": pytest.approx(RPM, rel=1e-3),
        "tachometer resolution": pytest.approx(0.5 * 0.0005 * 150.0),
    }
    assert all(one.perturb(found, 0.1).readings.load_test.column("speed")[0] == 0.0 for one in inputs)


def test_the_last_digit_typed_is_the_step_of_the_tachometer():
    inputs = {one.identifier: one for one in speed_inputs(measured(), {"speed": RPM})}
    assert inputs["tachometer resolution"].standard_uncertainty == pytest.approx(RPM / math.sqrt(12.0))


def test_a_shaft_at_standstill_is_seen_to_stand():
    found = measured(Tachometer(60, 1.0))
    (one,) = speed_inputs(found)
    assert one.perturb(found, 0.1).readings.load_test.column("speed") == pytest.approx([0.0, 150.1])
    assert one.perturb(found, np.array([0.2, -0.2])).readings.load_test.column("speed") == pytest.approx([0.0, 149.8])


def test_a_table_without_speed_does_not_ask():
    assert not list(speed_inputs(measured(scale=[1.0])))


def test_a_stated_supply_frequency_is_as_sure_as_stated():
    """JCGM 100:2008, 4.3.7."""
    found = measured(Tachometer(60, 1.0))
    job = make_job(conditions=Conditions(supply_frequency=Toleranced(50.0, tolerance=0.1)), frequency=60.0)
    (one,) = frequency_inputs(job, found)
    assert (one.estimate, one.standard_uncertainty) == (50.0, pytest.approx(0.1 / SQRT3))
    assert one.perturb(found, 0.2).readings.load_test.column("frequency") == pytest.approx([50.2, 50.2])


@pytest.mark.parametrize("conditions", [Conditions(), Conditions(supply_frequency=50.0)])
def test_a_frequency_that_nobody_measured_is_that_of_the_public_grid(conditions):
    """EN 50160 (from memory): 50 Hz within 1 % for 99.5 % of a year; JCGM 100:2008, 4.3.7 and G.4.3."""
    (one,) = frequency_inputs(make_job(conditions=conditions, frequency=50.0), measured())
    assert one.standard_uncertainty == pytest.approx(0.5 / SQRT3)
    assert (one.assumed, one.degrees_of_freedom) == (True, math.inf)
    assert str(one.to_state).startswith("conditions.supply_frequency.tolerance in the job file")
    assert str(one.assumption) == "supply frequency ± 0.5 Hz"


@pytest.mark.parametrize(("supply", "part"), [("generator", 0.05), ("converter", 0.02), ("public grid", 0.01)])
def test_a_generator_keeps_its_frequency_less_well(supply, part):
    job = make_job(conditions=Conditions(), frequency=60.0)
    object.__setattr__(job.conditions, "supply", supply)
    (one,) = frequency_inputs(job, measured())
    assert one.standard_uncertainty == pytest.approx(part * 60.0 / SQRT3)


def test_frequency_is_not_asked_for_where_nothing_rests_on_it():
    assert not list(frequency_inputs(make_job("universal", frequency=50.0), measured()))
    assert not list(frequency_inputs(make_job("dc", frequency=50.0), measured()))
    assert not list(frequency_inputs(make_job(), measured()))  # none known at all
    found = measured(speed=[150.0], frequency=[50.0])
    assert not list(frequency_inputs(make_job(frequency=50.0), found))  # its meter answers for it
