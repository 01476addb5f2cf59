"""Two results trees held against each other: figures and outcomes, not wording."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.reissue_check import changes

THEN: dict[str, Any] = {
    "certificate": {"number": "MR-1"},
    "points": [{"speed": {"value": 150.0, "unit": "rad/s"}, "flags": []}, {"speed": None, "flags": ["impossible"]}],
    "findings": [
        {"id": "current", "measured": 3.4, "outcome": "pass", "note": "as read"},
        {"id": "speed", "measured": 1.0},
    ],
    "verdict": {"outcome": "pass", "reasons": ["All is well."]},
    "characteristic": {"poles": 4, "code_letter": "J"},
    "traceability": {"version": "1.0"},
}


def later(path: str, value: Any) -> dict[str, Any]:
    tree = copy.deepcopy(THEN)
    *way, last = path.split("/")
    place: Any = tree
    for step in way:
        place = place[int(step) if step.isdigit() else step]
    place[int(last) if last.isdigit() else last] = value
    return tree


def test_the_same_tree_has_no_changes() -> None:
    assert changes(THEN, copy.deepcopy(THEN)) == []


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("points/0/speed/value", 151.5, "points[0].speed.value: 150 on the page, 151.5 computed now (+1 %)"),
        ("points/0/speed/unit", "rpm", "points[0].speed.unit: rad/s on the page, rpm computed now"),
        ("points/0/speed", None, "points[0].speed: some on the page, none computed now"),
        ("points/1/flags", [], "points[1].flags"),
        ("verdict/outcome", "fail", "verdict.outcome: pass on the page, fail computed now"),
        ("characteristic/poles", 6, "characteristic.poles: 4 on the page, 6 computed now (+50 %)"),
        ("characteristic/code_letter", "K", "characteristic.code_letter: J on the page, K computed now"),
        ("findings/0/measured", 3.5, "findings[current].measured: 3.4 on the page, 3.5 computed now (+2.94 %)"),
        ("findings/1/id", "torque", "findings[speed]: some on the page, none computed now"),
        ("points", [], "points: 2 of them on the page, 0 computed now"),
        ("certificate/number", "MR-2", "certificate.number: MR-1 on the page, MR-2 computed now"),
    ],
)
def test_a_figure_or_outcome_that_differs_is_told_with_its_place(path: str, value: Any, told: str) -> None:
    found = changes(THEN, later(path, value))
    assert len(found) == 1
    assert str(found[0]).startswith(told)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("points/0/speed/value", 150.0 * (1 + 1e-12)),
        ("verdict/reasons", ["All is very well."]),
        ("findings/0/note", "as measured"),
        ("traceability/version", "2.0"),
        ("further", {"value": 1.0}),
        ("findings", [THEN["findings"][1], {"id": "new", "measured": 2.0}, THEN["findings"][0]]),
    ],
)
def test_wording_rounding_and_what_came_later_are_no_change(path: str, value: Any) -> None:
    assert changes(THEN, later(path, value)) == []


TREES: Any = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@given(TREES, TREES)
def test_any_two_trees_can_be_compared(then: Any, now: Any) -> None:
    for change in changes(then, now):
        assert str(change)
    assert changes(then, copy.deepcopy(then)) == []
