"""The seal notices every change of the bytes it covers."""

from __future__ import annotations

import hashlib
import random
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.seal import marked, read_seal, sealed
from certgen.sheet.pdf.container import written

FILE = written([b"<< /Type /Catalog >>", b"<< /Title (One) >>"], 1, 2)


def test_a_sealed_file_is_whole() -> None:
    seal = read_seal(sealed(FILE))
    assert seal is not None
    assert seal.whole
    assert seal.length == len(FILE)


def test_the_digest_is_what_the_handbook_says() -> None:
    """SHA-256 of the first ``length`` bytes with the 64 digits counted as zeros, computed without our code."""
    data = sealed(FILE)
    line = re.search(rb", (\d{10}) bytes, SHA-256 ([0-9a-f]{64})\n", data)
    assert line is not None
    blank = data[: line.start(2)] + b"0" * 64 + data[line.end(2) :]
    assert hashlib.sha256(blank[: int(line[1])]).hexdigest().encode() == line[2]


def test_every_bit_of_a_small_file_counts() -> None:
    data = sealed(FILE)
    for at in range(len(data)):
        for bit in range(8):
            changed = bytearray(data)
            changed[at] ^= 1 << bit
            seal = read_seal(bytes(changed))
            assert seal is None or not seal.whole, (at, bit)


def test_a_sample_of_the_bytes_of_a_real_certificate(certificate: bytes) -> None:
    """All of them are tried by tests/studies/changed_bytes.py."""
    chance = random.Random(1)
    for at in chance.sample(range(len(certificate)), 1500):
        changed = bytearray(certificate)
        changed[at] ^= chance.randrange(1, 256)
        seal = read_seal(bytes(changed))
        assert seal is None or not seal.whole, at


@given(st.integers(0, len(FILE) - 1))
def test_a_file_cut_short_is_not_whole(length: int) -> None:
    seal = read_seal(sealed(FILE)[:length])
    assert seal is None or not seal.whole


@given(st.binary(max_size=40))
def test_what_is_appended_leaves_the_sealed_bytes_whole(more: bytes) -> None:
    """The seal says where it ends; what lies behind is looked at apart."""
    seal = read_seal(sealed(FILE) + more)
    assert seal is not None
    assert seal.whole
    assert seal.length == len(FILE)


def test_a_file_without_room_is_refused() -> None:
    with pytest.raises(ValueError, match="no room"):
        sealed(b"%PDF-1.7\n1 0 obj\n")


@given(st.binary(max_size=80))
def test_any_bytes_may_be_asked(data: bytes) -> None:
    assert read_seal(data) is None
    assert marked(data) is (b"certgen certificate" in data)


def test_an_empty_seal_is_not_whole() -> None:
    seal = read_seal(FILE)
    assert seal is not None
    assert not seal.whole
