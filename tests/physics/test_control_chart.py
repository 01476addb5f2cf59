from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.physics.control_chart import ControlLimits, control_limits, signals

#: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: flow rates of ten batches. The printed mean and limits are
#: those of the handbook, the single values from memory; they give the printed figures.
FLOW_RATES = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_limits_of_the_published_example() -> None:
    limits = control_limits(FLOW_RATES)
    assert limits.centre == pytest.approx(50.81, abs=0.005)
    assert limits.upper == pytest.approx(55.8041, abs=0.00005)
    assert limits.lower == pytest.approx(45.8159, abs=0.00005)
    assert signals(FLOW_RATES, limits) == ()


@pytest.mark.parametrize(
    ("values", "broken"),
    [
        ((0, 0, 3.1), {("beyond_three", 2)}),
        ((2.1, 0, 2.1), {("two_of_three_beyond_two", 2)}),
        ((2.1, 0, -2.1), set()),
        ((1.1, 1.1, 0.5, 1.1, 1.1), {("four_of_five_beyond_one", 4)}),
        ((0.1,) * 8, {("eight_on_one_side", 7)}),
        ((-0.1,) * 8, {("eight_on_one_side", 7)}),
        ((0.1,) * 7, set()),
    ],
)
def test_each_rule_where_it_is_broken(values, broken) -> None:
    """Western Electric rules, NIST/SEMATECH e-Handbook 6.3.2."""
    assert {(one.rule, one.at) for one in signals(values, ControlLimits(0.0, 1.0))} == broken


def test_a_process_in_control_seldom_signals_and_a_shift_is_found() -> None:
    noise = np.random.default_rng(7).normal(size=4000)
    limits = ControlLimits(0.0, 1.0)
    outside = [one for one in signals(noise, limits) if one.rule.startswith("beyond")]
    assert len(outside) / noise.size == pytest.approx(0.0027, abs=0.002)  # of a normal distribution beyond 3 sigma
    assert signals(noise[:30] + 3.0, limits)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30), st.floats(-1e6, 1e6), st.floats(0.01, 100.0))
def test_limits_follow_the_unit(values, shift, factor) -> None:
    plain, changed = control_limits(values), control_limits([factor * value + shift for value in values])
    assert changed.centre == pytest.approx(factor * plain.centre + shift, rel=1e-6, abs=1e-3)
    assert changed.sigma == pytest.approx(factor * plain.sigma, rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("values", [(), (1.0,), (1.0, float("nan"))])
def test_too_few_values_are_refused(values) -> None:
    with pytest.raises(ValueError, match="at least two values"):
        control_limits(values)
