from __future__ import annotations

import math

import numpy as np
import pytest
from builders import make_job, make_readings, make_rig

from certgen.reduction.reduce import reduce_test
from certgen.results.characteristic import light_load_speed_ratio, speed_character

RPM = math.pi / 30.0
TORQUE = np.array([0.0, 0.5, 1.0, 2.0])


def told(kind, rpm, torque=TORQUE, **plate):
    readings = make_readings(speed=np.asarray(rpm) * RPM, torque=torque, current=1.0 + np.asarray(torque))
    job = make_job(kind, **(plate or {"current": 2.0}))
    reduction = reduce_test(job, make_rig(), readings)
    return " ".join(map(str, speed_character(job, reduction))), light_load_speed_ratio(job, reduction)


@pytest.mark.parametrize(
    ("idle", "words"),
    [(1100, "shunt-wound or permanent-magnet"), (1400, "compound-wound"), (2600, "series-wound")],
)
def test_the_curve_of_a_direct_current_motor_tells_how_it_is_wound(idle, words):
    """Common practice, no source: shunt motors hold their speed, series motors more than double it."""
    text, ratio = told("dc", [idle, 1040, 1000, 950])
    assert words in text
    assert ratio.value == pytest.approx(idle / 1000)
    assert ratio.unit == "1"


def test_a_universal_motor_run_light_is_warned_of():
    text, ratio = told("universal", [16000, 11000, 8000, 6000])
    assert text == "Without load it reached 2.00 times its speed at rated load: a series motor races."
    assert ratio.value == pytest.approx(2.0)


@pytest.mark.parametrize("kind", ["universal", "dc"])
def test_speed_below_the_lightest_load_is_not_extrapolated(kind):
    text, ratio = told(kind, [12000, 10000, 8000, 6000], torque=np.array([0.3, 0.6, 1.0, 2.0]))
    assert text.startswith("At the lightest load tested, 0.3 N·m, it reached 1.50 times")
    assert text.endswith("lighter loads were not tested.")
    assert ratio.value == pytest.approx(1.5)


@pytest.mark.parametrize("kind", ["three-phase induction", "single-phase induction", "other"])
def test_other_kinds_say_nothing(kind):
    assert told(kind, [1490, 1470, 1450, 1400]) == ("", None)


def test_without_a_light_load_or_a_rating_nothing_is_said():
    assert told("dc", [1000, 990, 980, 950], torque=np.array([1.5, 1.6, 1.8, 2.0])) == ("", None)
    assert told("dc", [1100, 1040, 1000, 950], voltage=180.0) == ("", None)
