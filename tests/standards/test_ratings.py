"""Facts as the sources print them; those known from memory only are said to be."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.job.model import DC, OTHER, SINGLE_PHASE, THREE_PHASE, UNIVERSAL
from certgen.standards.ratings import (
    HP,
    KW,
    Step,
    greatest_usual_slip,
    ladder,
    ladder_unit,
    step_at_or_below,
    torque_reserve,
)


def labels(unit):
    return [step.label for step in ladder(unit)]


def step(label):
    return next(one for one in ladder(label.split()[1]) if one.label == label)


def test_horsepower_of_the_wiring_code():
    """NFPA 70, Tables 430.248 (from 1/6 hp) and 430.250 (to 500 hp)."""
    assert labels(HP)[3:12] == ["1/6 hp", "1/4 hp", "1/3 hp", "1/2 hp", "3/4 hp", "1 hp", "1.5 hp", "2 hp", "3 hp"]
    assert labels(HP)[-1] == "500 hp"
    assert step("3/4 hp").power == pytest.approx(559.27, abs=0.005)  # 550 ft*lbf/s each, NIST SP 811
    assert "from memory" not in str(step("1/6 hp").source)


@pytest.mark.parametrize("label", ["0.18 kW", "0.75 kW", "1.1 kW", "2.2 kW", "3.7 kW", "18.5 kW", "150 kW"])
def test_kilowatts_paired_with_horsepower(label):
    """10 CFR 431.25 and 431.446."""
    assert label in labels(KW)
    assert "from memory" not in str(step(label).source)


@pytest.mark.parametrize("label", ["1/20 hp", "0.06 kW", "3 kW", "132 kW"])
def test_steps_nobody_confirmed_say_so(label):
    assert str(step(label).source).endswith("from memory")


@pytest.mark.parametrize("unit", [HP, KW])
def test_a_ladder_rises(unit):
    assert all(lower.power < upper.power for lower, upper in pairwise(ladder(unit)))


@given(st.floats(60.0, 1.2e6), st.sampled_from([HP, KW]))
def test_the_step_is_the_greatest_not_above(power, unit):
    found = step_at_or_below(power, unit)
    assert found is not None
    assert found.power <= power * (1 + 1e-9)
    assert not any(found.power < one.power <= power for one in ladder(unit))


def test_below_the_least_step_there_is_none():
    assert step_at_or_below(30.0, HP) is None


@pytest.mark.parametrize(
    ("criteria", "frequency", "unit"),
    [
        ("iec-60034-1", 60.0, KW), ("nema-mg-1", 50.0, HP), ("our-shop", 60.0, HP), ("our-shop", 49.9, KW),
        ("our-shop", None, KW),
    ],
)  # fmt: skip
def test_the_ladder_goes_by_the_standard_then_by_the_supply(criteria, frequency, unit):
    assert ladder_unit(criteria, frequency) == unit


@pytest.mark.parametrize(
    ("kind", "label", "poles", "ratio"),
    [
        (THREE_PHASE, "1.5 kW", 4, 1.6),  # IEC 60034-1, 12.1, the floor of breakdown torque on two pages
        (DC, "1.5 kW", None, 1.6),
        (THREE_PHASE, "5 hp", 4, 2.25),  # NEMA MG 1, 12.39.1, as one public page prints it
        (THREE_PHASE, "10 hp", 2, 2.0),
        (THREE_PHASE, "1/2 hp", 4, 2.0),  # not listed: common practice
        (SINGLE_PHASE, "1 hp", 4, 2.0),
        (SINGLE_PHASE, "0.75 kW", 4, 1.6),
    ],
)
def test_torque_in_reserve(kind, label, poles, ratio):
    assert torque_reserve(kind, step(label), poles).ratio == ratio


def test_sources_of_the_reserve_tell_how_far_they_are_known():
    """Breakdown torque of three-phase motors at least 1.6 times rated: haselmayer.co.at, handbook Table 11.9."""
    source = torque_reserve(THREE_PHASE, step("1.5 kW"), 4).source
    assert str(source).startswith("IEC 60034-1, 12.1, breakdown torque")
    source = torque_reserve(DC, step("1.5 kW"), None).source
    assert str(source) == "IEC 60034-1, 9.4.1, momentary excess torque, from memory"
    assert str(str(torque_reserve(THREE_PHASE, step("1/2 hp"), 4).source)).startswith("common practice, no source")
    assert "12.39.1" in str(torque_reserve(THREE_PHASE, step("5 hp"), 4).source)


@pytest.mark.parametrize("kind", [UNIVERSAL, OTHER])
def test_no_reserve_is_invented(kind):
    assert torque_reserve(kind, Step(1e3, "1", KW, ""), None) is None


@pytest.mark.parametrize(
    ("poles", "frequency", "slip"),
    [(2, 50.0, 0.1), (4, 50.0, 200 / 1500), (4, 60.0, 200 / 1800), (6, 60.2, 0.125), (8, 50.0, 0.2)],
)
def test_usual_slip(poles, frequency, slip):
    """Lowest full-load speeds from memory: 2700, 1300, 600 rpm at 50 Hz; 1600, 1050 rpm at 60 Hz."""
    found, source = greatest_usual_slip(poles, frequency)
    assert found == pytest.approx(slip)
    assert str(source).endswith("from memory")


@pytest.mark.parametrize(
    ("poles", "frequency", "rpm"),
    [
        (2, 50.0, 2800),  # SOGA MT1, three-phase 0.25 to 1.1 kW, S6 75 %
        (2, 50.0, 2830),
        (4, 50.0, 1380),  # brienz 0.18 kW three-phase, 8 % slip on its plate
        (6, 50.0, 915),  # Regal 80M61S009-06S, single-phase 0.25 kW
        (6, 60.0, 1075),  # Regal FML1036, 1/3 hp on a permanent capacitor
        (6, 60.0, 1050),  # Regal D160, 1/10 hp shaded pole
        (6, 60.0, 1140),  # Regal FC3106F, 1 hp three-phase
        (4, 50.0, 1430),  # SOGA MT3, 0.75 kW IE3
    ],
)
def test_no_maker_s_motor_slips_more_than_is_usual(poles, frequency, rpm):
    """Full-load speeds of makers' data sheets and plates."""
    usual, _ = greatest_usual_slip(poles, frequency)
    assert 1.0 - rpm * poles / (120.0 * frequency) <= usual + 1e-9


@pytest.mark.parametrize(("poles", "frequency"), [(10, 50.0), (4, 400.0), (4, float("nan"))])
def test_no_usual_slip_is_invented(poles, frequency):
    assert greatest_usual_slip(poles, frequency) is None
