"""One load near the rating is judged by what it bounds; farther off it is told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from typed_job import TypedJob, finding

SOUND = TypedJob()
#: 1434 rpm at 1.853 kg are 1365 W, 9 % below rated power: up to 1.099 times the current flows at rated power.
BELOW = (1434, 1.853, 400, 3.12, 1750)


def at(*rows: tuple[float, ...]) -> TypedJob:
    return replace(SOUND, rows=rows)


def drawing(amperes: float) -> TypedJob:
    return at((*BELOW[:3], amperes, BELOW[4]))


@pytest.mark.parametrize(
    ("amperes", "outcome"),
    # limit 3.35 A and a tenth, 3.685 A
    [(3.12, "pass"), (3.33, "pass"), (3.45, "conditional pass"), (3.60, "conditional fail"), (3.75, "fail")],
)
def test_current_lies_between_the_one_read_and_that_in_proportion_to_power(tmp_path, amperes, outcome):
    results = drawing(amperes).judged(tmp_path)
    found = finding(results, "current_at_rated_power")
    assert found.outcome == outcome
    assert "judged at a tested point, −9.0 % off rated power" in str(found.note)
    assert results.verdict.outcome == outcome


@pytest.mark.parametrize(("speed", "outcomes"), [(1434, {"pass"}), (1428, {"conditional pass"}), (1405, {"fail"})])
def test_slip_grows_at_least_in_proportion(tmp_path, speed, outcomes):
    """Limit 4.87 % and a fifth, 5.84 %; at 9 % less power 5.25 % are at least 5.77 %."""
    assert finding(at((speed, *BELOW[1:])).judged(tmp_path), "slip_at_rated_power").outcome in outcomes


def test_farther_off_it_is_told_under_no_verdict(tmp_path):
    results = at((1440, 1.70, 400, 2.97, 1600)).judged(tmp_path)  # 16 % below
    assert (results.verdict.outcome, results.verdict.kind) == ("no verdict", "not at rating")
    assert results.points[0].shaft_power.value > 0.0


def test_a_worse_reading_of_one_point_never_improves_the_outcome(tmp_path):
    order = ["pass", "conditional pass", "conditional fail", "fail"]
    found = [
        finding(drawing(2.9 + 0.1 * step).judged(tmp_path), "current_at_rated_power").outcome for step in range(12)
    ]
    assert found == sorted(found, key=order.index)
