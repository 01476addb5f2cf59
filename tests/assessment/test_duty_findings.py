"""Duty types S1, S2, S3 and S6 on the plate: what a heat run proves of each, and what is said where it proves nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from bench import FILES, Bench
from builders import make_job, make_readings, make_rig

from certgen.assessment.heat import missing_duty, winding_rise_finding, winding_temperature_finding
from certgen.job.model import ColdWinding, Conditions, HotWinding, Winding
from certgen.pipeline import assess_job
from certgen.reduction.heat import WindingRise
from certgen.reduction.held_run import WINDING, HeldRun, held_run
from certgen.reduction.reduce import reduce_test
from certgen.results.heat import allowed_rise, heat_figures
from certgen.results.model import Finding
from certgen.standards.criteria import TablesBeside

ICE = 273.15
MINUTES = np.arange(0.0, 121.0, 10.0)
#: Of a winding that ends 100 K above the air and has a time constant of 28 min.
RISES = 100.0 * (1.0 - np.exp(-MINUTES / 28.0))
PLATE = {"power": 1500.0, "voltage": 400.0, "insulation_class": "B"}  # 80 K, IEC 60034-1, Table 8


def a_run(minutes: np.ndarray = MINUTES, rises: np.ndarray = RISES, load: float = 1500.0) -> HeldRun:
    air = np.full(len(minutes), ICE + 20.0)
    run = held_run(
        minutes * 60.0, air + rises, air, where=None, part=WINDING, ends_the_test=True, load=load, table="heat_run"
    )
    assert run is not None
    return run


def temperature(duty: str | None, run: HeldRun | None = None, *, warmest: float | None = None) -> Finding | None:
    """The finding on the winding's temperature by a column, from a run and a load test."""
    columns = {} if warmest is None else {"winding_temperature": np.array([40.0, 50.0, warmest]) + ICE + 20.0}
    readings = make_readings(speed=[155.0, 152.0, 150.0], torque=[0.1, 4.0, 10.0], **columns)
    job = make_job(conditions=Conditions(ambient=ICE + 20.0, supply_frequency=50.0), duty=duty, **PLATE)
    runs = () if run is None else (run,)
    reduction = replace(reduce_test(job, make_rig(), readings), held_runs=runs, uncertainties=None)
    figures = heat_figures(job, readings, reduction, TablesBeside())
    return winding_temperature_finding(job, reduction, figures)


def test_short_time_duty_is_judged_after_its_running_time() -> None:
    """S2 30 min: 100 K (1 - exp(-30/28)) is 65.7 K, within the 90 K of class B; held on it passes them."""
    assert RISES[-1] > 90.0
    one = temperature("S2 30 min", a_run())
    assert one.outcome == "pass"
    assert one.measured == pytest.approx(65.7, abs=0.05)
    assert one.required.high == 90.0  # 10 K more for short-time duty, IEC 60034-1, 8.10.2, from memory
    assert str(one.note) == "end of the heat run at 100 % of rated load, 30 min"
    assert temperature("S1", a_run()).outcome == "fail"


def test_short_time_duty_not_run_for_its_time_passes_nothing_and_fails_above_the_limit() -> None:
    short = slice(0, 3)  # 20 min
    assert temperature("S2 30 min", a_run(MINUTES[short], RISES[short])).outcome == "not tested"
    assert temperature("S2 30 min", a_run(MINUTES[short], RISES[short] * 2.0)).outcome == "fail"


def test_a_short_time_run_that_did_not_start_cold_fails_nothing() -> None:
    one = temperature("S2 60 min", a_run(rises=RISES + 10.0))
    assert (one.measured > one.required.high, one.outcome) == (True, "not tested")
    assert "the test may warm it more than duty S2 60 min does" in str(one.note)


@pytest.mark.parametrize("duty", ["S3 40 %", "S6 40 %"])
def test_a_duty_with_rest_is_passed_by_the_load_held_until_steady_and_failed_by_nothing(duty: str) -> None:
    long = np.arange(0.0, 361.0, 10.0)
    cool = 70.0 * (1.0 - np.exp(-long / 28.0))
    assert temperature(duty, a_run(long, cool)).outcome == "pass"
    hot = temperature(duty, a_run(long, cool * 1.5))
    assert hot.outcome == "not tested"
    assert f"the test may warm it more than duty {duty} does" in str(hot.note)
    assert temperature(duty, warmest=95.0).outcome == "not tested"
    assert temperature(None, warmest=95.0).outcome == "fail"


@pytest.mark.parametrize("duty", ["S4 25 %", "S9", "INT", "S3"])
def test_any_other_duty_is_not_judged(duty: str) -> None:
    long = np.arange(0.0, 361.0, 10.0)
    one = temperature(duty, a_run(long, 40.0 * (1.0 - np.exp(-long / 28.0))))
    assert one.outcome == "not tested"
    assert str(one.note).endswith("the duty on the plate is not judged")


# By resistance.


def by_resistance(duty: str, rise: float) -> Finding:
    job = make_job(conditions=Conditions(supply_frequency=50.0), duty=duty, **PLATE)
    winding = Winding(ColdWinding(7.0, ICE + 20.0), HotWinding(8.6, 20.0, ICE + 20.0))
    job = replace(job, readings=replace(job.readings, winding=winding))
    readings = make_readings(speed=[155.0, 152.0, 150.0], torque=[0.1, 4.0, 10.0])
    long = np.arange(0.0, 361.0, 10.0)
    run = a_run(long, 60.0 * (1.0 - np.exp(-long / 28.0)))
    reduction = replace(reduce_test(job, make_rig(), readings), held_runs=(run,), uncertainties=None)
    figures = heat_figures(job, readings, reduction, TablesBeside())
    figures = replace(figures, rise=WindingRise(rise, 8.6, 20.0, None), rise_uncertainty=None)
    found = winding_rise_finding(job, figures, TablesBeside())
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("duty", "rise", "outcome"),
    [
        ("S6 40 %", 79.0, "pass"),
        ("S6 40 %", 81.0, "not tested"),
        ("S3 25 %", 79.0, "pass"),
        ("S2 360 min", 89.0, "pass"),
        ("S2 360 min", 91.0, "fail"),
        ("S5 25 %", 60.0, "not tested"),
    ],
)
def test_the_rise_by_resistance_by_duty(duty: str, rise: float, outcome: str) -> None:
    assert by_resistance(duty, rise).outcome == outcome


def test_nema_limits_a_motor_with_service_factor_at_that_load_alone() -> None:
    """NEMA MG 1, 12.43 and 12.42.1: class B 80 K at 1.0, 90 K at the service-factor load above that."""
    job = make_job(service_factor=1.15, **PLATE)
    limit = allowed_rise(job, None, "nema-mg-1")
    assert not isinstance(limit, str)
    assert limit.rise == 90.0
    assert str(limit.source).endswith("and so not at rated load either")


# What is said where the duty could not be judged.


@pytest.mark.parametrize(
    ("duty", "said"),
    [
        (
            "S2 30 min",
            "Duty S2 30 min: not tested. It takes 30 min at rated load from cold, then the hot winding resistance at once.",
        ),
        (
            "S3 40%",
            "Duty S3 40 %: not tested. A heat run at rated load until steady, within the limit, would cover it.",
        ),
        ("S8", "Duty S8: not judged."),
        (
            "INTERM",
            "Duty 'INTERM' not understood, so not judged: write it as 'S2 30 min' or 'S3 40 %'.",
        ),
    ],
)
def test_a_duty_is_never_passed_over(bench: Bench, duty: str, said: str) -> None:
    bench.edit("job", {"  service_factor: 1.15\n": f"  duty: {duty}\n"}).write()
    assert said in [str(one) for one in assess_job(FILES["job"]).results.conditions.missing]


@pytest.mark.parametrize("duty", [None, "S1", "CONT"])
def test_continuous_duty_needs_no_word(duty: str | None) -> None:
    assert list(missing_duty(make_job(duty=duty), ())) == []


def test_a_duty_that_was_judged_needs_no_word() -> None:
    job = make_job(duty="S2 360 min")
    assert list(missing_duty(job, (by_resistance("S2 360 min", 50.0),))) == []
