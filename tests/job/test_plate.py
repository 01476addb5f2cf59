"""Keys of the plate and of the motor: read, kept, and said where they are not evaluated."""

from __future__ import annotations

import pytest
from bench import FILES, Bench
from scipy import constants

from certgen.cli import main
from certgen.document.source import Problems
from certgen.job.load import LoadedJob, load_job


def loaded(bench: Bench, edits: dict[str, str]) -> LoadedJob:
    bench.edit("job", edits).write()
    problems = Problems()
    found = load_job(FILES["job"], problems)
    assert problems.found == []
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("written", "horsepower"), [("1/2 hp", 0.5), ("1 1/2 hp", 1.5), ("1-1/2 HP", 1.5), ("3/4 hp", 0.75)]
)
def test_fractions_of_a_horsepower_are_one_power(bench: Bench, written: str, horsepower: float) -> None:
    found = loaded(bench, {"power: 1.5 kW": f"power: {written}"})
    assert found.job.nameplate.power == pytest.approx(horsepower * constants.hp)


def test_further_keys_are_kept(bench: Bench) -> None:
    found = loaded(
        bench,
        {
            "  service_factor: 1.15\n": "  service_factor: 1.15\n"
            "  locked_rotor_current: 20 A\n  locked_rotor_torque: 22 N*m\n"
            "  pull_up_torque: 18 N*m\n  breakdown_torque: 28 N*m\n  input_power: 1.9 kW\n  apparent_power: 2.4 kVA\n",
            "ambient: 21 degC,": "ambient: 21 degC, supply: generator,",
        },
    )
    plate = found.job.nameplate
    assert (plate.locked_rotor_current, plate.locked_rotor_torque) == (20.0, 22.0)
    assert (plate.pull_up_torque, plate.breakdown_torque) == (18.0, 28.0)
    assert (plate.input_power, plate.apparent_power) == (1900.0, 2400.0)
    assert found.job.conditions.supply == "generator"
    assert found.not_evaluated == ()


def test_whose_plate_it_is_is_kept(bench: Bench) -> None:
    found = loaded(bench, {"speed: 1420 rpm": "speed: 1420 rpm\n  gear: {ratio: 25, plate_at: motor}"})
    assert found.job.nameplate.gear is not None
    assert found.job.nameplate.gear.plate_at == "motor"
    assert found.not_evaluated == ()


@pytest.mark.parametrize("excitation", ["permanent magnet", "shunt", "series", "compound", "separate"])
def test_excitation_of_a_dc_motor(bench: Bench, excitation: str) -> None:
    edits = {
        "type: three-phase induction": f"type: dc\n  excitation: {excitation}",
        "  power_factor: 0.79\n": "", "  frequency: 50 Hz\n": "", "  poles: 4\n": "",
    }  # fmt: skip
    assert loaded(bench, edits).job.motor.excitation == excitation


def test_a_plate_with_the_synchronous_speed_is_not_judged_for_slip(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    """120 f / p = 1500 rpm for four poles at 50 Hz: the plate tells nothing of slip."""
    bench.edit("job", {"speed: 1420 rpm": "speed: 1500 rpm"}).write()
    assert main(["check", "motor/job.yaml"]) == 0
    told = capsys.readouterr().out
    assert "Efficiency at rated power" in told
    assert "Not tested: Slip at rated power" in told
    assert "Slip at rated power: the plate gives the synchronous speed, not the full-load speed" in told
