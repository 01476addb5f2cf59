from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.job.model import HotWinding, Winding
from certgen.messages.catalogue import Message
from certgen.reduction.held_run import HeldRun
from certgen.reduction.loss_segregation import reference_temperature
from certgen.reduction.reduce import reduce_test
from certgen.standards.procedures import procedure_of

IEC, IEEE = procedure_of("iec-60034-2-1"), procedure_of("ieee-112-b")
ICE = 273.15
POWER = 1500.0


def run(load=POWER, **keys):
    figures = {"time": np.array([0.0, 9000.0]), "rise": np.array([0.0, 40.0]), "ambient_known": True}
    named = {"where": Message("held_run.heat_run"), "part": "frame", "ends_the_test": True, "load_missing": None}
    return HeldRun(load=load, **{**figures, **named, **keys})


def temperature_and_basis(held_runs=(), letter="F", rise=60.0, after=25.0, procedure=IEC):
    job = make_job(power=POWER, insulation_class=letter)
    hot = None if after is None else HotWinding(5.0, after=after)
    job = replace(job, readings=replace(job.readings, winding=Winding(hot=hot)))
    reduction = reduce_test(job, make_rig(), make_readings(speed=[150.0, 148.0], torque=[1.0, 10.0]))
    return reference_temperature(job, replace(reduction, held_runs=tuple(held_runs)), rise, procedure)


def test_rise_at_rated_load_above_air_of_25_degrees():
    """IEC 60034-2-1, reference coolant 25 degC, from memory."""
    temperature, basis = temperature_and_basis([run()])
    assert temperature == pytest.approx(25.0 + 60.0 + ICE)
    assert str(basis).startswith(
        "Reference temperature: winding rise of 60 K after the heat run above air of 25 °C (IEC"
    )
    assert str(basis).endswith("from memory).")


def test_a_run_of_unknown_load_is_taken_as_rated_and_said():
    assert "after the heat run, taken as at rated load, above" in str(temperature_and_basis([run(load=None)])[1])


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({}, "no run at one load ended the test"),
        ({"held_runs": [run(ends_the_test=False)]}, "no run at one load ended the test"),
        ({"held_runs": [run(load=0.9 * POWER)]}, "the heat run was held at 90 % of rated load"),
        ({"held_runs": [run()], "after": 40.0}, "the hot resistance was not read within 30 s of switching off"),
        ({"held_runs": [run()], "rise": None, "after": None}, "no winding rise was measured"),
    ],
)
def test_else_by_insulation_class(given, reason):
    """Class F 115 degC in both standards, from memory."""
    temperature, basis = temperature_and_basis(**given)
    assert temperature == pytest.approx(115.0 + ICE)
    assert str(basis).startswith(f"Reference temperature: insulation class F, as {reason} (IEC")


def test_neither_rise_nor_class():
    temperature, basis = temperature_and_basis(letter=None)
    assert temperature is None
    assert str(basis).startswith("Losses at the temperature of the test: no run")


def test_a_class_the_standard_does_not_list():
    """Class N, 150 degC, is in the IEC list only; from memory."""
    assert temperature_and_basis(letter="N")[0] == pytest.approx(150.0 + ICE)
    assert temperature_and_basis(letter="N", procedure=IEEE)[0] is None
