from __future__ import annotations

import sqlite3

import pytest

from certgen.archive.register.certificates import PASSING, enter
from certgen.archive.register.database import FILE_NAME, open_register
from certgen.archive.register.reconcile import reconcile
from certgen.errors import CertgenError


@pytest.fixture
def two(register, tmp_path, make_entry):
    for number in ("A-1", "A-2"):
        enter(register, tmp_path, make_entry(number), number.encode())
    return register


def test_a_whole_archive_is_good(two, tmp_path) -> None:
    found = reconcile(two, tmp_path)
    assert found.good and found.certificates == 2


def test_each_difference_is_named(two, tmp_path) -> None:
    (tmp_path / "A-1.pdf").unlink()
    (tmp_path / "A-2.pdf").write_bytes(b"A-3")
    (tmp_path / "B-1.pdf").write_bytes(b"")
    (tmp_path / f"{PASSING}00").write_bytes(b"")
    found = reconcile(two, tmp_path)
    assert (found.missing, found.changed, found.unknown) == (("A-1.pdf",), ("A-2.pdf",), ("B-1.pdf",))
    assert found.removed == (f"{PASSING}00",) and not (tmp_path / f"{PASSING}00").exists()
    assert not found.good


def test_a_file_that_is_no_register_is_told(tmp_path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"not a database at all, and longer than a header would be" * 30)
    with pytest.raises(CertgenError, match=r"the register cannot be used .*put back a copy"):
        open_register(tmp_path, make=False)


def test_another_program_s_database_is_left_alone(tmp_path) -> None:
    other = sqlite3.connect(tmp_path / FILE_NAME)
    other.execute("CREATE TABLE theirs (x)")
    other.commit()
    other.close()
    with pytest.raises(CertgenError, match="is not a register of certificates"):
        open_register(tmp_path, make=True)


def test_a_folder_or_register_that_is_missing_is_told(tmp_path) -> None:
    with pytest.raises(CertgenError, match="there is no such folder"):
        open_register(tmp_path / "none", make=True)
    with pytest.raises(CertgenError, match=r"'certgen register start .*' starts one"):
        open_register(tmp_path, make=False)
