"""Duties as plates write them. Types: IEC 60034-1, 4.2; OPC 10020 (Powertrain), Table 74, and a maker's list of S1 to S8."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.standards.duty import TYPES, read_duty


@pytest.mark.parametrize("written", [None, "", "S1", "s1", "S 1", "S1 40 °C", "CONT", "Cont.", "continuous duty", "DB"])
def test_continuous(written):
    """A plate without a duty is for continuous duty (GOST IEC 60034-1-2014, 5.1); 'DB' is German for it."""
    duty = read_duty(written)
    assert duty.continuous
    assert duty.printed == "S1"


@pytest.mark.parametrize(
    ("written", "minutes"),
    [("S2 60 min", 60), ("S2-30MIN", 30), ("S2 1 h", 60), ("60 MIN", 60), ("1.5 hr", 90), ("S2: 10 min.", 10)],
)
def test_short_time(written, minutes):
    duty = read_duty(written)
    assert (duty.type, duty.running_time, duty.printed) == ("S2", minutes * 60.0, f"S2 {minutes} min")
    assert not duty.continuous


@pytest.mark.parametrize(
    ("written", "kind", "part", "cycle", "printed"),
    [
        ("S3 40 %", "S3", 0.4, 600.0, "S3 40 %"),
        ("S3-25%", "S3", 0.25, 600.0, "S3 25 %"),
        ("S3 40% ED", "S3", 0.4, 600.0, "S3 40 %"),
        ("40 % ED", "S3", 0.4, 600.0, "S3 40 %"),
        ("S3 25 % 4 min", "S3", 0.25, 240.0, "S3 25 % 4 min"),
        ("S3 25 % 10 min", "S3", 0.25, 600.0, "S3 25 %"),  # the usual cycle, from memory
        ("S6 75%", "S6", 0.75, 600.0, "S6 75 %"),
        ("S4 25 % 120 c/h", "S4", 0.25, 600.0, "S4 25 % 120 c/h"),
    ],
)
def test_periodic(written, kind, part, cycle, printed):
    duty = read_duty(written)
    assert (duty.type, duty.loaded_part, duty.cycle, duty.printed) == (kind, part, cycle, printed)


@pytest.mark.parametrize("written", ["S7", "S8 60 %", "S9", "S10 p/dt 1.1/0.4"])
def test_types_that_are_printed_and_not_read(written):
    duty = read_duty(written)
    assert duty.printed == written
    assert (duty.running_time, duty.loaded_part) == (None, None)


@pytest.mark.parametrize(
    "written", ["S2", "S2 0 min", "S3", "S6", "S3 140 %", "S3 0 %", "S3 40 % foo", "S11", "heavy", "S2 60 %", "60"]
)
def test_what_is_no_duty_is_none(written):
    assert read_duty(written) is None


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    duty = read_duty(text)
    assert duty is None or duty.type in TYPES


@given(st.sampled_from(["S1", "S2 60 min", "S3 40 %", "S6 25 % 5 min", "S4 25 % 120 c/h", "S9"]))
def test_the_printed_form_reads_as_the_same_duty(written):
    duty = read_duty(written)
    assert read_duty(duty.printed) == duty
