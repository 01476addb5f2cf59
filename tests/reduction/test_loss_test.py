from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from builders import make_table
from loss_bench import COLD, ICE, LossBench

from certgen.job.model import Winding
from certgen.reduction.loss_procedure import missing_inputs, separate
from certgen.reduction.model import TooFewReadings
from certgen.reduction.winding import winding_of_test
from certgen.standards.procedures import procedure_of

pytestmark = pytest.mark.slow

IEC, IEEE = procedure_of("iec-60034-2-1"), procedure_of("ieee-112-b")


def separated(bench, procedure=IEC, readings=None):
    job, read, reduction = bench.test()
    readings = readings or read
    winding = winding_of_test(job, readings, reduction.points.torque, hot=None, constant=procedure.copper_constant)
    return separate(job, readings, reduction.points, winding=winding, procedure=procedure)


def test_losses_of_a_known_motor_come_back():
    """Stator to rounding; core and friction as the no-load test, whose own small drop of voltage it leaves out."""
    bench = LossBench()
    parts, states = separated(bench).parts, bench.states()
    for name, within in (("stator", 0.001), ("rotor", 0.001), ("core", 0.005), ("friction_windage", 0.01)):
        expected = [state[name] for state in states]
        assert getattr(parts, name) == pytest.approx(expected, rel=within), name


def test_core_loss_at_rated_voltage_does_not_follow_the_load():
    parts = separated(LossBench(), IEEE).parts
    assert np.ptp(parts.core) == 0.0
    assert np.ptp(parts.friction_windage) == 0.0
    assert (parts.core > separated(LossBench()).parts.core).all()


def test_no_load_winding_is_that_of_the_lightest_point_where_it_was_not_read():
    bench = LossBench()
    readings = bench.readings()
    table = readings.others["no_load"].columns
    bare = make_table(**{name: table[name] for name in ("voltage", "current", "input_power")})
    found = separated(bench, readings=replace(readings, others={"no_load": bare}))
    assert str(found.no_load_basis) == "as at the lightest load point, row 6; its own was not measured"
    assert str(separated(bench).no_load_basis) == "its own readings"
    assert found.no_load.friction_windage == pytest.approx(separated(bench).no_load.friction_windage)


def test_what_is_missing_is_listed():
    bench = LossBench(voltages=(), plate={"power": None})
    job, readings, reduction = bench.test()
    nothing = replace(reduction.points, slip=np.full(6, np.nan))
    assert [str(reason) for reason in missing_inputs(job, readings, nothing)] == [
        "the plate gives no rated power",
        "slip is not known",
        "no-load readings at several voltages are missing",
    ]
    assert missing_inputs(*LossBench().test()[:2], reduction.points) == ()


@pytest.mark.parametrize(
    ("winding", "column", "basis"),
    [
        (None, {"winding_resistance": [2.4] * 6}, "resistance read at each load"),
        (
            LossBench().job().readings.winding,
            {"winding_temperature": [370.0] * 6},
            "cold resistance brought to the winding temperature read at each load",
        ),
    ],
)
def test_what_the_winding_rests_on(winding, column, basis):
    job = LossBench().job()
    job = replace(job, readings=replace(job.readings, winding=winding))
    readings = replace(LossBench().readings(), load_test=make_table(**column))
    assert str(winding_of_test(job, readings, np.arange(6.0), hot=None, constant=235.0).basis) == basis


def test_hot_resistance_stands_in_for_every_load():
    job = LossBench().job()
    readings = replace(LossBench().readings(), load_test=make_table(speed=[1.0, 2.0]))
    found = winding_of_test(job, readings, np.arange(2.0), hot=2.5, constant=235.0)
    assert str(found.basis) == "hot resistance after the test, taken for every load"
    assert found.state.resistance == pytest.approx([2.5, 2.5])
    expected = 2.5 / (2.0 * 0.95) * (235.0 + COLD - ICE) - 235.0
    assert found.state.temperature - ICE == pytest.approx([expected] * 2)


@pytest.mark.parametrize(
    ("winding", "lack"),
    [(None, "no cold resistance was read"), ("cold", "neither its temperature nor its resistance was read at each")],
)
def test_a_winding_of_unknown_resistance_is_refused(winding, lack):
    job = LossBench().job()
    kept = job.readings.winding if winding else Winding()
    job = replace(job, readings=replace(job.readings, winding=kept))
    readings = replace(LossBench().readings(), load_test=make_table(speed=[1.0, 2.0]))
    with pytest.raises(TooFewReadings, match=lack):
        winding_of_test(job, readings, np.arange(2.0), hot=None, constant=235.0)
