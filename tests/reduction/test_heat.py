from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.model import ColdWinding, Conditions, HeldLoad, HotWinding, Winding
from certgen.job.table import TableSource
from certgen.physics.thermal import resistance_of_rise
from certgen.readings.model import COOLING
from certgen.reduction.heat import WindingRise, winding_rise
from certgen.reduction.reduce import reduce_test

ICE = 273.15
COLD = ColdWinding(7.0, ICE + 20.0)
HEATING = {"time": np.arange(5.0) * 1800.0, "frame_temperature": ICE + np.array([20.0, 40.0, 50.0, 54.0, 55.0])}
LOADS = {
    "speed": [155.0, 153.0, 151.0, 149.0], "torque": [0.1, 4.0, 8.0, 12.0], "current": [1.0, 2.0, 3.0, 4.0],
}  # fmt: skip


def with_winding(hot, **conditions):
    job = make_job(conditions=Conditions(**conditions))
    return replace(job, readings=replace(job.readings, winding=Winding(COLD, hot, "lines")))


def cooling(times, resistances):
    readings = make_readings(speed=[150.0], torque=[1.0])
    return replace(readings, others={COOLING: make_table(time=times, winding_resistance=resistances)})


def series_of(times, rise=60.0, tau=400.0):
    return resistance_of_rise(
        rise * np.exp(-np.asarray(times) / tau),
        cold=7.0,
        cold_temperature=ICE + 20.0,
        ambient=ICE + 22.0,
        constant=235.0,
    )


NOTHING = make_readings(speed=[150.0], torque=[1.0])


def test_one_reading_is_taken_as_it_stands():
    found = winding_rise(with_winding(HotWinding(8.6, 25.0, ICE + 22.0)), NOTHING, constant=235.0)
    # (8.6 - 7.0) / 7.0 (235 + 20) + 20 - 22
    assert found.rise == pytest.approx(1.6 / 7.0 * 255.0 - 2.0)
    assert (found.resistance, found.after, found.note) == (8.6, 25.0, None)


def test_the_room_stands_in_for_the_air_at_the_hot_reading():
    stated = winding_rise(with_winding(HotWinding(8.6, 25.0), ambient=ICE + 22.0), NOTHING, constant=235.0)
    assert stated.rise == pytest.approx(1.6 / 7.0 * 255.0 - 2.0)
    without_room = winding_rise(with_winding(HotWinding(8.6, 25.0)), NOTHING, constant=235.0)
    assert str(without_room) == "the room's temperature was not recorded"


def test_what_is_missing_is_said():
    job = make_job()
    assert str(winding_rise(job, NOTHING, constant=235.0)) == "no hot winding resistance was read"
    uncold = replace(job, readings=replace(job.readings, winding=Winding(hot=HotWinding(8.6))))
    assert str(winding_rise(uncold, NOTHING, constant=235.0)) == "no cold winding resistance was read"
    cooler = with_winding(HotWinding(6.9, 25.0, ICE + 22.0))
    assert "no rise above the room" in str(winding_rise(cooler, NOTHING, constant=235.0))


@given(st.floats(10.0, 120.0), st.floats(200.0, 2000.0), st.floats(5.0, 60.0))
def test_several_readings_are_carried_back_to_the_switching_off(rise, tau, first):
    times = first + np.arange(5.0) * 30.0
    hot = HotWinding(None, ambient=ICE + 22.0)
    found = winding_rise(with_winding(hot), cooling(times, series_of(times, rise, tau)), constant=235.0)
    assert isinstance(found, WindingRise)
    assert found.rise == pytest.approx(rise, rel=1e-6)
    assert found.after == 0.0
    assert found.resistance == pytest.approx(float(series_of([0.0], rise, tau)[0]), rel=1e-9)


def test_a_carried_back_rise_lies_above_every_reading():
    times = np.array([20.0, 50.0, 80.0, 110.0])
    found = winding_rise(
        with_winding(HotWinding(None, ambient=ICE + 22.0)), cooling(times, series_of(times)), constant=235.0
    )
    assert found.resistance > series_of(times).max()
    assert "4 readings, 20 s to 110 s after switching off" in str(found.note)


@pytest.mark.parametrize(
    ("times", "resistances", "said"),
    [
        ([40.0, 70.0], None, "extrapolating back to switching off needs 3"),
        ([200.0, 230.0, 260.0], None, "they begin too late"),
        ([40.0, 70.0, 100.0], [8.5, 8.5, 8.6], "do not fall with time"),
    ],
)
def test_what_cannot_be_carried_back_is_the_first_reading_with_its_delay(times, resistances, said):
    resistances = series_of(times) if resistances is None else resistances
    job = with_winding(HotWinding(None, ambient=ICE + 22.0))
    found = winding_rise(job, cooling(times, resistances), constant=235.0)
    assert (found.resistance, found.after) == (pytest.approx(resistances[0]), times[0])
    assert said in str(found.note)


def reduced(*, load=None, heating=HEATING, room=ICE + 20.0, rows=LOADS, **plate):
    job = make_job(conditions=Conditions(supply_frequency=50.0, ambient=room), **{"power": 1800.0, **plate})
    source = TableSource("readings.heat_run", (1, 1), (), also=HeldLoad(load))
    job = replace(job, readings=replace(job.readings, heat_run=source))
    readings = make_readings(**rows)
    if heating is not None:
        readings = replace(readings, others={"heat_run": make_table(**heating)})
    return reduce_test(job, make_rig(), readings)


def test_a_heat_run_with_its_load_as_stated():
    (run,) = reduced(load=1.0).held_runs
    assert (str(run.where), run.part, run.ends_the_test) == ("heat run", "frame", True)
    assert (run.load, run.load_missing) == (1800.0, None)
    assert run.rise == pytest.approx([0.0, 20.0, 30.0, 34.0, 35.0])


def test_what_was_read_in_the_run_goes_before_what_is_stated():
    (run,) = reduced(load=1.0, heating={**HEATING, "current": np.full(5, 3.0)}).held_runs
    assert run.load == pytest.approx(8.0 * 151.0, rel=1e-6)


def test_the_winding_goes_before_the_frame():
    (run,) = reduced(
        load=1.0, heating={**HEATING, "winding_temperature": HEATING["frame_temperature"] + 20.0}
    ).held_runs
    assert run.part == "winding"
    assert run.rise[-1] == pytest.approx(55.0)


def test_a_load_that_was_neither_read_nor_stated_is_not_guessed():
    (run,) = reduced().held_runs
    assert run.load is None
    assert "the load of the heat run is not known" in str(run.load_missing)
    (run,) = reduced(load=1.0, power=None).held_runs
    assert run.load is None
    assert "rated power that the plate does not give" in str(run.load_missing)


def test_rows_of_the_load_test_at_one_load_are_a_run_too():
    rows = {
        "speed": [155.0, 151.0, 151.0, 151.0, 149.0], "torque": [0.1, 8.0, 8.1, 7.9, 12.0],
        "time": np.array([0.0, 5.0, 35.0, 65.0, 70.0]) * 60.0,
        "winding_temperature": ICE + np.array([20, 30, 50, 55, 56.0]),
    }  # fmt: skip
    (run,) = reduced(heating=None, rows=rows).held_runs
    assert str(run.where) == "load test, 3 rows at one load"
    assert run.load == pytest.approx(8.0 * 151.0)
    assert run.length == 3600.0
    assert not run.ends_the_test


def test_a_load_test_without_times_has_no_runs():
    rows = {**LOADS, "winding_temperature": [300.0] * 4, "torque": [8.0, 8.0, 8.0, 8.0]}
    assert reduced(heating=None, rows=rows).held_runs == ()
