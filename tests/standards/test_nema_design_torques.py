"""Design-letter tables of NEMA MG 1 against textbook examples that quote them."""

from __future__ import annotations

import pytest

from certgen.standards.nema_letters import TORQUES, greatest_locked_rotor_current, least_torque


@pytest.mark.parametrize(
    ("letter", "torque", "horsepower", "poles", "ratio"),
    [
        # C. I. Hubert, Electric Machines, example 5.1, page 173: 10 hp, 1150 rpm, design C
        ("C", "locked_rotor_torque", "10", 6, 2.25),
        ("C", "breakdown_torque", "10", 6, 1.90),
        ("C", "pull_up_torque", "10", 6, 1.65),
        # Hubert, examples 5.4, 5.18 and 5.19, pages 185, 231 and 233: 50 hp at 1760, 125 hp at 1141, 60 hp at 1750 rpm
        ("B", "locked_rotor_torque", "50", 4, 1.40),
        ("B", "locked_rotor_torque", "125", 6, 1.25),
        ("B", "locked_rotor_torque", "60", 4, 1.40),
        # engineeringtoolbox.com, IEC and NEMA standard torques: 5 hp and 20 hp at 1800 rpm, 3 hp at 3600 rpm
        ("B", "locked_rotor_torque", "5", 4, 1.85),
        ("B", "breakdown_torque", "5", 4, 2.25),
        ("A", "pull_up_torque", "5", 4, 1.30),
        ("B", "locked_rotor_torque", "20", 4, 1.50),
        ("B", "breakdown_torque", "3", 2, 2.30),
        # EASA handbook: 275 % for design D
        ("D", "locked_rotor_torque", "5", 4, 2.75),
    ],
)
def test_ratios_as_quoted(letter, torque, horsepower, poles, ratio):
    assert least_torque(letter, torque, horsepower, poles).value == pytest.approx(ratio)


def test_torques_of_a_ten_horsepower_motor_of_design_c():
    """Hubert, example 5.1, page 173: 10 hp at 1150 rpm, in lb-ft with 5252; the last printed digits."""
    rated = 5252 * 10 / 1150
    for torque, printed in (("locked_rotor_torque", 102.8), ("breakdown_torque", 86.8), ("pull_up_torque", 75.4)):
        assert least_torque("C", torque, "10", 6).value * rated == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(
    ("horsepower", "voltage", "amperes"),
    [("1", 230, 30), ("10", 230, 162), ("10", 460, 81), ("100", 460, 725), ("200", 575, 1160)],
)
def test_locked_rotor_current_at_other_voltages(horsepower, voltage, amperes):
    """EASA electrical engineering handbook, maximum locked-rotor currents (MG 1, 12.35): 230, 460 and 575 V columns."""
    assert greatest_locked_rotor_current("B", horsepower, voltage).value == pytest.approx(amperes)


def test_design_a_has_no_limit_of_current():
    assert greatest_locked_rotor_current("A", "10", 230.0) is None
    assert greatest_locked_rotor_current("C", "10", 230.0).status == "confirmed"


def test_sources_say_what_is_from_memory():
    assert (
        str(least_torque("B", "locked_rotor_torque", "25", 4).source)
        == "NEMA MG 1 2016, 12.38.1, Table 12-2, from memory"
    )
    assert least_torque("B", "locked_rotor_torque", "10", 4).source == "NEMA MG 1 2016, 12.38.1, Table 12-2"
    assert least_torque("B", "locked_rotor_torque", "15", 4).status == "from memory"
    assert least_torque("B", "locked_rotor_torque", "15", 2).status == "thin"
    assert least_torque("C", "pull_up_torque", "10", 4).status == "from memory"


def test_a_rating_the_tables_do_not_hold():
    assert least_torque("B", "locked_rotor_torque", "1/2", 4) is None
    assert least_torque("C", "locked_rotor_torque", "10", 2) is None
    assert least_torque("D", "breakdown_torque", "10", 4) is None
    assert greatest_locked_rotor_current("B", "1/4", 230.0) is None


@pytest.mark.parametrize("letter", ["B", "C"])
def test_torques_keep_their_order(letter):
    """Pull-up is the least torque of the run-up: never asked above locked-rotor or breakdown torque."""
    for horsepower in ("1", "5", "7.5", "20", "100", "200"):
        for poles in (4, 6, 8):
            locked, pull_up, breakdown = (least_torque(letter, name, horsepower, poles).value for name in TORQUES)
            assert pull_up <= locked
            assert pull_up <= breakdown
