"""A sheet drawn again replaces one of its own title and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.store import _title, write_again
from certgen.errors import AlreadyIssued, CertgenError


@given(data=st.binary(max_size=300))
def test_whatever_is_no_pdf_has_no_title(data: bytes) -> None:
    assert _title(b"%PDF-1.7\n" + data) == ""


def test_a_folder_in_its_place_is_left(tmp_path: Path) -> None:
    with pytest.raises(AlreadyIssued):
        write_again(tmp_path, b"new", title="Tag of 1")
    with pytest.raises(CertgenError, match="cannot be written"):
        write_again(tmp_path / "absent" / "a.pdf", b"new", title="Tag of 1")
