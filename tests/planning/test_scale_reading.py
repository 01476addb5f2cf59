"""The predicted reading, fed back through the reduction, gives the torque it was predicted for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_calibration, make_job, make_readings, make_rig
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import Conditions, ReadingsSource
from certgen.job.rig import Drive, Scale
from certgen.planning.scale_reading import absorber_torque, own_unit, scale_basis, scale_reading
from certgen.readings.model import Zero
from certgen.reduction.torque import shaft_torque


def measure(low, high):
    return st.floats(low, high, allow_nan=False)


CALIBRATIONS = st.none() | st.tuples(measure(0.9, 1.1), measure(-0.5, 0.5)).map(
    lambda line: make_calibration([0.0, 1.0, 5.0], [line[1] + line[0] * load for load in (0.0, 1.0, 5.0)])
)
DRIVES = st.just(Drive("direct")) | st.builds(Drive, st.just("belt"), measure(0.2, 5.0), measure(0.5, 1.0))
ZEROS = st.none() | measure(-0.5, 0.5)


@st.composite
def benches(draw):
    kind = draw(st.sampled_from(["arm", "rope", "torque sensor"]))
    keys = {"drive": draw(DRIVES), "tare_torque": draw(st.none() | measure(0.0, 0.5).map(Toleranced))}
    if kind != "torque sensor":
        reads = draw(st.sampled_from(["mass", "force"]))
        keys["scale"] = Scale(reads, calibration=draw(CALIBRATIONS))
    if kind == "arm":
        keys["arm_length"] = Toleranced(draw(measure(0.1, 2.0)))
    if kind == "rope":
        keys |= {
            "drum_radius": Toleranced(draw(measure(0.02, 0.5))),
            "rope_diameter": Toleranced(draw(measure(0.0, 0.02))),
        }
    gravity = draw(st.none() | measure(9.76, 9.84))
    zeros = draw(ZEROS), draw(ZEROS) if kind == "rope" else None
    job = make_job(conditions=Conditions(local_gravity=gravity))
    named = [None if zero is None else Dimensioned(zero, "mass") for zero in zeros]
    job = replace(job, readings=ReadingsSource(zero_before=named[0], zero_before_2=named[1]))
    return job, make_rig(kind, **keys), zeros


@given(benches(), measure(0.01, 100.0), measure(-2.0, 20.0))
def test_there_and_back(bench, torque, slack):
    job, rig, (zero, zero_2) = bench
    reading = scale_reading(job, rig, torque)
    columns = {"speed": [100.0]}
    if rig.absorber.kind == "rope":
        columns |= {"scale": [slack + reading], "scale_2": [slack]}
    else:
        columns[{"arm": "scale", "torque sensor": "torque"}[rig.absorber.kind]] = [reading]
    readings = make_readings(Zero(zero, None), Zero(zero_2, None), **columns)
    found = shaft_torque(readings, rig, job.conditions.local_gravity)
    assert found.at_shaft[0] == pytest.approx(torque, rel=1e-9, abs=1e-9)
    assert found.at_absorber[0] == pytest.approx(absorber_torque(rig, torque), rel=1e-9, abs=1e-9)


def test_a_kilogram_at_half_a_metre():
    """Common practice, no source: 1 kg at 0.5 m under standard gravity is 4.903325 N*m."""
    assert scale_reading(make_job(), make_rig("arm"), 0.5 * 9.80665) == pytest.approx(1.0)


def test_the_unit_is_the_one_the_rig_writes_unless_the_job_reads_another():
    scale = Scale("mass", resolution=Dimensioned(0.002, "mass", "lb"))
    assert own_unit(make_job(), make_rig("arm", scale=scale)) == "lb"
    assert own_unit(make_job(), make_rig("arm")) == "kg"
    assert own_unit(make_job(), make_rig("rope", scale=Scale("force"))) == "N"
    assert own_unit(make_job(), make_rig("torque sensor")) == "N*m"


def test_what_the_reading_rests_on_is_said():
    told = " ".join(map(str, scale_basis(make_job(), make_rig("arm", drive=Drive("belt", 2.0, 0.95)))))
    assert "Arm of 0.5 m." in told
    assert "Standard gravity 9.8066 m/s²: the job states none." in told
    assert "No tare torque stated" in told
    assert "add today's zero" in told
    assert "Belt 2 to 1, efficiency 0.95" in told


def test_nothing_is_nan():
    assert np.isfinite(scale_reading(make_job(), make_rig("rope"), 0.0))
