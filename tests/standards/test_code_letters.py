"""Code letters against NEMA MG 1, 10.37.2, and NFPA 70 (NEC), Table 430.7(B)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.standards.nema_letters import code_letter, letter_bounds

#: NEC Table 430.7(B) as printed: least and greatest kVA per hp to two decimals; engineeringtoolbox.com, "Locked-rotor
#: code letters".
NEC = [
    ("A", 0.0, 3.14), ("B", 3.15, 3.54), ("C", 3.55, 3.99), ("D", 4.0, 4.49), ("E", 4.5, 4.99), ("F", 5.0, 5.59),
    ("G", 5.6, 6.29), ("H", 6.3, 7.09), ("J", 7.1, 7.99), ("K", 8.0, 8.99), ("L", 9.0, 9.99), ("M", 10.0, 11.19),
    ("N", 11.2, 12.49), ("P", 12.5, 13.99), ("R", 14.0, 15.99), ("S", 16.0, 17.99), ("T", 18.0, 19.99),
    ("U", 20.0, 22.39), ("V", 22.4, 1000.0),
]  # fmt: skip


@pytest.mark.parametrize(("letter", "low", "high"), NEC)
def test_both_ends_of_every_row(letter, low, high):
    assert code_letter(low) == code_letter(high) == letter


@pytest.mark.parametrize(
    ("value", "letter"), [(3.15, "B"), (3.1499999, "A"), (22.4, "V"), (22.399999, "U"), (9.0, "L")]
)
def test_a_lower_bound_belongs_to_its_letter(value, letter):
    assert code_letter(value) == letter


def test_the_letters_not_in_use_are_not_used():
    for unused in "IOQ":
        with pytest.raises(KeyError):
            letter_bounds(unused)


def test_mean_of_letter_h_and_bounds_of_letter_g():
    """C. I. Hubert, Electric Machines, examples 5.13 (5.6 to 6.3 kVA/hp) and 5.18 (6.3 to 7.1 kVA/hp)."""
    assert letter_bounds("G") == (5.6, 6.3)
    assert letter_bounds("H") == (6.3, 7.1)
    assert code_letter(6.7) == "H"


@given(st.floats(0.0, 1e4))
def test_a_value_lies_within_the_bounds_of_its_letter(value):
    low, high = letter_bounds(code_letter(value))
    assert low <= value
    assert high is None or value < high


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_more_kva_never_gives_an_earlier_letter(one, other):
    low, high = sorted((one, other))
    assert code_letter(low) <= code_letter(high)


@pytest.mark.parametrize("wrong", [-0.1, float("nan")])
def test_no_letter_for_what_cannot_be(wrong):
    with pytest.raises(ValueError, match="must not be below 0"):
        code_letter(wrong)
