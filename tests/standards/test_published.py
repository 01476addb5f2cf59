from __future__ import annotations

import pytest

from certgen.standards.criteria import IEC, NEMA, cited, standard_behind


@pytest.mark.parametrize(("criteria", "standard"), [("iec-60034-1", IEC), ("nema-mg-1", NEMA), ("weir-street", IEC)])
def test_a_shops_own_set_rests_on_iec(criteria, standard):
    assert standard_behind(criteria) == standard


@pytest.mark.parametrize(
    ("status", "said"),
    [
        ("confirmed", "A standard, 1.2"),
        ("thin", "A standard, 1.2"),
        ("from memory", "A standard, 1.2, from memory"),
        ("common practice", "common practice, no source (1.2)"),
    ],
)
def test_what_is_from_memory_says_so(status, said):
    assert str(cited("A standard", "1.2", status)) == said


def test_an_unknown_status_is_refused():
    with pytest.raises(ValueError, match="unknown status 'sure'"):
        cited("A standard", "1.2", "sure")
