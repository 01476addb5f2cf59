"""Values of a plate: one, a fraction of a horsepower, or two in one place."""

from __future__ import annotations

import pytest
from bench import FILES, Bench
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from certgen.cli import main
from certgen.document.source import Problems
from certgen.job.load import LoadedJob, load_job
from certgen.job.plate import is_fraction, values_written


@pytest.mark.parametrize(
    ("written", "values"),
    [
        ("230/400 V", ("230 V", "400 V")),
        ("115/230 V", ("115 V", "230 V")),
        ("5.8/3.34 A", ("5.8 A", "3.34 A")),
        ("5,8/3,34 A", ("5,8 A", "3,34 A")),
        ("1425/1725 rpm", ("1425 rpm", "1725 rpm")),
        ("1425/1725 1/min", ("1425 1/min", "1725 1/min")),
        ("1.5/1.8 kW", ("1.5 kW", "1.8 kW")),
        ("50/60 Hz", ("50 Hz", "60 Hz")),
        ("50 / 60 Hz", ("50 Hz", "60 Hz")),
        ("230 V / 400 V", ("230 V", "400 V")),
        ("208-230/460 V", ("208 V", "230 V", "460 V")),
        ("220-240 V", ("220 V", "240 V")),
        ("3/5 hp", ("3 hp", "5 hp")),
        ("1/2 kW", ("1 kW", "2 kW")),
        ("0.79/0.77", ("0.79", "0.77")),
    ],
)
def test_several_values_in_one_place(written: str, values: tuple[str, ...]) -> None:
    assert values_written(written) == values


@pytest.mark.parametrize(
    "written",
    [
        "230 V", "1/2 hp", "1/3HP", "3/4 hp", "5/16 hp", "1/2 PS", "1 1/2 hp", "1-1/2 HP", "1420 1/min", "1420 min-1",
        "1420 r/min", "1e-3 V", "-5 V", "82.8 %", "",
    ],
)  # fmt: skip
def test_one_value(written: str) -> None:
    assert values_written(written) == ()


@pytest.mark.parametrize(
    ("written", "fraction"), [("1/2 hp", True), ("3/4 HP", True), ("3/5 hp", False), ("1/2 V", False)]
)
def test_what_can_be_nothing_but_a_part_of_a_horsepower(written: str, fraction: bool) -> None:
    """Two-speed motors have plates such as '3/5 hp'. Common practice, no source."""
    assert is_fraction(written) is fraction


@given(st.text("0123456789./- VAhpkWrm1in,–", max_size=40))
def test_values_are_pieces_of_what_was_written(text: str) -> None:
    assert all(value.split(" ")[0] in text for value in values_written(text))


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


def test_further_keys_are_kept_and_said_not_to_be_evaluated(bench: Bench) -> None:
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
    assert set(found.not_evaluated) == {
        "nameplate.locked_rotor_current", "nameplate.locked_rotor_torque", "nameplate.pull_up_torque",
        "nameplate.breakdown_torque", "nameplate.input_power", "nameplate.apparent_power", "conditions.supply",
    }  # fmt: skip


def test_whose_plate_it_is_is_kept(bench: Bench) -> None:
    found = loaded(bench, {"speed: 1420 rpm": "speed: 1420 rpm\n  gear: {ratio: 25, plate_at: motor}"})
    assert found.job.nameplate.gear is not None
    assert found.job.nameplate.gear.plate_at == "motor"
    assert found.not_evaluated == ("nameplate.gear.plate_at",)


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
    assert "Slip at rated power" not in told
