"""Better than declared: ranks as a pass, and raises the question whether plate and motor belong together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typed_job import TypedJob, finding

from certgen.assessment.decision import decide, rank, worst
from certgen.job.model import GUARDED
from certgen.reduction.uncertainty.model import Uncertainty
from certgen.results.model import Limits

SOUND = TypedJob()


def test_much_less_slip_than_declared_passes_and_is_asked_about(tmp_path):
    results = SOUND.having(speed="1380 rpm").judged(tmp_path)  # 8 % declared, 4.9 % measured
    assert finding(results, "slip_at_rated_power").outcome == "better"
    assert results.verdict.outcome == "pass"
    cautions = [one for one in results.cautions if "plate" in str(one.text).lower() or "better" in one.id]
    assert cautions


def test_less_current_than_declared_is_a_plain_pass(tmp_path):
    """The limit of current has one side only."""
    assert finding(SOUND.having(current="5 A").judged(tmp_path), "current_at_rated_power").outcome == "pass"


def test_it_ranks_as_a_pass():
    assert rank("better") == rank("pass")
    assert worst(("better", "pass")) == worst(("better",)) == "pass"
    assert worst(("better", "conditional pass")) == "conditional pass"


@pytest.mark.parametrize(
    ("value", "outcome"),
    [(6.9, "better"), (7.1, "pass"), (8.0, "pass"), (11.0, "pass"), (11.5, "conditional pass"), (13.1, "fail")],
)
def test_only_beyond_the_harmless_limit_by_more_than_the_uncertainty(value, outcome):
    """Limits 8 and 12, U = 1."""
    uncertainty = Uncertainty(0.5, float("inf"), 2.0, 1.0)
    assert decide(value, Limits(8.0, 12.0), uncertainty, GUARDED, harmless="below").outcome == outcome


@given(st.floats(-1e3, 1e3), st.floats(0.0, 1e3), st.floats(1e-3, 1e2))
def test_without_a_harmless_side_nothing_is_better(value, width, expanded):
    uncertainty = Uncertainty(0.5 * expanded, float("inf"), 2.0, expanded)
    limits = Limits(0.0, width)
    assert decide(value, limits, uncertainty, GUARDED).outcome != "better"
    assert decide(value, Limits(high=width), uncertainty, GUARDED, harmless="below").outcome != "better"
