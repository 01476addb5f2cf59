"""What a run with the brake off shows beside the scale is in every load point, and in what is judged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bench import FINE_INSTRUMENTS
from loss_bench import LossBench, job_text

from certgen.pipeline import assess_job

pytestmark = pytest.mark.slow

#: A brake that takes 0.5 N*m beside its sensor, and the same motor on a brake that takes nothing.
HIDDEN, OPEN = LossBench(hidden_drag=0.5, brake_off_row=True), LossBench(brake_off_row=True)


@pytest.fixture
def run(tmp_path):
    def results(bench, rig="", **changes):
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        (tmp_path / "rig.yaml").write_text(
            "name: a rig\nabsorber: {kind: torque sensor}\n" + rig + FINE_INSTRUMENTS, encoding="utf-8"
        )
        (folder / "job.yaml").write_text(job_text(bench, **changes), encoding="utf-8")
        return assess_job(folder / "job.yaml").results

    return results


def note_of(results):
    return next(str(note) for note in results.losses.notes if "brake off" in str(note))


def test_the_load_points_and_the_headline_are_those_of_the_shaft(run):
    """The truth of the bench's own circuit, which the sensor shows 0.5 N*m short of."""
    found, truth = run(HIDDEN), HIDDEN.motor.at(5500.0, 368.15)
    point = found.at_rated_power
    assert abs(point.torque.value - truth["torque"]) <= 0.02
    assert point.efficiency.value == pytest.approx(5500.0 / truth["input_power"], abs=0.0005)
    torques = [state["torque"] for state in HIDDEN.states()]
    assert [one.torque.value for one in found.points] == pytest.approx(torques, abs=0.005)
    assert found.losses.dynamometer_correction.value == pytest.approx(0.5, abs=0.005)
    assert "is in every load point" in note_of(found)


def test_losses_and_finding_tell_one_efficiency(run):
    """The finding judged the uncorrected point and failed a motor that the losses on the same page cleared."""
    truth = HIDDEN.motor.at(5500.0, 368.15)
    found = run(HIDDEN, nameplate__efficiency=f"{100 * 5500.0 / truth['input_power']:.1f} %")
    judged = next(one for one in found.findings if one.quantity == "efficiency")
    assert judged.measured == pytest.approx(found.losses.efficiency.value, abs=0.0005)
    assert judged.outcome == "pass"


def test_a_tare_torque_that_the_rig_states_is_part_of_it(run):
    """0.2 N*m are stated, so the run shows 0.3 N*m more, and the load points are the same."""
    plain, stated = run(HIDDEN), run(HIDDEN, "tare_torque: {value: 0.2 N*m, tolerance: 0.01 N*m}\n")
    assert stated.losses.dynamometer_correction.value == pytest.approx(0.3, abs=0.005)
    assert stated.points[0].torque.value == pytest.approx(plain.points[0].torque.value, rel=1e-6)


def test_a_torque_within_its_uncertainty_corrects_nothing_and_says_so(run):
    found = run(OPEN)
    assert [one.torque.value for one in found.points] == pytest.approx(
        [state["torque"] for state in OPEN.states()], abs=1e-4
    )
    assert "it lies within its uncertainty of" in note_of(found)


def test_a_brake_that_would_turn_the_motor_corrects_nothing(run):
    found = run(replace(HIDDEN, hidden_drag=-0.6))
    assert found.points[0].torque.value == pytest.approx(HIDDEN.states()[0]["torque"] + 0.6, abs=0.01)
    assert "the brake would turn the motor" in note_of(found)


def test_friction_of_a_tenth_of_rated_torque_is_a_fault_and_no_correction(run):
    assert "it is too much for a brake's friction" in note_of(run(replace(HIDDEN, hidden_drag=4.2)))


def test_the_uncertainty_of_the_correction_is_in_that_of_torque(run):
    """JCGM 100:2008, 5.1.2: the squares add."""
    corrected, uncorrected = run(HIDDEN), run(replace(HIDDEN, brake_off_row=False))
    with_it, without = (one.points[5].torque.expanded_uncertainty for one in (corrected, uncorrected))
    spread = corrected.losses.dynamometer_correction.expanded_uncertainty
    assert with_it == pytest.approx((without**2 + spread**2) ** 0.5, rel=0.002)
    assert with_it > without


def test_any_absorber_may_record_the_run_by_a_remark(run):
    """A friction or rope brake has no current: 'brake off' in the row's remark says the same."""
    bench = replace(HIDDEN, hidden_drag=0.5)
    table = bench.readings().load_test
    columns = {
        "speed": "rpm", "torque": "N*m", "voltage": "V", "current": "A", "input_power": "W",
        "winding_temperature": "degC", "remark": "1",
    }  # fmt: skip
    rows = []
    for row in range(table.rows):
        cells = {name: table.columns[name][row] for name in columns if name != "remark"}
        cells["speed"] *= 30.0 / np.pi
        cells["winding_temperature"] -= 273.15
        remark = "brake off, coupled" if row == table.rows - 1 else "-"
        rows.append([*(f"{value:.6f}" for value in cells.values()), remark])
    columns["remark"] = ""
    by_remark = run(bench, readings__load_test={"columns": columns, "rows": rows})
    assert by_remark.losses.dynamometer_correction.value == pytest.approx(0.5, abs=0.005)
    assert by_remark.points[0].torque.value == pytest.approx(run(bench).points[0].torque.value, rel=1e-6)
