"""Limits of rise against the published tables."""

from __future__ import annotations

import pytest

from certgen.standards.temperature_limits import (
    RATED,
    SERVICE_FACTOR,
    RiseLimit,
    at_ambient,
    build_of,
    rise_limit,
    short_time,
    steady_rule,
)

CAGE = "three-phase induction"
ICE = 273.15


def limit(standard, letter, **keys):
    return rise_limit(standard, letter, **{"motor_type": CAGE, "power": 1500.0, **keys})


@pytest.mark.parametrize(("letter", "rise"), [("A", 60), ("E", 75), ("B", 80), ("F", 105), ("H", 125)])
def test_iec_from_600_watts(letter, rise):
    """IEC 60034-1, Table 8, item 1: B, F, H by a maker's manual (one page), A and E from memory."""
    found = limit("iec-60034-1", letter)
    assert found.rise == rise
    assert ("from memory" in str(found.source)) == (letter in "AE")


@pytest.mark.parametrize(("letter", "rise"), [("A", 65), ("E", 75), ("B", 85), ("F", 110), ("H", 130)])
def test_iec_below_600_watts(letter, rise):
    """From memory."""
    assert limit("iec-60034-1", letter, power=599.0).rise == rise
    assert "from memory" in str(limit("iec-60034-1", letter, power=599.0).source)


def test_without_a_power_the_stricter_row_holds():
    assert limit("iec-60034-1", "F", power=None).rise == 105


@pytest.mark.parametrize(("letter", "at_rated", "at_service_factor"), [("A", 60, 70), ("B", 80, 90), ("F", 105, 115)])
def test_nema_allows_ten_kelvin_more_at_service_factor_load(letter, at_rated, at_service_factor):
    """NEMA MG 1, 12.43, as engineeringtoolbox.com and others print it."""
    assert limit("nema-mg-1", letter, load=RATED).rise == at_rated
    assert limit("nema-mg-1", letter, load=SERVICE_FACTOR).rise == at_service_factor


def test_a_service_factor_moves_the_limit_to_its_own_load():
    """NEMA MG 1, 12.42.1, as quoted at forums.mikeholt.com, motor load: 80 K of class B for motors of service factor 1."""
    assert limit("nema-mg-1", "B", service_factor=1.0).rise == 80
    found = limit("nema-mg-1", "B", service_factor=1.15)
    assert (found.rise, str(found.source).endswith("class B, and so not at rated load either")) == (90, True)
    assert limit("iec-60034-1", "B", service_factor=1.15).rise == 80
    assert limit("nema-mg-1", "H", service_factor=1.15) is None


@pytest.mark.parametrize(
    ("enclosure", "cooling", "frame", "build"),
    [
        ("TENV", None, None, "no fan"),
        ("IP 55", "IC 410", "90S", "no fan"),
        ("totally enclosed, non-ventilated", None, "56", "no fan"),
        ("totally enclosed fan-cooled", "IC 411", "143T", "ordinary"),
        ("TEFC", None, None, "ordinary"),
        ("encapsulated windings", None, None, "encapsulated"),
        ("open drip-proof", None, "39", "small open"),
        ("open drip-proof", None, "48", "ordinary"),
        ("IP 44", None, "39", "ordinary"),
        (None, None, None, "ordinary"),
    ],
)
def test_the_build_is_read_off_enclosure_cooling_and_frame(enclosure, cooling, frame, build):
    assert build_of(enclosure, cooling, frame) == build


@pytest.mark.parametrize(
    ("standard", "build", "rises"),
    [
        ("nema-mg-1", "no fan", {"A": 65, "B": 85, "F": 110, "H": 130}),
        ("nema-mg-1", "encapsulated", {"A": 65, "B": 85, "F": 110, "H": 125}),  # of class H the ordinary row
        ("nema-mg-1", "small open", {"A": 65, "B": 85, "F": 110}),
        ("iec-60034-1", "no fan", {"A": 65, "E": 75, "B": 85, "F": 110, "H": 130}),
        ("iec-60034-1", "encapsulated", {"B": 85, "F": 110}),
        ("iec-60034-1", "small open", {"B": 80, "F": 105}),
    ],
)
def test_a_motor_without_a_fan_may_be_five_kelvin_warmer(standard, build, rises):
    """NEMA MG 1, 12.43 and 12.42.1; IEC 60034-1, Table 8: all from memory, and printed so."""
    for letter, rise in rises.items():
        found = limit(standard, letter, build=build)
        assert found.rise == rise
        if rise != limit(standard, letter).rise:
            assert "from memory" in str(found.source)


def test_with_a_service_factor_every_build_has_the_row_of_its_load():
    """NEMA MG 1, 12.43, item on motors of service factor 1.15 or higher, from memory."""
    assert limit("nema-mg-1", "F", build="no fan", service_factor=1.15).rise == 115


def test_rows_the_tables_do_not_have():
    assert limit("nema-mg-1", "H", load=SERVICE_FACTOR) is None
    assert limit("nema-mg-1", "E") is None
    assert limit("iec-60034-1", "N") is None
    assert limit("iec-60034-1", "F", load=SERVICE_FACTOR) is None
    assert limit("nema-mg-1", "B", motor_type="dc") is None


@pytest.mark.parametrize(
    ("letter", "allowance", "hottest"), [("A", 5, 105), ("B", 10, 130), ("F", 10, 155), ("H", 15, 180)]
)
@pytest.mark.parametrize("standard", ["iec-60034-1", "nema-mg-1"])
def test_ambient_rise_and_hot_spot_make_the_class_temperature(standard, letter, allowance, hottest):
    """Class temperatures of IEC 60085: 40 degC + rise + hot-spot allowance."""
    assert 40 + limit(standard, letter).rise + allowance == hottest


@pytest.mark.parametrize(("celsius", "rise"), [(None, 80.0), (25.0, 80.0), (40.0, 80.0), (50.0, 70.0), (60.0, 60.0)])
def test_a_hotter_ambient_takes_its_excess(celsius, rise):
    """IEC 60034-1, 8.10.2, from memory."""
    found = at_ambient(RiseLimit(80.0, "here"), "iec-60034-1", None if celsius is None else ICE + celsius)
    assert found.rise == pytest.approx(rise)
    assert ("from memory" in str(found.source)) == (rise < 80.0)


def test_beyond_60_degrees_the_rule_of_iec_ends():
    assert at_ambient(RiseLimit(80.0, "here"), "iec-60034-1", ICE + 61.0) is None
    assert at_ambient(RiseLimit(80.0, "here"), "nema-mg-1", ICE + 61.0).rise == pytest.approx(59.0)


def test_short_time_duty():
    """IEC 60034-1: 10 K more, from memory; NEMA has no such row here."""
    assert short_time(RiseLimit(80.0, "here"), "iec-60034-1").rise == 90.0
    assert short_time(RiseLimit(80.0, "here"), "nema-mg-1").rise == 80.0


@pytest.mark.parametrize("standard", ["iec-60034-1", "nema-mg-1"])
def test_steady_is_two_kelvin_an_hour(standard):
    """IEC 60034-1:2010, 3.25, as quoted on a public list: a gradient of 2 K per hour."""
    rule = steady_rule(standard)
    assert rule.change / rule.within * 3600.0 == pytest.approx(2.0)
