"""Least insulation resistance and polarization index against IEEE Std 43."""

from __future__ import annotations

import pytest

from certgen.standards import insulation_limits as limits


@pytest.mark.parametrize(("volts", "megohms"), [(115, 5), (400, 5), (999, 5), (1000, 100), (6600, 100)])
def test_least_resistance(volts, megohms):
    """IEEE Std 43-2013, 12.3, as T. Bishop (EASA, April 2016) and pdma.com on AR100-2020 have it."""
    found = limits.least_insulation(volts)
    assert found.resistance == megohms * 1e6
    assert str(found.source) == "IEEE Std 43-2013, 12.3"


@pytest.mark.parametrize(("power", "bound"), [(None, True), (750.0, True), (749.0, False), (150.0, False)])
def test_the_standard_begins_at_750_watts(power, bound):
    """IEEE Std 43-2000 as transcat.com tells its scope; 43-1974 by IEEE: 1 hp (1 kW) and up."""
    source = limits.least_insulation(230.0, power).source
    told = "common practice, no source (as IEEE Std 43-2013, 12.3, which begins at 750 W)"
    assert str(source) == ("IEEE Std 43-2013, 12.3" if bound else told)


def test_field_windings_have_a_row_of_their_own():
    """Rated kilovolts plus 1 Mohm, from memory."""
    found = limits.least_insulation(180.0, field=True)
    assert found.resistance == pytest.approx(1.18e6)
    assert str(found.source) == "IEEE Std 43-2013, 12.3, from memory"


@pytest.mark.parametrize(
    ("volts", "low", "high"),
    [
        (400, 500, 500),
        (1000, 500, 1000),
        (2500, 500, 1000),
        (4160, 1000, 2500),
        (6600, 2500, 5000),
        (13800, 5000, 10000),
    ],
)
def test_test_voltages(volts, low, high):
    """IEEE Std 43, Table 1, by a copy of an EASA article."""
    assert limits.voltage_of_test(volts)[:2] == (low, high)


@pytest.mark.parametrize(
    ("letter", "least"), [("A", 1.5), ("B", 2.0), ("F", 2.0), ("H", 2.0), ("E", None), (None, None)]
)
def test_least_polarization_index(letter, least):
    """IEEE Std 43-2000, as an instrument maker's manual (Hioki) prints it."""
    assert limits.least_polarization_index(letter) == least


def test_the_index_is_waived_above_5000_megohms():
    """From memory."""
    assert not limits.polarization_index_waived(5.0e9)
    assert limits.polarization_index_waived(5.1e9)
    assert "from memory" in str(limits.polarization_index_source(waived=True))
    assert "from memory" not in str(limits.polarization_index_source())


def test_the_index_may_not_apply_to_random_windings():
    """IEEE Std 43-2013, 5.4, as quoted by T. Bishop, EASA, April 2016."""
    for voltage in (400.0, None):
        assert "random winding" in str(limits.why_index_only_warns(voltage))
    assert limits.why_index_only_warns(6600.0) is None


def test_old_classes_are_thermoplastic_and_unknown_ones_unknown():
    """Common practice, no source."""
    assert limits.insulation_kind("A") == "thermoplastic"
    assert limits.insulation_kind("F") == "thermosetting"
    assert limits.insulation_kind("E") is None
    assert limits.insulation_kind(None) is None
