"""Input on the plate, a plate power that may be one, and plate values that change nothing."""

from __future__ import annotations

import pytest
from bench import FILES, Bench

from certgen.pipeline import assess_job
from certgen.results.model import Results

pytestmark = pytest.mark.slow

UNIVERSAL = {
    "type: three-phase induction": "type: universal", "  poles: 4\n": "", "  service_factor: 1.15\n": "",
    "  power_factor: 0.79\n": "", "  efficiency: 80 %\n": "",
}  # fmt: skip


def results_of(bench: Bench, edits: dict[str, str]) -> Results:
    bench.edit("job", edits).write()
    return assess_job(FILES["job"]).results


def notes(results: Results) -> list[str]:
    return [str(one.message) for one in results.plausibility if one.id == "plate_power_like_input"]


@pytest.mark.parametrize(
    ("power", "count"),
    [("1250 W", 1), ("1450 W", 1), ("1000 W", 0), ("1600 W", 0)],  # 400 V times 3.4 A is 1360 VA
)
def test_a_universal_motors_power_near_volts_times_amperes_may_be_its_input(
    bench: Bench, power: str, count: int
) -> None:
    found = notes(results_of(bench, {**UNIVERSAL, "power: 1.5 kW": f"power: {power}"}))
    assert len(found) == count
    assert not found or "1.36 kVA: it may be input power" in found[0]


def test_it_changes_no_verdict(bench: Bench) -> None:
    results = results_of(bench, {**UNIVERSAL, "power: 1.5 kW": "power: 1250 W"})
    assert {one.effect for one in results.plausibility if one.id == "plate_power_like_input"} == {"note"}


def test_declared_input_is_told_beside_the_measured(bench: Bench) -> None:
    results = results_of(bench, {"  efficiency: 80 %\n": "  efficiency: 80 %\n  input_power: 1.9 kW\n"})
    said = [str(one) for one in results.characteristic.proves if "The plate declares" in str(one)]
    assert len(said) == 1
    assert said[0].startswith("The plate declares input power of 1.9 kW; ")
    assert said[0].endswith(" kW was measured at rated power.")
    assert "input_power" not in {one.id for one in results.findings}


def test_a_plate_value_that_changes_nothing_is_said(bench: Bench) -> None:
    written = {"  service_factor: 1.15\n": "  service_factor_current: 3.8 A\n"}
    said = [str(one) for one in results_of(bench, written).conditions.missing]
    expected = "The plate's service-factor current: not compared, as the plate gives no service factor."
    assert expected in said


def test_a_declared_starting_value_without_a_row_is_said(bench: Bench) -> None:
    written = {**UNIVERSAL, "  speed: 1420 rpm\n": "  speed: 1420 rpm\n  locked_rotor_current: 20 A\n"}
    said = [str(one) for one in results_of(bench, written).conditions.missing]
    assert any(one.startswith("The plate's locked-rotor current: not compared, as IEC 60034-1") for one in said)
