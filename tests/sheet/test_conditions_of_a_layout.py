"""What a layout may make a row depend on: each condition holds for a full test and not for one that has nothing of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet.results_factory import make_results, with_uncertainties
from sheet.wider_results import with_everything

from certgen.job.model import Gear
from certgen.quantity import Quantity
from certgen.results.model import NO_VERDICT, Characteristic, Results
from certgen.sheet.content import Content
from certgen.sheet.engine.subjects import SUBJECTS, TEST

FULL = with_everything(with_uncertainties(make_results()))
FULL = replace(FULL, nameplate=replace(FULL.nameplate, gear=Gear()))
WATT = Quantity(1.0, "W")
BARE = make_results(1)
BARE = replace(
    BARE,
    nameplate=replace(BARE.nameplate, power=None),
    certificate=replace(BARE.certificate, remarks=""),
    verdict=replace(BARE.verdict, outcome=NO_VERDICT),
    findings=(),
    cautions=(),
)


def holds(name: str, results: Results) -> bool:
    return SUBJECTS[TEST].when[name](Content(results))


#: How many there must be of something is tested by itself; a verdict too.
COUNTED = {"many_figures", "many_points", "short_comparison", "failed"}


@pytest.mark.parametrize("name", sorted(SUBJECTS[TEST].when.keys() - COUNTED))
def test_a_condition_holds_where_there_is_something_to_show(name: str) -> None:
    assert holds(name, FULL)
    assert not holds(name, BARE)


@pytest.mark.parametrize(
    ("outcome", "passed", "failed"),
    [
        ("pass", True, False),
        ("conditional pass", True, False),
        ("conditional fail", False, True),
        ("fail", False, True),
        (NO_VERDICT, False, False),
    ],
)
def test_a_verdict_is_passed_or_failed_and_a_missing_one_neither(outcome: str, passed: bool, failed: bool) -> None:
    results = replace(FULL, verdict=replace(FULL.verdict, outcome=outcome))
    assert (holds("passed", results), holds("failed", results)) == (passed, failed)
    assert holds("judged", results) == (outcome != NO_VERDICT)


def test_figures_of_a_motor_are_many_from_the_eighth_on() -> None:
    names = ("no_load_speed", "no_load_current", "rated_torque", "pull_up_torque", "breakdown_torque", "peak_power")
    seven = Characteristic(synchronous_speed=WATT, **dict.fromkeys(names, WATT))
    assert not holds("many_figures", replace(FULL, characteristic=replace(seven, pull_up_torque_ratio=WATT)))
    assert holds("many_figures", replace(FULL, characteristic=replace(seven, gear_loss=WATT)))


def test_load_points_are_many_from_the_fifteenth_on() -> None:
    assert not holds("many_points", make_results(14))
    assert holds("many_points", make_results(15))


@pytest.mark.parametrize(("count", "short"), [(1, True), (4, True), (5, False)])
def test_a_comparison_is_short_up_to_four_rows(count: int, short: bool) -> None:
    (comparison,) = FULL.comparisons
    rows = (comparison.differences * 5)[:count]
    assert holds("short_comparison", replace(FULL, comparisons=(replace(comparison, differences=rows),))) is short
    assert not holds("short_comparison", replace(FULL, comparisons=FULL.comparisons * 2))
