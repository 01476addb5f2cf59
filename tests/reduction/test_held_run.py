from __future__ import annotations

import math

import numpy as np
import pytest

from certgen.physics.thermal import Exponential
from certgen.reduction.held_run import FRAME, HeldRun, held_run

MINUTE = 60.0
ROOM = 294.15


def run(minutes, rises, ambient=ROOM, **about):
    time = np.array(minutes, dtype=float) * MINUTE
    about = {"where": "heat run", "part": FRAME, "ends_the_test": True, "load": 1500.0, **about}
    return held_run(time, ROOM + np.array(rises, dtype=float), np.full(time.shape, ambient), **about)


def settling(length, tau=30.0, final=40.0, step=5.0):
    minutes = np.arange(0.0, length + step / 2, step)
    return run(minutes, final * (1.0 - np.exp(-minutes / tau)))


def test_length_and_rise_above_the_air():
    found = run([0, 30, 60], [0.0, 20.0, 25.0])
    assert found.length == 60 * MINUTE
    assert found.rise == pytest.approx([0.0, 20.0, 25.0])
    assert found.ambient_known


def test_air_that_warms_is_taken_off_row_by_row():
    time = np.array([0.0, 1800.0, 3600.0])
    found = held_run(
        time, ROOM + np.array([0.0, 20.0, 25.0]), np.array([ROOM, np.nan, ROOM + 4.0]),
        where="heat run", part=FRAME, ends_the_test=True, load=None,
    )  # fmt: skip
    assert found.rise == pytest.approx([0.0, 18.0, 21.0])


def test_without_the_air_the_rise_counts_from_the_first_reading():
    found = run([0, 30, 60], [3.0, 20.0, 25.0], ambient=math.nan)
    assert not found.ambient_known
    assert found.rise == pytest.approx([0.0, 17.0, 22.0])


def test_rows_without_a_reading_are_left_out_and_order_is_that_of_time():
    found = run([60, 0, 30, 45], [25.0, 0.0, 20.0, math.nan])
    assert found.time.tolist() == [0.0, 1800.0, 3600.0]
    assert found.rise == pytest.approx([0.0, 20.0, 25.0])
    assert run([0, 30], [1.0, math.nan]) is None


def test_change_in_the_last_half_hour():
    found = run([0, 20, 40, 60], [0.0, 20.0, 26.0, 28.0])
    assert found.change_within(30 * MINUTE) == pytest.approx(28.0 - 23.0)
    assert found.change_within(90 * MINUTE) is None


def test_readings_further_apart_than_the_half_hour_are_joined_by_a_line():
    assert run([0, 60, 120], [0.0, 30.0, 33.0]).change_within(30 * MINUTE) == pytest.approx(1.5)


def test_steady_by_the_first_time_from_which_it_stays_so():
    found = settling(240.0)
    # 40 exp(-t / 30) changes by 1 K in 30 min where 40 (e - 1) exp(-t / 30) = 1: after 126.9 min.
    assert found.steady_by(1.0, 30 * MINUTE) == 130 * MINUTE
    assert settling(120.0).steady_by(1.0, 30 * MINUTE) is None
    assert settling(20.0).steady_by(1.0, 30 * MINUTE) is None


def test_a_rise_that_goes_off_again_is_not_steady_before_it():
    minutes = np.arange(0.0, 181.0, 10.0)
    rises = np.where(minutes < 100.0, 40.0, 45.0)
    assert run(minutes, rises).steady_by(1.0, 30 * MINUTE) == 130 * MINUTE


def test_the_exponential_is_stated_after_one_time_constant():
    found = settling(60.0).exponential()
    assert isinstance(found, Exponential)
    assert found.final == pytest.approx(40.0, rel=1e-4)
    assert found.time_constant == pytest.approx(30 * MINUTE, rel=1e-4)


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (lambda: settling(20.0), "the run of 20 min is shorter than one time constant, about 30 min"),
        (lambda: run([0, 30, 60], [0.0, 20.0, 25.0]), "3 readings; an exponential needs 4"),
        (lambda: run([0, 10, 20, 30, 40], [0.0, 5.0, 10.0, 15.0, 20.0]), "does not bend enough"),
        (lambda: run([0, 10, 20, 30, 40, 50, 60], [0, 9, 30, 22, 41, 30, 44]), "scatter too much"),
    ],
)
def test_a_final_rise_that_does_not_follow_is_not_stated(made, why):
    found = made()
    assert isinstance(found, HeldRun)
    assert why in str(found.exponential())
