"""Cautions about the rig: calibration, zero, span, use and tare, each with its numbers and its border."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
from builders import figures_of, make_calibration, make_job, make_readings, make_rig

from certgen.assessment.cautions import cautions_of
from certgen.assessment.rig_cautions import rig_health
from certgen.document.build import Dimensioned, Toleranced
from certgen.job.model import ReadingsSource
from certgen.job.rig import Meters, Rig, RigLimits, Scale, TorqueMeter
from certgen.readings.model import Zero
from certgen.reduction.reduce import reduce_test
from certgen.results.rig_use import rig_use

RPM = math.pi / 30.0
DAY = 86400.0
YEAR = 365.2425 * DAY
SPEED = [1490 * RPM, 1450 * RPM, 1420 * RPM]
LINE = make_calibration([0.0, 1.0, 2.0], [0.0, 1.0, 2.0])
GRAM = Dimensioned(0.001, "mass")


def cautions(
    rig: Rig, *, scale=(0.01, 1.0, 2.0), tested=date(2026, 1, 1), plate=None, whole=False, **zeros: Dimensioned
):
    job = make_job(**(plate or {}))
    job = replace(job, certificate=replace(job.certificate, tested_on=tested), readings=ReadingsSource(**zeros))
    column = "torque" if rig.absorber.kind == "torque sensor" else "scale"
    readings = make_readings(Zero(), speed=SPEED, **{column: list(scale)})
    reduction = reduce_test(job, rig, readings)
    figures = figures_of(job, rig, reduction)
    found = cautions_of(job, rig, reduction, figures, ()) if whole else rig_health(job, rig, figures.rig_use)
    return {one.id: one for one in found}


def arm(calibration=LINE, **keys) -> Rig:
    scale = Scale("mass", GRAM, calibration)
    return make_rig("arm", scale=scale, **keys)


def kilograms(value: float) -> Dimensioned:
    return Dimensioned(value, "mass")


def test_a_rig_in_order_raises_none():
    calibration = replace(LINE, on=date(2025, 6, 1), valid=YEAR)
    rig = arm(calibration, tare_torque=Toleranced(0.03), limits=RigLimits(scale=kilograms(5.0)))
    assert not cautions(rig, zero_before=kilograms(0.001), zero_after=kilograms(0.003))


@pytest.mark.parametrize(
    ("tested", "due"),
    [(date(2025, 6, 1), False), (date(2026, 5, 31), False), (date(2026, 6, 1), False), (date(2026, 6, 3), True)],
)
def test_a_calibration_out_of_date(tested, due):
    calibration = replace(LINE, on=date(2025, 6, 1), valid=YEAR)
    found = cautions(arm(calibration), tested=tested)
    assert ("calibration_due" in found) == due
    if due:
        assert str(found["calibration_due"].because) == "valid until 2026-06-02, tested 2026-06-03"


def test_a_calibration_after_the_test():
    calibration = replace(LINE, on=date(2026, 1, 2), valid=YEAR)
    found = cautions(arm(calibration))
    assert set(found) == {"calibration_later"}
    assert str(found["calibration_later"].because) == "calibrated 2026-01-02, tested 2026-01-01"


@pytest.mark.parametrize("calibration", [None, LINE, replace(LINE, on=date(1999, 1, 1)), replace(LINE, valid=DAY)])
def test_without_a_date_and_a_term_a_calibration_is_not_judged_by_age(calibration):
    assert not cautions(arm(calibration))


def test_a_calibration_valid_for_ever_never_ends():
    assert not cautions(arm(replace(LINE, on=date(2000, 1, 1), valid=1e15)))
    assert not cautions(arm(replace(LINE, on=date(9999, 1, 1), valid=1e15)), tested=date(9999, 12, 31))


@pytest.mark.parametrize(("after", "moved"), [(0.006, False), (0.007, True), (0.001, True), (0.002, False)])
def test_a_zero_that_moved_more_than_two_steps(after, moved):
    """Common practice, no source: one step of rounding at either end moves a steady zero by two at most."""
    found = cautions(arm(), zero_before=kilograms(0.004), zero_after=kilograms(after))
    assert set(found) == ({"zero_drift"} if moved else set())


def test_the_zero_is_told_with_its_numbers():
    found = cautions(arm(), zero_before=kilograms(0.004), zero_after=kilograms(-0.001))
    assert str(found["zero_drift"].because) == "0.004 kg before, −0.001 kg after, 5 steps"


def test_the_zero_of_a_torque_sensor():
    zeros = {"zero_before": Dimensioned(0.0, "torque"), "zero_after": Dimensioned(0.05, "torque")}
    assert not cautions(make_rig(), **zeros)  # no step known
    rig = make_rig(meters=Meters(torque=TorqueMeter(resolution=0.01)))
    assert str(cautions(rig, **zeros)["zero_drift"].because) == "0 N·m before, 0.05 N·m after, 5 steps"


def test_the_slack_side_has_a_zero_of_its_own():
    rig = make_rig("rope", scale=Scale("force", Dimensioned(0.1, "force")))
    zeros = {"zero_before_2": Dimensioned(0.0, "force"), "zero_after_2": Dimensioned(1.0, "force")}
    job = replace(make_job(), readings=ReadingsSource(**zeros))
    readings = make_readings(speed=SPEED, scale=[1.0, 20.0, 40.0], scale_2=[0.0, 2.0, 4.0])
    (found,) = rig_health(job, rig, rig_use(rig, reduce_test(job, rig, readings)))
    assert (found.id, str(found.because)) == ("zero_2_drift", "0 N before, 1 N after, 10 steps")
    assert "slack-side" in str(found.text)


@pytest.mark.parametrize(("heaviest", "beyond"), [(2.0, False), (2.001, True)])
def test_a_load_beyond_the_calibration(heaviest, beyond):
    found = cautions(arm(), scale=(0.01, 1.0, heaviest))
    assert set(found) == ({"beyond_calibration"} if beyond else set())
    if beyond:
        assert str(found["beyond_calibration"].because) == "2.001 kg shown, calibrated up to 2 kg"


@pytest.mark.parametrize(("span", "little"), [(20.0, False), (20.5, True)])
def test_a_scale_used_in_its_lowest_tenth(span, little):
    """Common practice, no source."""
    found = cautions(arm(limits=RigLimits(scale=kilograms(span))))
    assert set(found) == ({"scale_little_used"} if little else set())
    if little:
        assert str(found["scale_little_used"].because) == "2 kg at the heaviest load, span 20.5 kg"


def test_a_scale_is_judged_at_rated_power_where_that_was_reached():
    torque = 9.80665 * 0.5  # of 1 kg, the middle row
    rig = arm(limits=RigLimits(scale=kilograms(15.0)))
    found = cautions(rig, plate={"power": torque * 1450 * RPM})
    assert str(found["scale_little_used"].because) == "1 kg at rated power, span 15 kg"
    assert not cautions(rig)  # 2 kg at the heaviest load are enough


@pytest.mark.parametrize(("tare", "large"), [(0.5, False), (0.53, True)])
def test_a_tare_torque_of_more_than_a_twentieth(tare, large):
    """By hand: 2 kg on 0.5 m are 9.807 N*m; 0.5 N*m more make 4.9 %, 0.53 N*m 5.1 %."""
    found = cautions(arm(tare_torque=Toleranced(tare)))
    assert set(found) == ({"tare_torque"} if large else set())
    if large:
        assert str(found["tare_torque"].because) == "tare 0.53 N·m, 5 % of the torque at the heaviest load"


def test_without_torque_nothing_is_said_of_it():
    rig = arm(tare_torque=Toleranced(5.0), limits=RigLimits(scale=kilograms(100.0)))
    assert not {"tare_torque", "scale_little_used"} & set(cautions(rig, scale=(math.nan, math.nan, math.nan)))


def test_the_page_carries_them():
    assert "beyond_calibration" in cautions(arm(), scale=(0.01, 1.0, 3.0), whole=True)
