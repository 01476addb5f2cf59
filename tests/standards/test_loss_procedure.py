from __future__ import annotations

import copy

import pytest

from certgen.standards import procedures as loss_procedure
from certgen.standards.criteria import shipped_table
from certgen.standards.procedures import INNER_VOLTAGE, RATED_VOLTAGE, loss_procedures, procedure_of

IEC, IEEE = procedure_of("iec-60034-2-1"), procedure_of("ieee-112-b")
ICE = 273.15


def test_each_criteria_set_has_its_procedure():
    assert IEC.name == "IEC 60034-2-1, method 2-1-1B (2014)"
    assert IEEE.name == "IEEE Std 112, method B (2017)"


def test_where_the_two_differ():
    """IEEE Std 112: r 0.90 (pump-digital.com, quoting 6.4.2.8); the rest from memory: k 234.5; IEC 0.95 and 235."""
    assert (IEC.least_correlation, IEEE.least_correlation) == (0.95, 0.90)
    assert (IEC.copper_constant, IEEE.copper_constant) == (235.0, 234.5)
    assert (IEC.core_loss_at, IEEE.core_loss_at) == (INNER_VOLTAGE, RATED_VOLTAGE)
    assert (IEC.friction_exponent, IEEE.friction_exponent) == (2.5, 0.0)


@pytest.mark.parametrize("letter", ["A", "B", "F", "H"])
def test_reference_temperatures_by_class(letter):
    """Both standards, from memory: A 75, B 95, F 115, H 130 degC."""
    expected = {"A": 75.0, "B": 95.0, "F": 115.0, "H": 130.0}[letter] + ICE
    assert IEC.reference_by_class[letter] == IEEE.reference_by_class[letter] == pytest.approx(expected)


def test_load_points():
    """Six points, four up to rated load and two above, 25 % to 150 %; from memory for both."""
    for one in loss_procedures():
        assert (one.least_points, one.least_points_to_rated, one.least_points_above_rated) == (6, 4, 2)
        assert (one.lowest_load, one.highest_load) == (0.25, 1.5)


@pytest.mark.parametrize(
    ("power", "seconds"), [(None, 30.0), (50e3, 30.0), (50001.0, 90.0), (201e3, 120.0), (6e6, 0.0)]
)
def test_delay_of_a_reading_after_switching_off(power, seconds):
    """IEC 60034-2-1, from memory: 30 s up to 50 kW, 90 s up to 200 kW, 120 s up to 5000 kW."""
    assert IEC.delay_allowed(power) == seconds


def test_sources_say_what_is_from_memory():
    assert str(IEC.source("least_correlation")).endswith(", from memory")
    assert not str(IEEE.source("least_correlation")).endswith("from memory")
    assert str(IEC.source("load_nearness")).startswith("common practice, no source")
    # Taken over from IEC's procedure, not remembered of IEEE's.
    for row in ("reading_delay", "greatest_intercept", "low_voltage"):
        assert str(IEEE.source(row)).startswith("common practice, no source")
    # GB/T 1032-2012 (IEC 60034-2-1:2007); IEEE 112, 5.3.3 to 5.3.5, by transmission-line.net
    assert not str(IEC.source("copper_constant")).endswith("from memory")
    assert not str(IEEE.source("core_loss_at")).endswith("from memory")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda rows: rows.pop("low_voltage"), r"rows \['low_voltage'\] are missing or unknown"),
        (lambda rows: rows.update(extra=rows["low_voltage"]), r"rows \['extra'\] are missing or unknown"),
        (lambda rows: rows["low_voltage"].pop("clause"), "low_voltage: a row has value, clause and status"),
        (lambda rows: rows["low_voltage"].update(status="sure"), "unknown status 'sure'"),
        (lambda rows: rows["core_loss_at"].update(value="some voltage"), "core loss at 'some voltage' is not known"),
    ],
)
def test_a_faulty_table_is_refused(change, message, monkeypatch):
    data = copy.deepcopy(shipped_table("loss_procedure"))
    change(data["procedures"][0]["rows"])
    monkeypatch.setattr(loss_procedure, "shipped_table", lambda _: data)
    loss_procedures.cache_clear()
    try:
        with pytest.raises(ValueError, match=message):
            loss_procedures()
    finally:
        loss_procedures.cache_clear()
