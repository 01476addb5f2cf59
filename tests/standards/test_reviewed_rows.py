"""Rows of the published tables that a second reading of the standards found misapplied or overclaimed, one by one.

Pages read: EASA, T. Bishop (April 2016) on IEEE 43; a condensed print of NEMA MG 1 of 2011; haselmayer.co.at and the
Industrial Power Engineering and Applications Handbook on IEC 60034-1, 12.1; forums.mikeholt.com quoting MG 1, 12.42.1.
"""

from __future__ import annotations

import pytest

from certgen.job.model import DC, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.messages.catalogue import catalogue
from certgen.standards import insulation_limits
from certgen.standards.criteria import shipped_criteria
from certgen.standards.procedures import procedure_of
from certgen.standards.ratings import greatest_usual_slip
from certgen.standards.temperature_limits import rise_limit

HP = 745.6998715822702


def rows(name, row_id):
    return [row for row in shipped_criteria(name).criteria if row.id == row_id]


def test_speed_of_direct_current_motors_has_four_steps_by_excitation():
    """IEC 60034-1, 12.1, from memory: 15, 10, 7.5, 5 % of shunt motors, 20, 15, 10, 7.5 % of series and compound ones."""
    found = {True: [], False: []}
    for row in rows("iec-60034-1", "speed_at_rated_power"):
        if row.types == (DC,):
            found["series" in row.excitation].append(row.high.part)
            assert row.basis == "workshop"
    assert found == {False: [0.15, 0.10, 0.075, 0.05], True: [0.20, 0.15, 0.10, 0.075]}


@pytest.mark.parametrize("name", ["iec-60034-1", "nema-mg-1"])
def test_universal_motors_have_no_published_row(name):
    """Neither schedule has one for them: what they are held to is a limit of the workshop."""
    for row in shipped_criteria(name).criteria:
        if UNIVERSAL in row.types:
            assert row.basis == "workshop", row.id


def test_paired_efficiency_binds_three_phase_motors_from_1_to_500_hp():
    """NEMA MG 1, 12.58.2, condensed print of 2011, page 18."""
    (paired,) = [row for row in rows("nema-mg-1", "efficiency_at_rated_power") if "12.58.2, minimum" in row.clause]
    assert paired.types == (THREE_PHASE,)
    assert (paired.from_power, paired.up_to_power) == (pytest.approx(HP), pytest.approx(500 * HP))


@pytest.mark.parametrize(("row_id", "clause"), [("current_at_rated_power", "12.47"), ("slip_at_rated_power", "12.46")])
def test_clauses_of_medium_motors_are_published_limits_of_those_alone(row_id, clause):
    for row in rows("nema-mg-1", row_id):
        medium = row.from_power is not None and set(row.types) <= {THREE_PHASE, SINGLE_PHASE}
        assert (row.basis == "published") is medium
        assert (row.clause.startswith(clause)) is medium


def test_power_factor_is_of_induction_motors():
    for name in ("iec-60034-1", "nema-mg-1"):
        for row in rows(name, "power_factor_at_rated_power"):
            assert set(row.types) <= {THREE_PHASE, SINGLE_PHASE}


def test_the_step_at_50_kw_is_the_confirmed_one():
    """Three pages print the split at 50 kW, one at 150 kW: up to 50 kW confirmed, between them thin."""
    found = {
        row.up_to_power: row.status
        for row in rows("iec-60034-1", "efficiency_at_rated_power")
        if THREE_PHASE in row.types
    }
    assert found[50e3] == "confirmed"
    assert found[150e3] != "confirmed"


def test_no_table_number_and_no_edition_that_nobody_read():
    assert shipped_criteria("iec-60034-1").edition == "2010"
    assert "Table" not in shipped_criteria("iec-60034-1").title
    for key, sentence in catalogue().items():
        assert "Table 12-10" not in sentence, key
        assert "Table 20" not in sentence, key


def test_unbalance_is_not_a_clause_of_iec_60034_1():
    assert "NEMA MG 1, 12.45, for the unbalance" in shipped_criteria("iec-60034-1").supply.clause


def test_insulation_below_750_w_is_common_practice_and_fields_have_their_own_row():
    below, within = (insulation_limits.least_insulation(230.0, power, field=False) for power in (370.0, 1500.0))
    assert "begins at" in str(below.source) or "common practice" in str(below.source)
    assert "common practice" not in str(within.source)
    assert insulation_limits.least_insulation(180.0, 1500.0, field=True).resistance == pytest.approx(1.18e6)
    assert insulation_limits.least_insulation(180.0, 1500.0, field=False).resistance == pytest.approx(5e6)


def test_rows_taken_over_from_iec_are_common_practice_under_ieee():
    ieee = procedure_of("ieee-112-b")
    for row in ("reading_delay", "greatest_intercept", "low_voltage"):
        assert "common practice" in str(ieee.source(row))


@pytest.mark.parametrize("load", ["rated", "service factor"])
def test_a_motor_with_a_service_factor_is_limited_at_its_service_factor_load_alone(load):
    """NEMA MG 1, 12.42.1 as quoted: 90 K of class B at that load, which no rated load may pass either; 80 K without one."""
    of = {"motor_type": THREE_PHASE, "power": 1500.0}
    assert rise_limit("nema-mg-1", "B", **of, load=load, service_factor=1.15).rise == 90.0
    assert rise_limit("nema-mg-1", "B", **of, service_factor=1.0).rise == 80.0


@pytest.mark.parametrize(("poles", "hertz", "rpm"), [(2, 50, 2800), (4, 50, 1380), (6, 50, 915), (6, 60, 1075)])
def test_ordinary_small_motors_turn_within_the_usual_slip(poles, hertz, rpm):
    """Catalogues: 0.25 to 1.1 kW at 2800, 0.18 kW at 1380, 250 W at 915 and 1/3 hp at 1075 rpm."""
    slip = 1.0 - rpm / (120.0 * hertz / poles)
    assert greatest_usual_slip(poles, float(hertz))[0] >= slip
