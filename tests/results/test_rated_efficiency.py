"""One efficiency a page: class, nominal level, finding and headline rest on one value with its method named."""

from __future__ import annotations

import pytest
from bench import FINE_INSTRUMENTS
from loss_bench import LossBench, job_text

from certgen.pipeline import assess_job
from certgen.results.losses import DIRECT, SEGREGATION

pytestmark = pytest.mark.slow

#: The motor of the bench tested cool: at 60 degC its losses are less than at the 95 degC of its class.
COOL = LossBench(temperatures=(333.15,) * 6, light_temperature=333.15)


@pytest.fixture
def run(tmp_path):
    def results(bench, **changes):
        folder = tmp_path / "job"
        folder.mkdir(exist_ok=True)
        (tmp_path / "rig.yaml").write_text(
            "name: a rig\nabsorber: {kind: torque sensor}\n" + FINE_INSTRUMENTS, encoding="utf-8"
        )
        (folder / "job.yaml").write_text(job_text(bench, **changes), encoding="utf-8")
        return assess_job(folder / "job.yaml").results

    return results


def efficiency_finding(results):
    return next(one for one in results.findings if one.quantity == "efficiency")


def test_class_and_finding_are_those_at_reference_temperature(run):
    """The truth at 95 degC by the bench's own circuit; output over input at 60 degC is a good half per cent higher."""
    found = run(COOL, nameplate__efficiency="80 %")
    hot, cool = (5500.0 / COOL.motor.at(5500.0, kelvin)["input_power"] for kelvin in (368.15, 333.15))
    assert cool > hot + 0.004
    assert found.losses.method == SEGREGATION
    assert found.losses.efficiency.value == pytest.approx(hot, abs=0.0007)
    assert efficiency_finding(found).measured == found.losses.efficiency.value
    assert "by its losses at 95 °C" in str(efficiency_finding(found).note)
    percent = f"{100 * found.losses.efficiency.value:.2f} % measured, by its losses at 95 °C"
    assert percent in str(found.characteristic.efficiency_class_reason)
    assert found.losses.direct_efficiency.value == pytest.approx(cool, abs=0.0007)
    assert found.losses.efficiency_as_tested.value == pytest.approx(cool, abs=0.0007)


def test_without_losses_told_apart_it_is_output_over_input(run):
    found = run(COOL, nameplate__efficiency="80 %", readings__no_load=None)
    assert found.losses.method == DIRECT
    assert efficiency_finding(found).measured == pytest.approx(found.at_rated_power.efficiency.value)
    assert "output over input" in str(efficiency_finding(found).note)


def test_two_methods_that_contradict_each_other_cap_the_verdict(run):
    """0.2 N*m the sensor does not see, and no run that shows it: 30 W of 6.9 kW against fine instruments."""
    found = run(LossBench(hidden_drag=0.2), nameplate__efficiency="80 %")
    row = next((one for one in found.plausibility if one.id == "efficiency_methods"), None)
    assert found.losses.method == SEGREGATION
    assert row is not None
    assert row.effect == "caps"
    assert str(row.message).startswith("Load test: at rated power output over input gives 8")
    assert found.verdict.outcome == "conditional pass"


def test_two_methods_that_agree_say_nothing(run):
    assert [one.id for one in run(COOL).plausibility if one.id == "efficiency_methods"] == []


def test_an_intercept_far_above_the_stray_loss_is_not_accepted(run):
    """0.5 N*m unseen are 75 W at every load, of 80 W of stray load loss at rated torque: more than the half allowed."""
    found = run(LossBench(hidden_drag=0.5))
    stray = found.losses.stray_regression
    assert stray.correlation.value > 0.99
    assert not any(stray.accepted.values())
    assert found.losses.method == DIRECT
    assert "of the stray load loss at rated torque, at most 50 % by" in str(found.losses.reason)
