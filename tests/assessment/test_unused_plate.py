"""Whatever is written on a plate either changes the results or is said to change nothing."""

from __future__ import annotations

import dataclasses
import json

import pytest
from typed_job import COLUMNS, PLATE, TypedJob

from certgen.job.model import Nameplate
from certgen.results.serialization import as_tree

pytestmark = pytest.mark.slow

KINDS = ("three-phase induction", "single-phase induction", "universal", "dc", "other")
#: One value for every key; the duty that means the same as none, and the gear, which changes everything, are left out.
VALUES = {
    "power": "1.5 kW", "voltage": "400 V", "current": "3.35 A", "frequency": "60 Hz", "speed": "1427 rpm", "poles": 2,
    "power_factor": 0.6, "efficiency": "99 %", "input_power": "1850 W", "apparent_power": "2300 VA",
    "service_factor": 1.15, "service_factor_current": "3.8 A", "locked_rotor_current": "20 A",
    "locked_rotor_torque": "22 N*m", "pull_up_torque": "18 N*m", "breakdown_torque": "28 N*m", "insulation_class": "F",
    "design_letter": "C", "code_letter": "A", "ambient": "60 degC", "duty": "S3 40 %",
}  # fmt: skip
#: What a plate of the kind cannot have: refused as a mistake of the job.
REFUSED = {
    "universal": ("pull_up_torque", "breakdown_torque"),
    "dc": ("pull_up_torque", "breakdown_torque", "apparent_power"),
}


def test_every_key_of_a_plate_is_tried():
    assert {*VALUES, "gear", "punched"} == {one.name for one in dataclasses.fields(Nameplate)}


def told(job, folder):
    """Everything the results say, but the plate itself and the digests of the files."""
    tree = as_tree(job.judged(folder))
    return json.dumps({name: part for name, part in tree.items() if name not in ("nameplate", "traceability")})


@pytest.mark.parametrize("full", [False, True], ids=["empty plate", "full plate"])
@pytest.mark.parametrize("kind", KINDS)
def test_no_plate_value_passes_in_silence(kind, full, tmp_path):
    keys = {"power", "voltage", "current", "speed"} | ({"frequency", "poles"} if "induction" in kind else set())
    job = TypedJob(kind=kind, plate={name: PLATE[name] for name in keys} if full else {})
    before = told(job, tmp_path)
    silent = []
    for name, value in VALUES.items():
        if (
            name not in job.plate
            and name not in REFUSED.get(kind, ())
            and told(job.having(**{name: value}), tmp_path) == before
        ):
            silent.append(name)
    assert silent == []


@pytest.mark.parametrize(
    ("kind", "plate", "sentence"),
    [
        ("dc", {"frequency": "50 Hz"}, "The plate's frequency: not used for this kind of motor."),
        ("universal", {"poles": 2}, "The plate's number of poles: not used for this kind of motor."),
        ("dc", {"code_letter": "J"}, "The plate's code letter: not used for this kind of motor."),
        ("single-phase induction", {"service_factor": 1.15},
         "The plate's service factor: not compared, as the plate gives no rated power."),
        ("single-phase induction", {"efficiency": "70 %"},
         "The plate's efficiency: not compared, as the plate gives no rated power."),
        ("three-phase induction", {"ambient": "60 degC"},
         "The plate's ambient temperature: not used, as no winding temperature was judged."),
        ("three-phase induction", {**PLATE, "service_factor_current": "3.8 A"},
         "The plate's service-factor current: not compared, as the plate gives no service factor."),
    ],
)  # fmt: skip
def test_the_reason_stands_beside_it(kind, plate, sentence, tmp_path):
    missing = map(str, TypedJob(kind=kind, plate=plate, columns=dict(COLUMNS)).judged(tmp_path).conditions.missing)
    assert sentence in missing


def test_an_ambient_that_moved_a_limit_is_no_such_value(tmp_path):
    """A class on the plate and a winding thermometer at rated load: the hottest place lowers what it may reach."""
    job = TypedJob(plate={**PLATE, "insulation_class": "B", "ambient": "60 degC"})
    found = job.judged(tmp_path)
    assert [one.required.high for one in found.findings if one.id == "winding_temperature"] == [60.0]  # 80 K less 20 K
    assert not any("ambient temperature: not used" in one for one in map(str, found.conditions.missing))
