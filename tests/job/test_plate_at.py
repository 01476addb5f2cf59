"""Whose plate a geared motor has, what follows for its output shaft, and what the page says of it."""

from __future__ import annotations

import math

import pytest
from bench import FILES, Bench
from builders import make_job
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.load import at_output_shaft
from certgen.job.model import AT_MOTOR, AT_OUTPUT, MOTOR_SHAFT, Gear, Nameplate
from certgen.pipeline import assess_job
from certgen.results.model import Results

pytestmark = pytest.mark.slow

RPM = math.pi / 30.0
PLATE = {"power": 250.0, "speed": 1400 * RPM, "frequency": 50.0, "poles": 4, "efficiency": 0.70, "current": 0.8}


def plate_of(gear: Gear, kind: str = "three-phase induction", **plate) -> Nameplate:
    return at_output_shaft(make_job(kind, gear=gear, **{**PLATE, **plate})).nameplate


def test_a_plate_of_the_motor_loses_the_gears_loss() -> None:
    """By hand: 250 W through 0.9 is 225 W; 1400 rpm over 14 is 100 rpm; 0.70 times 0.9 is 0.63; 5 N*m times 14 times 0.9."""
    found = plate_of(Gear(14.0, 0.9, plate_at=AT_MOTOR), breakdown_torque=5.0)
    assert found.power == pytest.approx(225.0)
    assert found.speed == pytest.approx(100 * RPM)
    assert found.efficiency == pytest.approx(0.63)
    assert found.breakdown_torque == pytest.approx(63.0)
    assert found.current == 0.8


def test_a_plate_of_the_output_shaft_stays() -> None:
    found = plate_of(Gear(14.0, 0.9, plate_at=AT_OUTPUT), speed=100 * RPM)
    assert (found.power, found.speed, found.efficiency) == (250.0, 100 * RPM, 0.70)


@pytest.mark.parametrize(
    ("gear", "speed", "plate_at"),
    [
        (Gear(14.0, 0.9), 1400 * RPM, AT_MOTOR),  # 19 600 rpm inside cannot be
        (Gear(14.0, 0.9), 100 * RPM, AT_OUTPUT),
        (Gear(1.5, 0.9, speed_of=MOTOR_SHAFT), 1400 * RPM, AT_MOTOR),
    ],
)
def test_left_out_the_speed_tells(gear: Gear, speed: float, plate_at: str) -> None:
    found = plate_of(gear, speed=speed)
    assert found.gear.plate_at == plate_at
    assert found.power == pytest.approx(225.0 if plate_at == AT_MOTOR else 250.0)


def test_an_efficiency_nobody_states_is_assumed() -> None:
    found = plate_of(Gear(14.0, plate_at=AT_MOTOR))
    assert found.power == pytest.approx(0.9 * 250.0)
    assert found.gear.efficiency is None


@given(ratio=st.floats(1.01, 500.0), efficiency=st.floats(0.3, 1.0))
def test_torque_at_the_output_shaft_is_the_motors_times_ratio_and_efficiency(ratio: float, efficiency: float) -> None:
    """Rated torque, power over speed, follows the law of declared torques."""
    found = plate_of(Gear(ratio, efficiency, plate_at=AT_MOTOR))
    assert found.power / found.speed == pytest.approx(250.0 / (1400 * RPM) * ratio * efficiency)


# On the page.


def results_of(bench: Bench, gear: str) -> Results:
    """A motor of 1.5 kW as if behind a gear of ratio 1.01, so that its readings stay near."""
    bench.edit("job", {"speed: 1420 rpm": f"speed: 1420 rpm\n  gear: {gear}"}).write()
    return assess_job(FILES["job"]).results


@pytest.mark.parametrize(
    ("gear", "said"),
    [
        ("{ratio: 1.01, efficiency: 0.97, plate_at: output}", "The plate is taken as the output shaft's."),
        ("{ratio: 1.01, efficiency: 0.97, plate_at: motor}", "power multiplied by the gear's efficiency of 97 %."),
        (
            "{ratio: 1.01, plate_at: motor}",
            "an efficiency of 90 % ± 7 % assumed for the gear (common practice, no source)",
        ),
    ],
)
def test_the_page_says_whose_plate_it_is(bench: Bench, gear: str, said: str) -> None:
    assert said in " ".join(str(one) for one in results_of(bench, gear).conditions.method)


def test_an_assumed_gear_efficiency_keeps_a_pass_conditional(bench: Bench) -> None:
    entries = results_of(bench, "{ratio: 1.01, plate_at: motor}").plausibility
    assert [(one.id, one.effect) for one in entries if one.id == "gear_efficiency_assumed"] == [
        ("gear_efficiency_assumed", "caps")
    ]


def test_a_stated_one_raises_nothing(bench: Bench) -> None:
    entries = results_of(bench, "{ratio: 1.01, efficiency: 0.97, plate_at: motor}").plausibility
    assert "gear_efficiency_assumed" not in [one.id for one in entries]


def test_a_fail_that_rests_on_an_assumed_gear_efficiency_is_withheld(bench: Bench) -> None:
    """A current of 2.4 A on the plate: 3.45 A fail it, and would at less power if the gear lost more than assumed."""
    bench.edit("job", {"current: 3.4 A": "current: 2.4 A"})
    stated = results_of(bench, "{ratio: 1.01, efficiency: 0.9, plate_at: motor}").verdict
    assert stated.outcome == "fail"
    bench.edit("job", {"efficiency: 0.9, plate_at": "plate_at"}).write()
    verdict = assess_job(FILES["job"]).results.verdict
    assert (verdict.outcome, verdict.kind) == ("no verdict", "readings")
    assert "efficiency assumed for the gear" in str(verdict.reasons[0])


def test_failed_insulation_fails_whatever_the_gear_loses(bench: Bench) -> None:
    bad = "criteria: iec-60034-1"
    bench.edit("job", {"current: 3.4 A": "current: 2.4 A"})
    bench.edit("job", {bad: f"  insulation: {{voltage: 500 V, at_1_min: 0.4 Mohm, temperature: 21 degC}}\n{bad}"})
    assert results_of(bench, "{ratio: 1.01, plate_at: motor}").verdict.outcome == "fail"
