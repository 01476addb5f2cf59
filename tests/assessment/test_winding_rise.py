"""When a measured rise passes, fails, or proves nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.assessment.heat import winding_rise_finding
from certgen.job.model import ColdWinding, Conditions, HotWinding, Winding
from certgen.reduction.heat import WindingRise
from certgen.reduction.held_run import FRAME, held_run
from certgen.reduction.reduce import reduce_test
from certgen.results.heat import heat_figures
from certgen.standards.criteria import companions_of, shipped_criteria

ICE = 273.15
#: Held 150 min, changing by 0.3 K in the last half hour.
MINUTES = np.arange(0.0, 151.0, 15.0)
STEADY = 40.0 * (1.0 - np.exp(-MINUTES / 28.0))
PLATE = {"power": 1500.0, "voltage": 400.0, "insulation_class": "F"}


def a_run(*, load=1500.0, minutes=MINUTES, rises=STEADY):
    time = np.asarray(minutes) * 60.0
    return held_run(
        time, ICE + 20.0 + np.asarray(rises), np.full(time.shape, ICE + 20.0),
        where="heat run", part=FRAME, ends_the_test=True, load=load, load_missing="" if load else "load not known",
    )  # fmt: skip


def finding(
    rise,
    *,
    after=20.0,
    run=None,
    held=True,
    criteria="iec-60034-1",
    greatest=1500.0,
    kind="three-phase induction",
    **plate,
):
    job = make_job(kind, Conditions(supply_frequency=50.0), **{**PLATE, **plate})
    winding = Winding(ColdWinding(7.0, ICE + 20.0), HotWinding(8.6, after, ICE + 20.0))
    job = replace(job, readings=replace(job.readings, winding=winding))
    speed = 150.0
    readings = make_readings(speed=[155.0, 152.0, speed], torque=[0.1, 4.0, greatest / speed])
    runs = (run or a_run(),) if held else ()
    reduction = replace(reduce_test(job, make_rig(), readings), held_runs=runs, uncertainties=None)
    beside = companions_of(shipped_criteria(criteria))
    figures = heat_figures(job, readings, reduction, beside)
    figures = replace(figures, rise=WindingRise(rise, 8.6, after, ""), rise_uncertainty=None)
    return winding_rise_finding(job, figures, beside)


def test_a_rise_within_the_limit_at_rated_load_until_steady_passes():
    found = finding(104.9)
    assert found.outcome == "pass"
    assert (found.unit, found.measured, found.declared, found.required.high) == ("K", 104.9, 105.0, 105.0)
    assert str(found.source) == "IEC 60034-1 2010, Table 8, item 1, class F"
    assert (
        str(found.note) == "read 20 s after switching off, 30 s allowed; heat run at 100 % of rated load, held 150 min"
    )


def test_on_the_limit_passes_and_above_it_fails():
    assert finding(105.0).outcome == "pass"
    assert finding(105.1).outcome == "fail"


@pytest.mark.parametrize(
    ("case", "said"),
    [
        ({"after": 60.0}, "read 60 s after switching off, 30 s allowed"),
        ({"after": None}, "the time from switching off to the reading is not recorded"),
        ({"run": a_run(load=1200.0)}, "heat run at 80 % of rated load"),
        ({"run": a_run(minutes=MINUTES[:4], rises=STEADY[:4])}, "not held long enough: +15.4 K in the last half hour"),
        ({"run": a_run(minutes=[0, 10, 20], rises=[0, 10, 10])}, "not held long enough: 20 min"),
        ({"held": False}, "not held long enough: no run at one load"),
        ({"duty": "S2 180 min"}, "not held long enough: 150 min of 180 min"),
    ],
)
def test_a_rise_that_may_be_too_low_can_only_fail(case, said):
    low = finding(60.0, **case)
    assert low.outcome == "not tested"
    assert said in str(low.note)
    # the short-time duty has 10 K more
    assert finding(116.0, **case).outcome == "fail"


@pytest.mark.parametrize(
    ("case", "said"),
    [
        ({"run": a_run(load=1800.0)}, "heat run at 120 % of rated load"),
        ({"duty": "S2 60 min"}, "held 150 min, longer than the plate's duty"),
        ({"duty": "S2 150 min", "run": a_run(rises=STEADY + 10.0)}, "the run did not start cold"),
    ],
)
def test_a_rise_that_may_be_too_high_can_only_pass(case, said):
    high = finding(120.0, **case)
    assert high.outcome == "not tested"
    assert said in str(high.note)
    assert finding(60.0, **case).outcome == "pass"


@pytest.mark.parametrize(
    "case",
    [
        {"run": a_run(load=None)},
        {"duty": "S4 40 %"},
        {"duty": "S3"},
        {"held": False, "greatest": 1900.0},
        {"power": None},
    ],
)
@pytest.mark.parametrize("rise", [60.0, 200.0])
def test_a_rise_of_an_unknown_load_proves_nothing(case, rise):
    assert finding(rise, **case).outcome == "not tested"


def test_short_time_duty_has_ten_kelvin_more():
    """IEC 60034-1, from memory."""
    assert finding(114.0, duty="S2 150 min").outcome == "pass"
    assert finding(114.0, duty="S2 150 min").required.high == 115.0


def test_a_hot_ambient_on_the_plate_lowers_the_limit():
    found = finding(100.0, ambient=ICE + 50.0)
    assert found.required.high == pytest.approx(95.0)
    assert found.outcome == "fail"
    assert "10 K less for the plate's ambient" in str(found.source)
    assert finding(100.0, ambient=ICE + 70.0).outcome == "not tested"


def test_small_motors_by_their_own_row():
    assert finding(60.0, power=500.0, run=a_run(load=500.0)).required.high == 110.0


@pytest.mark.parametrize(("load", "limit"), [(1500.0, 90.0), (1500.0 * 1.15, 90.0), (1500.0 * 1.08, 90.0)])
def test_nema_at_service_factor_load(load, limit):
    """NEMA MG 1, 12.43: 10 K more at the service-factor load, which rated load may not pass either."""
    found = finding(70.0, run=a_run(load=load), criteria="nema-mg-1", insulation_class="B", service_factor=1.15)
    assert found.required.high == limit
    assert found.outcome == "pass"


def test_nema_service_factor_of_one_and_iec_have_no_such_row():
    plate = {"insulation_class": "B", "run": a_run(load=1500.0 * 1.1)}
    assert finding(70.0, criteria="nema-mg-1", service_factor=1.0, **plate).required.high == 80.0
    plate["run"] = a_run(load=1500.0 * 1.15)
    assert finding(70.0, service_factor=1.15, **plate).required.high == 80.0


def test_a_class_the_table_lacks_is_not_judged():
    found = finding(60.0, insulation_class="N")
    assert (found.outcome, found.measured, found.required) == ("not tested", 60.0, None)
    assert "no rise for class N" in str(found.note)


def test_no_class_no_finding():
    assert finding(60.0, insulation_class=None) is None
