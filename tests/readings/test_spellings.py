"""Units and headers as people write them on plates, meters and bench sheets. Common practice, no source."""

from __future__ import annotations

import pytest

from certgen.readings.headers import parse_header
from certgen.units import UnitError, conversion, read_quantity


@pytest.mark.parametrize(
    ("written", "dimension", "same_as"),
    [
        ("1725 RPM", "speed", "1725 rpm"),
        ("1725 Rpm", "speed", "1725 rpm"),
        ("60 HZ", "frequency", "60 Hz"),
        ("60 cycles", "frequency", "60 Hz"),
        ("60~", "frequency", "60 Hz"),
        ("50 c/s", "frequency", "50 Hz"),
        ("115 VAC", "voltage", "115 V"),
        ("115 V AC", "voltage", "115 V"),
        ("90 VDC", "voltage", "90 V"),
        ("230 V~", "voltage", "230 V"),
        ("5.8 AMPS", "current", "5.8 A"),
        ("5.8 Amp", "current", "5.8 A"),
        ("1.5 KW", "power", "1.5 kW"),
        ("250 Watts", "power", "250 W"),
        ("1/2 Hp", "power", "0.5 hp"),
        ("0.37 KVA", "apparent power", "370 VA"),
        ("7.3 ft-lb", "torque", "7.3 lbf*ft"),
        ("88 in-lb", "torque", "88 lbf*in"),
        ("12 oz-in", "torque", "12 ozf*in"),
        ("2.5 KG", "mass", "2.5 kg"),
        ("5 LBS", "mass", "5 lb"),
        ("4.1 Ohms", "resistance", "4.1 ohm"),
    ],
)
def test_a_unit_is_read_however_it_is_spelt(written, dimension, same_as):
    assert read_quantity(written, dimension) == pytest.approx(read_quantity(same_as, dimension), rel=1e-12)


@pytest.mark.parametrize(
    ("written", "dimension"), [("60 rounds", "frequency"), ("115 VACS", "voltage"), ("3 ~~", "frequency")]
)
def test_a_word_that_is_no_unit_stays_a_mistake(written, dimension):
    with pytest.raises(UnitError):
        read_quantity(written, dimension)


@pytest.mark.parametrize(
    ("header", "name", "unit"),
    [
        ("scale kg", "scale", "kg"),
        ("U~ V", "U~", "V"),
        ("speed RPM", "speed", "rpm"),
        ("input power watts", "input power", "W"),
        ("Watts", "Watts", "W"),
        ("RPM", "RPM", "rpm"),
        ("Supply VAC", "Supply", "V"),
    ],
)
def test_a_unit_behind_a_blank_or_alone_is_a_unit(header, name, unit):
    found = parse_header(header)
    assert found.unit is not None
    assert (found.name, conversion(found.unit)) == (name, conversion(unit))


@pytest.mark.parametrize("header", ["Current A", "Line a", "Winding C", "Motor", "remarks of the bench"])
def test_a_letter_that_may_name_a_line_is_asked_for(header):
    assert parse_header(header).unit is None
