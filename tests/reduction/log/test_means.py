from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_table

from certgen.readings.model import Table
from certgen.reduction.log.means import Stretch, mark_strays, plateau_of, table_of
from certgen.reduction.log.model import Reason


def test_a_plateau_is_the_mean_of_its_good_samples():
    """JCGM 100:2008, 4.2.1 and 4.2.2: arithmetic mean and experimental standard deviation."""
    table = make_table(time=np.arange(6.0), speed=[10.0, 11.0, 99.0, 12.0, 13.0, 50.0])
    why = np.array([0, 0, Reason.OUTLIER, 0, 0, 0], dtype=np.int8)
    plateau = plateau_of(why, table, table.column("time"), Stretch(0, 5))
    assert (plateau.start, plateau.end, plateau.samples, plateau.used) == (0.0, 4.0, 5, 4)
    assert plateau.means["time"].value == 2.0  # half time
    speed = plateau.means["speed"]
    assert speed.value == pytest.approx(11.5, abs=0.3)  # the neighbours of the gap stand for it


def test_too_few_samples_are_no_plateau():
    table = make_table(time=np.arange(4.0), speed=np.ones(4))
    why = np.array([0, 0, Reason.DROPPED_OUT, Reason.DROPPED_OUT], dtype=np.int8)
    assert plateau_of(why, table, table.column("time"), Stretch(0, 4)) is None


def test_remarks_of_a_stretch_are_kept_once_each():
    table = Table({"time": np.arange(6.0), "speed": np.ones(6)}, ("", "warm", "warm", "", "loud", "later"))
    why, stretch = np.zeros(6, dtype=np.int8), Stretch(0, 5)
    plateau = plateau_of(why, table, table.column("time"), stretch)
    rows = table_of([plateau], table, [stretch])
    assert rows.remarks == ("warm; loud",)
    assert rows.column("time").tolist() == [2.0]


def test_a_column_without_values_stays_empty():
    table = make_table(time=np.arange(5.0), speed=np.ones(5), current=np.full(5, np.nan))
    plateau = plateau_of(np.zeros(5, dtype=np.int8), table, table.column("time"), Stretch(0, 5))
    rows = table_of([plateau], table, [Stretch(0, 5)])
    assert math.isnan(rows.column("current")[0])
    assert rows.of_means["current"].standard_uncertainty.tolist() == [0.0]


def test_strays_at_the_ends_are_taken_off_and_others_marked():
    current = np.full(40, 2.0) + 0.001 * np.sin(np.arange(40.0))
    current[[0, 1, 20, 39]] = 5.0
    table = make_table(time=np.arange(40.0), current=current)
    why = np.zeros(40, dtype=np.int8)
    left = mark_strays(why, table, Stretch(0, 40))
    assert (left.start, left.stop) == (2, 39)
    assert np.flatnonzero(why).tolist() == [20]
    pinned = mark_strays(np.zeros(40, dtype=np.int8), table, Stretch(0, 40, pinned=True))
    assert (pinned.start, pinned.stop) == (0, 40)
