from __future__ import annotations

import pytest

from certgen.archive.register.certificates import enter, supersede
from certgen.archive.register.search import look_up
from certgen.errors import CertgenError


@pytest.fixture
def three(register, tmp_path, make_entry):
    for number in ("A-1", "A-2", "A-3"):
        enter(register, tmp_path, make_entry(number), number.encode())
    return register


def test_a_certificate_is_replaced_by_another_number(three, tmp_path) -> None:
    assert supersede(three, tmp_path, "A-1", by="A-2", because="Tested again after new bearings.") == "A-1"
    old = look_up(three, "A-1", 1)
    assert old is not None
    assert (old.replacement, old.because) == ("A-2", "Tested again after new bearings.")
    assert (tmp_path / "A-1.pdf").read_bytes() == b"A-1"


@pytest.mark.parametrize(
    ("old", "by", "because", "told"),
    [
        ("A-9", "A-2", "why", "A-9: no certificate of this number is in the register"),
        ("A-1", "A-9", "why", "A-9: no certificate of this number is in the register"),
        ("A-1", "A-1", "why", "cannot replace itself"),
        ("A-1", "A-2", " ", "a reason of 1 to 300 characters"),
        ("A-1", "A-2", "x" * 301, "a reason of 1 to 300 characters"),
    ],
)
def test_what_cannot_be_is_refused(three, tmp_path, old, by, because, told) -> None:
    with pytest.raises(CertgenError, match=told):
        supersede(three, tmp_path, old, by=by, because=because)


def test_a_replacement_is_for_good_and_makes_no_circle(three, tmp_path) -> None:
    supersede(three, tmp_path, "A-1", by="A-2", because="why")
    with pytest.raises(CertgenError, match="A-1: this certificate is replaced already"):
        supersede(three, tmp_path, "A-1", by="A-3", because="why")
    with pytest.raises(CertgenError, match="A-1: this certificate is itself replaced"):
        supersede(three, tmp_path, "A-2", by="A-1", because="why")
