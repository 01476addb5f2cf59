"""The table of findings: figures in the reader's units, limits, rules."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from scipy import constants
from sheet.results_factory import make_results

from certgen.messages.catalogue import Message
from certgen.results.model import Finding, Limits, Verdict
from certgen.sheet.blocks.findings import findings
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Titled
from certgen.sheet.engine.setting import Block

RPM = math.tau / 60.0
Read = Callable[[Block], str]


def words(finding: Finding, read: Read, units: str = "si") -> str:
    return read(findings(Content(replace(make_results(), findings=(finding,)), units), Titled("")))


def test_row_says_declared_required_measured_unit_and_outcome(words_of: Read) -> None:
    finding = Finding("current", "Current at rated power", "pass", "A", 3.4, 3.418, Limits(None, 3.57), source="a rule")
    assert "Current at rated power 3.4 ≤ 3.57 3.42 A pass a rule" in words(finding, words_of)


@pytest.mark.parametrize(
    ("required", "expected"),
    [(Limits(1.0, None), "≥ 1.00"), (Limits(None, 5.0), "≤ 5.00"), (Limits(1.0, 5.0), "1.00 to 5.00"), (None, "—")],
)
def test_limits(required: Limits | None, expected: str, words_of: Read) -> None:
    assert f" {expected} 3.40 A" in words(Finding("c", "Current", "pass", "A", 3.4, 3.4, required), words_of)


@pytest.mark.parametrize(
    ("unit", "identity", "value", "expected"),
    [
        ("rad/s", "speed", 1416.0 * RPM, "1416 rpm"),
        ("W", "power", 1488.2, "1.488 kW"),
        ("N*m", "torque", 9.87, "9.870 N·m"),
        ("1", "slip", 0.0533, "5.33 %"),
        ("1", "efficiency", 0.8106, "81.1 %"),
        ("1", "power_factor", 0.772, "0.772"),
        ("K", "ambient", 313.15, "40.0 °C"),
        ("K", "winding_rise", 71.3, "71.3 K"),
    ],
)
def test_measured_value_is_converted(unit: str, identity: str, value: float, expected: str, words_of: Read) -> None:
    assert expected in words(Finding(identity, "Title", "pass", unit, None, value), words_of)


def test_both_systems_stand_in_one_cell(words_of: Read) -> None:
    torque = 9.87 / (constants.foot * constants.pound_force)
    found = words(Finding("torque", "Torque", "pass", "N*m", None, 9.87, Limits(9.0, None)), words_of, "both")
    assert f"9.870 ({torque:.3f}) N·m (lbf·ft)" in found
    assert f"≥ 9.000 (≥ {9.0 / (constants.foot * constants.pound_force):.3f})" in found


@pytest.mark.parametrize(
    ("measured", "limit", "shown"),
    [(0.80196, 0.8022, "≥ 80.22 80.20"), (0.802, 0.802, "≥ 80.2 80.2"), (0.8100, 0.8022, "≥ 80.2 81.0")],
)
def test_printed_figures_never_contradict_the_outcome(
    measured: float, limit: float, shown: str, words_of: Read
) -> None:
    finding = Finding("efficiency", "Efficiency", "fail", "1", None, measured, Limits(limit, None))
    assert shown in words(finding, words_of)


def test_rule_note_and_standing_are_told(words_of: Read) -> None:
    finding = Finding(
        "x", "T", "fail", "1", source="a rule.", note="A note.", decides=False, decision_rule="guarded acceptance"
    )
    text = words(finding, words_of)
    assert "fail * a rule; A note; decision rule: guarded acceptance" in text
    assert text.endswith("* for information, not part of the verdict.")


def test_information_that_is_met_stands_in_one_sentence(words_of: Read) -> None:
    finding = Finding("x", "Supply voltage", "pass", "V", 400.0, 401.5, Limits(380.0, 420.0), decides=False)
    text = words(finding, words_of)
    assert text.endswith("limits. For information, met: Supply voltage 401.5 V (380.0 to 420.0).")


def test_general_decision_rule_is_not_repeated(words_of: Read) -> None:
    assert "decision rule" not in words(Finding("x", "T", "pass", "1"), words_of)


def test_no_finding_is_said(words_of: Read) -> None:
    block = findings(Content(replace(make_results(), findings=(), verdict=Verdict("no verdict", ()))), Titled(""))
    assert words_of(block) == "Nothing was compared: the plate declares nothing that this test could check."


def test_every_reason_of_the_verdict_leads(words_of: Read) -> None:
    reasons = (Message("verdict.met", count=2), "One reason.", "Another reason.")
    block = findings(Content(replace(make_results(), verdict=Verdict("pass", reasons))), Titled(""))
    assert words_of(block).startswith(" ".join(map(str, reasons)))
