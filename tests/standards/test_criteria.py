from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.document.build import Reader
from certgen.document.source import Problems
from certgen.standards.criteria import (
    EXCITATIONS,
    PUBLISHED,
    SHIPPED,
    TYPES,
    WORKSHOP,
    TablesBeside,
    Tolerance,
    basis_of,
    companions_of,
    lower_limit,
    nominal_minimum_pairs,
    not_named,
    read_criteria,
    shipped_criteria,
    speed_rows,
    upper_limit,
)


def rows(name, wanted, kind=None):
    found = [row for row in shipped_criteria(name).criteria if row.id == wanted]
    return [row for row in found if kind is None or kind in row.types]


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_sets_read_without_a_mistake_and_name_their_clauses(name):
    criteria = shipped_criteria(name)
    assert criteria.name == name
    assert criteria.edition
    for row in (*criteria.criteria, *criteria.starting, *criteria.declared_starting):
        assert row.clause
        assert row.status != "the shop's own"
        assert row.types, "every row names the kinds of motor it is for"


@pytest.mark.parametrize("name", SHIPPED)
def test_a_motor_meets_one_row_of_a_finding(name):
    """Rows of one finding share no motor: kind, excitation and the steps of power part them."""
    powers = [p * 0.1 for p in range(1, 10)] + [1.0, 2.0, 40.0, 50.0, 51.0, 149.0, 150.0, 151.0, 373.0, 400.0]
    for kind in TYPES:
        for excitation in EXCITATIONS if kind == "dc" else (None,):
            for power in powers:
                for per_1000 in (0.1, 0.67, 2.5, 10.0):
                    met = [
                        row.id
                        for row in shipped_criteria(name).criteria
                        if kind in row.types and row.suits_excitation(excitation) and holds(row, power, per_1000)
                    ]
                    assert len(met) == len(set(met)), (kind, excitation, power, per_1000, met)
                    wanted = {"current_at_rated_power", "efficiency_at_rated_power", "service_factor"}
                    assert wanted <= set(met), (kind, excitation, power, per_1000)


def holds(row, power, per_1000):
    """Bounds in kW."""
    return all(
        (
            row.from_power is None or 1e3 * power >= row.from_power,
            row.below_power is None or 1e3 * power < row.below_power,
            row.above_power is None or 1e3 * power > row.above_power,
            row.up_to_power is None or 1e3 * power <= row.up_to_power,
            row.from_power_per_1000_rpm is None or 1e3 * per_1000 >= row.from_power_per_1000_rpm,
            row.below_power_per_1000_rpm is None or 1e3 * per_1000 < row.below_power_per_1000_rpm,
        )
    )


def test_iec_efficiency_tolerance():
    """IEC 60034-1, 12.1: -15 % of (1 - efficiency), -10 % above the split; 82.8 % may be 80.22 %.

    The split at 50 kW on three pages (haselmayer.co.at, handbook Table 11.9, gearmotor manual), at 150 kW on one
    (hemmotor.com).
    """
    small, middle, large = rows("iec-60034-1", "efficiency_at_rated_power", "three-phase induction")
    assert (small.up_to_power, middle.above_power, middle.up_to_power, large.above_power) == (50e3, 50e3, 150e3, 150e3)
    assert [row.status for row in (small, middle, large)] == ["confirmed", "thin", "confirmed"]
    assert lower_limit(0.828, small.low) == pytest.approx(0.8022)
    assert lower_limit(0.95, middle.low) == pytest.approx(0.9425)
    assert lower_limit(0.95, large.low) == pytest.approx(0.945)
    assert {row.status for row in rows("iec-60034-1", "efficiency_at_rated_power", "dc")} == {"from memory"}


@pytest.mark.parametrize(
    ("declared", "limit"),
    [(0.79, 0.755), (0.90, 0.88), (0.50, 0.43), (0.95, 0.93)],
)
def test_iec_power_factor_tolerance(declared, limit):
    """IEC 60034-1:1996, 12.1: -(1 - cos phi)/6, at least 0.02 and at most 0.07 (haselmayer.co.at, handbook Table 11.9)."""
    (row,) = rows("iec-60034-1", "power_factor_at_rated_power")
    assert lower_limit(declared, row.low) == pytest.approx(limit)


def test_iec_slip_tolerance_splits_at_one_kilowatt():
    """IEC 60034-1:1996, 12.1, three pages: 20 % of the declared slip from 1 kW on, 30 % below."""
    small, large = rows("iec-60034-1", "slip_at_rated_power")
    assert (small.below_power, large.from_power) == (1000.0, 1000.0)
    assert (lower_limit(0.05, small.low), upper_limit(0.05, small.high)) == pytest.approx((0.035, 0.065))
    assert (lower_limit(0.05, large.low), upper_limit(0.05, large.high)) == pytest.approx((0.04, 0.06))


def test_nema_slip_and_current():
    """NEMA MG 1, 12.46 (decaturindustrial.com, US DOE, EASA) and 12.47 (MG 1-2021 as quoted, EASA), medium AC motors."""
    slip, small_slip = rows("nema-mg-1", "slip_at_rated_power")
    current, small_current, other_current = rows("nema-mg-1", "current_at_rated_power")
    # 1725 rpm at 1800: between 1710 and 1740 rpm.
    assert 1800 * (1 - upper_limit(75 / 1800, slip.high)) == pytest.approx(1710)
    assert 1800 * (1 - lower_limit(75 / 1800, slip.low)) == pytest.approx(1740)
    assert upper_limit(10.0, current.high) == pytest.approx(11.0)
    assert (slip.from_power, current.from_power) == pytest.approx((745.7, 745.7), abs=0.01)
    assert {slip.status, current.status} == {"confirmed"}
    assert {row.status for row in (small_slip, small_current, other_current)} == {"common practice"}
    assert current.edition == "2021"


@pytest.mark.parametrize(("nominal", "least"), [(0.855, 0.825), (0.895, 0.875), (0.95, 0.941), (0.77, 0.74)])
def test_nema_minimum_efficiency_of_the_paired_table(nominal, least):
    """NEMA MG 1, 12.58.2, pairs from memory; its scope by the condensed MG 1-2011, page 18: 1 to 500 hp, three-phase."""
    row, *others = rows("nema-mg-1", "efficiency_at_rated_power")
    assert lower_limit(nominal, row.low) == pytest.approx(least)
    assert (row.types, row.basis) == (("three-phase induction",), WORKSHOP)
    assert (row.from_power, row.up_to_power) == (pytest.approx(745.7, abs=0.01), pytest.approx(372849.9, abs=0.1))
    assert {one.status for one in others} == {"common practice"}


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
  - {judges: code letter, verdict: told only, clause: a word of earlier versions}
"""
    found, problems = read(text)
    assert [(row.judges, row.verdict) for row in found.starting] == [
        ("code letter", "rests on it"),
        ("breakdown over rated torque", "information only"),
        ("code letter", "information only"),
    ]
    assert problems == ["own.yaml:9:5: starting[2]: the row has no least; write 'least: 1.6' or the like."]


def test_shipped_rows_on_starting():
    """IEC 60034-1:1996, 12.1: 1.6 times rated torque, two pages; a code letter is told by both sets, weighed by none."""
    iec, nema = (shipped_criteria(name).starting for name in ("iec-60034-1", "nema-mg-1"))
    assert [(row.judges, row.decides, row.least, row.status) for row in iec] == [
        ("breakdown over rated torque", False, 1.6, "confirmed"),
        ("code letter", False, None, "confirmed"),
    ]
    assert [(row.judges, row.verdict) for row in nema] == [
        ("design letter", "rests on it"),
        ("code letter", "information only"),
    ]


@pytest.mark.parametrize(
    ("quantity", "low", "high", "harmless"),
    [
        ("locked_rotor_current", None, 1.2, "none"),
        ("locked_rotor_torque", 0.85, 1.25, "above"),
        ("pull_up_torque", 0.85, None, "none"),
        ("breakdown_torque", 0.9, None, "none"),
    ],
)
def test_tolerances_on_declared_starting(quantity, low, high, harmless):
    """IEC 60034-1:1996, 12.1, as haselmayer.co.at, handbook Table 11.9 and a gearmotor manual have them."""
    for name, basis in (("iec-60034-1", PUBLISHED), ("nema-mg-1", WORKSHOP)):
        (row,) = (one for one in shipped_criteria(name).declared_starting if one.quantity == quantity)
        assert (None if row.low is None else lower_limit(1.0, row.low)) == (low and pytest.approx(low))
        assert (None if row.high is None else upper_limit(1.0, row.high)) == (high and pytest.approx(high))
        assert (row.harmless, row.basis, row.decides) == (harmless, basis, True)


def test_what_is_read_off_at_rated_current_is_told_and_decides_nothing():
    for name in SHIPPED:
        told = {row.id for row in shipped_criteria(name).criteria if not row.decides}
        assert told == {"power_at_rated_current", "torque_at_rated_current"}


def test_the_side_that_harms_nobody():
    """Less slip or less current than declared harms nobody; a dc motor that runs too fast has a weak field."""
    for name in SHIPPED:
        for row in shipped_criteria(name).criteria:
            two_sided = row.low is not None and row.high is not None
            better = row.quantity in ("slip", "current") and two_sided
            assert row.harmless == ("below" if better else "none"), row.id


@pytest.mark.parametrize(
    ("status", "basis"),
    [
        ("confirmed", PUBLISHED), ("thin", PUBLISHED), ("from memory", WORKSHOP), ("common practice", WORKSHOP),
        ("the shop's own", WORKSHOP),
    ],
)  # fmt: skip
def test_a_limit_nobody_could_confirm_is_the_workshop_s(status, basis):
    assert basis_of(status) == basis


@pytest.mark.parametrize(
    ("per_1000_rpm", "shunt", "series"),
    [(100.0, 15, 20), (669.0, 15, 20), (670.0, 10, 15), (2500.0, 7.5, 10), (9999.0, 7.5, 10), (10e3, 5, 7.5)],
)
def test_speed_of_direct_current_motors(per_1000_rpm, shunt, series):
    """IEC 60034-1, schedule of tolerances, from memory: by kW per 1000 rpm, below 0.67, 2.5, 10 and above."""
    iec = shipped_criteria("iec-60034-1")
    expected = {
        "permanent magnet": shunt, "shunt": shunt, "separate": shunt, "series": series, "compound": series,
    }  # fmt: skip
    for excitation, percent in expected.items():
        (row,) = speed_rows(iec, excitation, per_1000_rpm)
        assert (100 * row.low.part, 100 * row.high.part) == (pytest.approx(percent), pytest.approx(percent))
        assert (row.status, row.basis) == ("from memory", WORKSHOP)
    unknown = speed_rows(iec, None, per_1000_rpm)
    assert [100 * row.low.part for row in unknown] == [pytest.approx(shunt), pytest.approx(series)]


def test_speed_rows_without_power_per_1000_rpm():
    assert speed_rows(shipped_criteria("iec-60034-1"), "shunt", None) == ()
    assert len(speed_rows(shipped_criteria("nema-mg-1"), "shunt", None)) == 1  # no steps there
    assert len(speed_rows(shipped_criteria("nema-mg-1"), None, None)) == 2


def test_a_set_names_the_tables_beside_it():
    for name, procedure in (("iec-60034-1", "iec-60034-2-1"), ("nema-mg-1", "ieee-112-b")):
        beside = companions_of(shipped_criteria(name))
        assert (beside.temperature, beside.supply, beside.procedure) == (name, name, procedure)
        assert not_named(shipped_criteria(name)) == ()


def test_tables_a_shop_does_not_name_are_said_to_be_taken():
    text = f"{OWN}companions: {{temperature: nema-mg-1}}\n"
    found, problems = read(text)
    assert problems == []
    assert companions_of(found) == TablesBeside("nema-mg-1", "ieee-43", "iec-60034-1", "iec-60034-2-1")
    assert not_named(found) == ("insulation", "supply", "procedure")


def test_a_shop_fixes_how_long_a_service_factor_load_is_held():
    found, problems = read(f"{OWN}service_factor_hold: 30 min\n")
    assert problems == []
    assert found.service_factor_hold == 1800.0
    assert all(shipped_criteria(name).service_factor_hold is None for name in SHIPPED)


def test_the_voltage_of_a_universal_motor_has_its_own_band():
    """NEMA MG 1, 12.44, from memory: 6 %; the 10 % are for induction motors (condensed MG 1-2011, page 13)."""
    nema, iec = (shipped_criteria(name).supply for name in ("nema-mg-1", "iec-60034-1"))
    assert (nema.voltage_for("universal"), nema.voltage_for("three-phase induction")) == (0.06, 0.1)
    assert (iec.voltage_for("universal"), iec.voltage_for("dc")) == (0.05, 0.05)


OWN = """\
name: n
title: t
edition: e
criteria:
  - {id: x, title: t, quantity: slip, at: rated power, declared: slip, low: {part: 5 %}, clause: c}
"""


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        (
            "low: {part: 5 %}, harmless: above",
            "own.yaml:5:100: criteria[1].harmless: only a tolerance with two sides has a harmless one; "
            "write both low and high, or leave 'harmless' out.",
        ),
        (
            "low: {part: 5 %}, excitation: [shunt]",
            "own.yaml:5:102: criteria[1].excitation: only a dc motor is asked for its excitation; "
            "write 'types: [dc]' beside it, or leave it out.",
        ),
    ],
)
def test_rows_that_contradict_themselves(keys, told):
    _, problems = read(OWN.replace("low: {part: 5 %}", keys))
    assert problems == [told]


def test_a_shop_s_own_row_on_declared_starting_needs_a_limit():
    _, problems = read(f"{OWN}declared_starting:\n  - {{quantity: pull_up_torque, title: t, clause: c}}\n")
    assert problems == [
        "own.yaml:7:5: declared_starting[1]: the row has neither low nor high; "
        "write 'low: {part: 10 %, of: declared}' or the like."
    ]
