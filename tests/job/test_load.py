from __future__ import annotations

import hashlib
import math
from datetime import date
from pathlib import Path

import pytest
from bench import FILES, Bench

from certgen.document.source import Problems, digest
from certgen.job.load import LoadedJob, load_job
from certgen.job.model import Nameplate
from certgen.job.rig import Drive, Rig

RPM = math.pi / 30.0


def loaded(bench: Bench) -> tuple[LoadedJob | None, list[str]]:
    bench.write()
    problems = Problems()
    found = load_job(Path("motor/job.yaml"), problems)
    return found, [str(one) for one in sorted(problems.found)]


def usable(bench: Bench) -> LoadedJob:
    found, told = loaded(bench)
    assert found is not None
    assert not told
    return found


def test_a_job_is_read_in_si(bench: Bench) -> None:
    job = usable(bench).job
    assert job.certificate.number == "WS-2026-007"
    assert job.certificate.tested_on == date(2026, 3, 14)
    assert job.motor.type == "three-phase induction"
    assert job.motor.serial == "0048117"
    assert job.nameplate == Nameplate(
        power=1500.0,
        voltage=400.0,
        current=3.4,
        frequency=50.0,
        speed=pytest.approx(1420 * RPM),
        poles=4,
        power_factor=0.79,
        efficiency=0.8,
        service_factor=1.15,
    )
    assert job.conditions.ambient == pytest.approx(294.15)
    assert job.conditions.local_gravity == 9.81
    zero = job.readings.zero_before
    assert zero is not None
    assert (zero.value, zero.dimension) == (0.004, "mass")
    assert job.criteria == "iec-60034-1"


def test_what_a_job_leaves_out_has_its_default(bench: Bench) -> None:
    nameplate = bench.texts["job"][bench.texts["job"].index("nameplate:") : bench.texts["job"].index("rig:")]
    bench.edit("job", {nameplate: "", "criteria: iec-60034-1\n": ""})
    job = usable(bench).job
    assert job.nameplate == Nameplate()
    assert job.criteria is None
    assert (job.sheet.layout, job.sheet.paper, job.sheet.units) == ("certificate", "a4", "si")


def test_the_least_job_and_the_least_rig_are_enough(bench: Bench) -> None:
    bench.texts = {
        "job": "certificate: {number: X-1, tested_on: 2026-03-14, tested_by: R. Tanner}\n"
        "motor: {type: dc}\nrig: ../rigs/rig.yaml\n"
        "readings: {load_test: {columns: {speed: rpm, scale: lb}, rows: [[1000, 0.5]]}}\n",
        "rig": "name: Arm\nabsorber: {kind: arm}\narm_length: 1 ft\nscale: {reads: mass}\n",
    }
    found = usable(bench)
    assert found.rig.drive == Drive("direct")
    assert found.rig.tachometer.on == "motor"
    assert found.not_evaluated == ()


def test_a_rig_is_read_in_si(bench: Bench) -> None:
    rig = usable(bench).rig
    assert rig.arm_length is not None
    assert (rig.arm_length.value, rig.arm_length.tolerance) == (0.5, 0.0005)
    assert rig.scale is not None
    assert rig.scale.calibration is not None
    assert [one.value for one in rig.scale.calibration.applied] == [0.0, 1.0, 2.0, 5.0]
    assert rig.tare_torque is not None
    assert (rig.tare_torque.value, rig.tare_torque.tolerance) == (0.03, None)
    assert rig.limits.torque == 16.0


def test_every_file_read_is_named_as_the_job_names_it_with_its_digest(bench: Bench) -> None:
    found = usable(bench)
    assert dict(found.inputs) == {
        "job.yaml": hashlib.sha256(FILES["job"].read_bytes()).hexdigest(),
        "../rigs/rig.yaml": hashlib.sha256(FILES["rig"].read_bytes()).hexdigest(),
    }


def test_digest_of_the_published_example() -> None:
    """NIST FIPS 180-4, SHA-256 of 'abc' as in its example values."""
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("bench_name", ["arm", "file", "rope", "torque sensor", "full", "criteria"])
def test_all_benches_load(bench: Bench, bench_name: str) -> None:
    usable(bench.start(bench_name))


def test_a_rig_that_cannot_be_read_stands_as_an_empty_one(bench: Bench) -> None:
    bench.texts["rig"] = "- not\n- a rig\n"
    found, told = loaded(bench)
    assert found is not None
    assert found.rig == Rig()
    assert told == ["rigs/rig.yaml:1:1: the file holds no keys with values; write lines such as 'name: value'."]


def test_the_plate_is_checked_beside_a_rig_that_cannot_be_read(bench: Bench) -> None:
    bench.texts["rig"] = ""
    bench.edit("job", {"speed: 1420 rpm": "speed: 1501 rpm", "input_power: W": "wattmeter_2: W"})
    _, told = loaded(bench)
    assert [line.split(": ")[0:2] for line in told] == [
        ["motor/job.yaml:14:10", "nameplate.speed"],
        ["motor/job.yaml:25:62", "readings.load_test.columns.wattmeter_2"],
        ["rigs/rig.yaml:1:1", "the file is empty; write lines such as 'name"],
    ]


def test_a_job_that_is_no_mapping_is_none(bench: Bench) -> None:
    bench.texts["job"] = "motor"
    found, told = loaded(bench)
    assert found is None
    assert len(told) == 1


@pytest.mark.parametrize("speed", ["1499.9 rpm", "24.99 rev/s", "1500 rpm", "25 rev/s"])
def test_a_plate_up_to_the_synchronous_speed_stands(bench: Bench, speed: str) -> None:
    """An induction motor turns slower than its field: 120 f / p = 1500 rpm for four poles at 50 Hz."""
    usable(bench.edit("job", {"speed: 1420 rpm": f"speed: {speed}"}))


@pytest.mark.parametrize("motor", ["universal", "dc", "other"])
def test_motors_without_a_rotating_field_have_no_synchronous_speed(bench: Bench, motor: str) -> None:
    usable(bench.edit("job", {"three-phase induction": motor, "speed: 1420 rpm": "speed: 9000 rpm"}))


@pytest.mark.parametrize(
    ("applied", "indicated"),
    [
        ("[0 kg, 1 kg, 1 kg, 0 kg]", "[0.000 kg, 1.002 kg, 1.001 kg, 0.003 kg]"),  # up and down again
        ("[5 kg, 2 kg, 0 kg]", "[5.01 kg, 2.00 kg, 0.00 kg]"),  # heaviest first
        ("[0 kg, 2 lb]", "[0 kg, 2 lb]"),
    ],
)
def test_calibrations_in_any_order_are_taken(bench: Bench, applied: str, indicated: str) -> None:
    given = {
        "[0 kg, 1 kg, 2 kg, 5 kg]": applied,
        "[0.002 kg, 1.001 kg, 2.004 kg, 5.009 kg]": indicated,
    }
    usable(bench.edit("rig", given))


@pytest.mark.parametrize(
    ("columns", "motor"),
    [
        ("voltage_ab: V, voltage_bc: V, voltage_ca: V", "three-phase induction"),
        ("voltage: V, wattmeter_1: W, wattmeter_2: W", "three-phase induction"),
        ("voltage: V, current: A, power_factor: '%'", "single-phase induction"),
        ("voltage: V, current: A, input_power: kW", "dc"),
    ],
)
def test_electrical_columns_that_fit_their_motor(bench: Bench, columns: str, motor: str) -> None:
    edits = {"voltage: V, current: A, input_power: W": columns, "three-phase induction": motor}
    edits |= {"401, 1.92, 160": "1, 1, 1", "400, 2.50, 1030": "1, 1, 1", "399, 3.45, 1850": "1, 1, 1"}
    usable(bench.edit("job", edits))
