from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.standards.criteria import (
    SHIPPED,
    Tolerance,
    lower_limit,
    nominal_minimum_pairs,
    read_criteria,
    shipped_criteria,
    upper_limit,
)


def rows(name, wanted):
    return [row for row in shipped_criteria(name).criteria if row.id == wanted]


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_sets_read_without_a_mistake_and_name_their_clauses(name):
    criteria = shipped_criteria(name)
    assert criteria.name == name
    assert criteria.edition
    assert all(row.clause and row.status != "the shop's own" for row in criteria.criteria)


def test_iec_efficiency_tolerance():
    """IEC 60034-1 Table 20: -15 % of (1 - efficiency) to 150 kW, -10 % above; 82.8 % may be 80.22 %."""
    small, large = rows("iec-60034-1", "efficiency_at_rated_power")
    assert small.up_to_power == 150e3
    assert large.above_power == 150e3
    assert lower_limit(0.828, small.low) == pytest.approx(0.8022)
    assert lower_limit(0.95, large.low) == pytest.approx(0.945)


@pytest.mark.parametrize(
    ("declared", "limit"),
    [(0.79, 0.755), (0.90, 0.88), (0.50, 0.43), (0.95, 0.93)],
)
def test_iec_power_factor_tolerance(declared, limit):
    """IEC 60034-1 Table 20: -(1 - cos phi)/6, at least 0.02 and at most 0.07."""
    (row,) = rows("iec-60034-1", "power_factor_at_rated_power")
    assert lower_limit(declared, row.low) == pytest.approx(limit)


def test_iec_slip_tolerance_splits_at_one_kilowatt():
    """IEC 60034-1 Table 20: 20 % of the declared slip from 1 kW on, 30 % below."""
    small, large = rows("iec-60034-1", "slip_at_rated_power")
    assert (small.below_power, large.from_power) == (1000.0, 1000.0)
    assert (lower_limit(0.05, small.low), upper_limit(0.05, small.high)) == pytest.approx((0.035, 0.065))
    assert (lower_limit(0.05, large.low), upper_limit(0.05, large.high)) == pytest.approx((0.04, 0.06))


def test_nema_slip_and_current():
    """NEMA MG 1, 12.46 and 12.47, from memory: speed within 20 % of the slip, current within 10 %."""
    (slip,) = rows("nema-mg-1", "slip_at_rated_power")
    (current,) = rows("nema-mg-1", "current_at_rated_power")
    # 1725 rpm at 1800: between 1710 and 1740 rpm.
    assert 1800 * (1 - upper_limit(75 / 1800, slip.high)) == pytest.approx(1710)
    assert 1800 * (1 - lower_limit(75 / 1800, slip.low)) == pytest.approx(1740)
    assert upper_limit(10.0, current.high) == pytest.approx(11.0)
    assert {slip.status, current.status} == {"from memory"}


@pytest.mark.parametrize(("nominal", "least"), [(0.855, 0.825), (0.895, 0.875), (0.95, 0.941), (0.77, 0.74)])
def test_nema_minimum_efficiency_of_the_paired_table(nominal, least):
    """NEMA MG 1, Table 12-10, from memory."""
    (row,) = rows("nema-mg-1", "efficiency_at_rated_power")
    assert lower_limit(nominal, row.low) == pytest.approx(least)


def test_paired_table_agrees_with_twenty_percent_more_losses():
    """The pairs follow losses 20 % above nominal to within 0.6 point (the rule the standard states)."""
    for nominal, least in nominal_minimum_pairs().items():
        assert least == pytest.approx(1 / (1 + 1.2 * (1 / nominal - 1)), abs=0.006)


def test_an_efficiency_the_table_does_not_hold_takes_the_rule_behind_it():
    assert lower_limit(0.83, Tolerance(paired="nominal and minimum efficiency")) == pytest.approx(
        1 / (1 + 1.2 * (1 / 0.83 - 1))
    )


@given(st.floats(0.3, 0.99), st.floats(0.0, 0.5))
def test_limits_enclose_the_declared_value(declared, part):
    for of in ("declared", "one minus declared", "losses"):
        assert lower_limit(declared, Tolerance(part=part, of=of)) <= declared + 1e-12
    assert upper_limit(declared, Tolerance(part=part)) >= declared


def read(text):
    problems = Problems()
    found = read_criteria(text, Reader("own.yaml", Path(), problems))
    return found, [str(problem) for problem in problems.found]


def test_a_shops_own_set_is_read():
    text = """
name: our-shop
title: Limits of our shop
edition: "2026"
criteria:
  - {id: eff, title: Efficiency at rated power, quantity: efficiency, at: rated power, declared: efficiency,
     low: {part: 5 %, of: declared}, clause: house rule 3}
"""
    found, problems = read(text)
    assert problems == []
    assert found.criteria[0].status == "the shop's own"
    assert lower_limit(0.8, found.criteria[0].low) == pytest.approx(0.76)


def test_a_row_without_limits_is_a_mistake():
    row = "{id: x, title: t, quantity: slip, at: rated power, declared: slip, clause: c}"
    text = f"name: n\ntitle: t\nedition: e\ncriteria:\n  - {row}\n"
    _, problems = read(text)
    assert problems == [
        "own.yaml:5:5: criteria[1]: the row has neither low nor high; write 'low: {part: 10 %, of: declared}' or the like."
    ]


def test_a_shops_own_rows_on_starting():
    text = """
name: n
title: t
edition: e
criteria:
  - {id: x, title: t, quantity: slip, at: rated power, declared: slip, low: {part: 5 %}, clause: c}
starting:
  - {judges: code letter, verdict: rests on it, clause: house rule 4}
  - {judges: breakdown over rated torque, clause: house rule 5}
"""
    found, problems = read(text)
    assert [(row.judges, row.verdict) for row in found.starting] == [
        ("code letter", "rests on it"),
        ("breakdown over rated torque", "told only"),
    ]
    assert problems == ["own.yaml:9:5: starting[2]: the row has no least; write 'least: 1.6' or the like."]


def test_shipped_rows_on_starting():
    """IEC 60034-1, Table 20: 1.6 times rated torque (thin); a code letter is told by both sets, weighed by neither."""
    iec, nema = (shipped_criteria(name).starting for name in ("iec-60034-1", "nema-mg-1"))
    assert [(row.judges, row.verdict, row.least, row.status) for row in iec] == [
        ("breakdown over rated torque", "told only", 1.6, "thin"),
        ("code letter", "told only", None, "confirmed"),
    ]
    assert [(row.judges, row.verdict) for row in nema] == [
        ("design letter", "rests on it"),
        ("code letter", "told only"),
    ]
