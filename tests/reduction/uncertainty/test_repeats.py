"""Which rows are readings of one load, how far they scatter, and what a copy of a row is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig, make_table

from certgen.document.build import Dimensioned
from certgen.job.model import Conditions
from certgen.job.rig import Ammeter, Meters, Scale, Wattmeter
from certgen.reduction.load_curve import knots_of
from certgen.reduction.reduce import reduce_test
from certgen.reduction.uncertainty.repeats import originals, repeat_scatter

RPM = math.pi / 30.0


def runs(setting) -> list[np.ndarray]:
    """Rows one after the other at one setting."""
    edges = np.flatnonzero(np.diff(setting) != 0.0) + 1
    return [rows for rows in np.split(np.arange(len(setting)), edges) if rows.size > 1]


def test_two_readings_of_one_load():
    """JCGM 100:2008, 4.2.2 for n = 2: s = |a - b| / sqrt(2), one degree of freedom."""
    standard, freedom = repeat_scatter(np.array([1.0, 2.0, 2.06]), runs([1.0, 2.0, 2.0]))
    assert standard == pytest.approx(0.06 / math.sqrt(2.0))
    assert freedom == pytest.approx(1.0)


def test_a_slow_change_of_the_load_hardly_enters():
    """A warming motor: steps of 0.01 for 30 rows have a standard deviation of 0.088, but scatter by 0.01 / sqrt(2)."""
    drifting = 2.0 + 0.01 * np.arange(30)
    standard, _ = repeat_scatter(drifting, [np.arange(30)])
    assert standard == pytest.approx(0.01 / math.sqrt(2.0))
    assert drifting.std(ddof=1) > 0.08


def test_standard_deviation_and_degrees_of_freedom_by_simulation():
    """Normal scatter of 0.1, five readings of a load: the variance is met, and its spread is 2 s^4 / nu."""
    rng = np.random.default_rng(20260102)
    found = [repeat_scatter(rng.normal(3.0, 0.1, 5), [np.arange(5)]) for _ in range(20_000)]
    variances = np.array([one[0] ** 2 for one in found])
    assert variances.mean() == pytest.approx(0.01, rel=0.02)  # 20000 draws: sure to 0.6 %
    assert found[0][1] == pytest.approx(2.0 * variances.mean() ** 2 / variances.var(), rel=0.06)


def test_groups_are_pooled():
    readings, setting = np.array([1.0, 1.02, 5.0, 5.04]), np.array([1.0, 1.0, 2.0, 2.0])
    standard, freedom = repeat_scatter(readings, runs(setting))
    assert standard == pytest.approx(math.sqrt((0.02**2 + 0.04**2) / 4.0))
    assert freedom == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("readings", "setting"),
    [
        ([1.0, 2.0, 3.0], [1.0, 2.0, 3.0]),
        ([1.0, 2.0, 1.1], [1.0, 2.0, 1.0]),  # came back to a load: no repeat of a steady one
        ([1.0, 1.0, 2.0], [1.0, 1.0, 2.0]),  # agree to the last digit
        ([1.0, math.nan, math.nan], [1.0, 1.0, 1.0]),
        ([1.0], [1.0]),
    ],
)  # fmt: skip
def test_without_repeats_there_is_nothing_to_say(readings, setting):
    assert repeat_scatter(np.array(readings), runs(setting)) is None


#: A motor of 31 N*m on an arm of 0.5 m: loads, what a scale in grams shows, and the rest by straight lines.
TORQUE = np.array([31.0, 26.0, 20.0, 15.0, 10.0, 5.0])


def reduced(torque, *, scale=None, amperes=0.0, **more):
    """A test of loads, the scale's error [kg] and the ammeter's [A] of each row added."""
    torque = np.asarray(torque, dtype=float)
    speed = (1500.0 - 2.0 * torque) * RPM
    readings = make_readings(
        scale=torque / (0.5 * 9.80665) + (0.0 if scale is None else np.asarray(scale)),
        speed=speed,
        voltage=np.full(torque.shape, 400.0),
        current=4.0 + 0.1 * torque + np.asarray(amperes),
        input_power=torque * speed + 300.0,
        **more,
    )
    rig = make_rig(
        "arm",
        scale=Scale("mass", resolution=Dimensioned(0.001, "mass"), tolerance=Dimensioned(0.002, "mass")),
        meters=Meters(current=Ammeter(reading=0.001, resolution=0.001), input_power=Wattmeter(reading=0.001)),
    )
    job = make_job(conditions=Conditions(supply_frequency=50.0), power=3728.0, current=6.6)
    return reduce_test(job, rig, readings)


def repeatability(reduction) -> dict[str, float]:
    """Standard uncertainty and degrees of freedom of what repeats showed, by column."""
    return {
        str(one.name).removesuffix(", repeatability"): one.standard_uncertainty
        for one in reduction.uncertainties.inputs
        if str(one.name).endswith(", repeatability")
    }


def test_one_brake_current_for_all_loads_makes_them_no_repeats():
    """Six loads of 5 to 31 N*m that name one brake current: nothing is known from that of the scatter."""
    plain, named = reduced(TORQUE), reduced(TORQUE, brake_current=np.full(6, 3.0))
    assert repeatability(named) == {}
    expanded = [one.uncertainties.operating["at_rated_power"]["current"].expanded for one in (plain, named)]
    assert expanded[0] == expanded[1]


def test_repeats_show_the_scatter_of_every_column():
    """JCGM 100:2008, 4.2: two readings of a load 0.05 A apart scatter by 0.05 / sqrt(2); the scale by 6 g likewise."""
    torque = np.repeat(TORQUE, 2)
    sign = np.tile([0.5, -0.5], 6)
    found = repeatability(reduced(torque, scale=0.006 * sign, amperes=0.05 * sign))
    assert found["current"] == pytest.approx(0.05 / math.sqrt(2.0), rel=1e-3)
    assert found["scale"] == pytest.approx(0.006 / math.sqrt(2.0), rel=5e-3)
    assert set(found) <= {"current", "scale", "speed", "input power"}


def test_a_brake_that_creeps_is_no_scatter_of_the_scale():
    """The load fell by 0.3 % between two readings and the watts with it: the scale showed what there was."""
    torque = np.repeat(TORQUE, 2) * np.tile([1.0, 0.997], 6)
    reduction = reduced(torque)
    assert repeatability(reduction).get("scale", 0.0) < 0.0005
    assert reduction.uncertainties.errors.along.curve.torque.size == 6


def test_copies_are_rows_alike_in_every_column():
    table = make_table(time=[0.0, 1.0, 1.0, 2.0], scale=[1.0, 2.0, 2.0, 2.0], current=[np.nan] * 4)
    assert originals(table, np.arange(4)).tolist() == [0, 1, 3]


def test_a_copied_row_neither_narrows_nor_scatters():
    rows = np.array([0, 1, 2, 2, 3, 4, 5])
    plain, copied = reduced(TORQUE), reduced(TORQUE[rows])
    for name in ("current", "efficiency", "torque"):
        was, found = (one.uncertainties.operating["at_rated_power"][name].expanded for one in (plain, copied))
        assert found == pytest.approx(was, rel=1e-9)


def test_knots_are_weighted_and_do_not_chain():
    torque, scatter = np.array([1.0, 1.01, 5.0, 5.2, 5.4]), np.array([0.01, 0.02, 0.05, 0.05, 0.05])
    knots = knots_of(torque, scatter, np.arange(5))
    assert [one.rows.tolist() for one in knots] == [[0, 1], [2, 3], [4]]
    assert knots[0].mean(torque) == pytest.approx((1.0 * 4 + 1.01) / 5.0)  # weights 1 / 0.01^2 and 1 / 0.02^2
    assert [one.rows.tolist() for one in knots_of(torque, np.zeros(5), np.arange(5))] == [[0], [1], [2], [3], [4]]
