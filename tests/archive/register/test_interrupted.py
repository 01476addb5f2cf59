"""One bad file does not lock an archive: entries that were interrupted are finished, mended, or told."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path

import pytest
from archive.register.conftest import entry

from certgen.archive.register import certificates
from certgen.archive.register.certificates import PASSING, enter, finish_entering
from certgen.archive.register.database import FILE_NAME, errors_reported, open_register, writing
from certgen.archive.register.numbers import give_back, never_issued, next_number, read_pattern, set_pattern
from certgen.archive.register.reconcile import reconcile
from certgen.archive.register.search import Wanted, find
from certgen.archive.store import WRITING
from certgen.errors import AlreadyIssued, CertgenError

pytestmark = pytest.mark.slow


@pytest.fixture
def interrupted(register, tmp_path, make_entry, monkeypatch) -> sqlite3.Connection:
    """A-1 stands; A-2 was committed, and the power went before its file took its name."""
    enter(register, tmp_path, make_entry("A-1"), b"A-1")
    with monkeypatch.context() as at:
        at.setattr(certificates, "finish_entering", lambda *_: [])
        enter(register, tmp_path, make_entry("A-2"), b"A-2")
    assert not (tmp_path / "A-2.pdf").exists()
    return register


def lose(folder: Path) -> None:
    """As a copy does that leaves out names with a dot before them."""
    next(folder.glob(f"{PASSING}*")).unlink()


def test_an_empty_file_that_only_took_the_name_is_filled(interrupted, tmp_path) -> None:
    (tmp_path / "A-2.pdf").touch()
    assert finish_entering(interrupted, tmp_path) == []
    assert (tmp_path / "A-2.pdf").read_bytes() == b"A-2"
    assert reconcile(interrupted, tmp_path).good


def test_a_lost_file_stops_nothing_else(interrupted, tmp_path, make_entry) -> None:
    lose(tmp_path)
    (stuck,) = finish_entering(interrupted, tmp_path)
    assert (stuck.shown_number, stuck.file) == ("A-2", "A-2.pdf")
    assert enter(interrupted, tmp_path, make_entry("A-3"), b"A-3").new
    assert [one.number for one in find(interrupted, Wanted())] == ["A-3", "A-1"]
    found = reconcile(interrupted, tmp_path)
    assert not found.good
    assert "A-2: entering it was interrupted and its file is lost" in str(found.stuck[0])


def test_repair_takes_back_what_is_lost_and_keeps_the_number(interrupted, tmp_path, make_entry) -> None:
    lose(tmp_path)
    with pytest.raises(AlreadyIssued, match="'certgen register check --repair' takes the entry back"):
        enter(interrupted, tmp_path, make_entry("A-2", source_sha256="other"), b"another")
    found = reconcile(interrupted, tmp_path, repair=True)
    assert found.good
    assert [str(one) for one in found.mended] == [
        "A-2: the entry was taken back, as its file is lost; the number is not given again"
    ]
    assert never_issued(interrupted) == ["A-2"]
    assert [one.number for one in find(interrupted, Wanted(text="conveyor"))] == ["A-1"]
    assert enter(interrupted, tmp_path, make_entry("A-2"), b"A-2").new
    assert reconcile(interrupted, tmp_path).good


def test_a_revision_taken_back_lets_the_one_before_stand_again(register, tmp_path, make_entry, monkeypatch) -> None:
    enter(register, tmp_path, make_entry("A-1"), b"A-1")
    with monkeypatch.context() as at:
        at.setattr(certificates, "finish_entering", lambda *_: [])
        enter(register, tmp_path, make_entry("A-1", revision=2, reason="why"), b"2")
    lose(tmp_path)
    assert reconcile(register, tmp_path, repair=True).good
    (standing,) = find(register, Wanted(current_only=True))
    assert standing.shown_number == "A-1"


def test_issuing_the_same_again_mends_a_lost_file(interrupted, tmp_path, make_entry) -> None:
    lose(tmp_path)
    assert enter(interrupted, tmp_path, make_entry("A-2"), b"A-2").new
    found = reconcile(interrupted, tmp_path)
    assert found.good and found.certificates == 2


def test_another_file_under_its_name_is_left_alone_and_told(interrupted, tmp_path) -> None:
    (tmp_path / "A-2.pdf").write_bytes(b"somebody's")
    found = reconcile(interrupted, tmp_path, repair=True)
    assert "move A-2.pdf out of the archive, then 'certgen register check' finishes it" in str(found.stuck[0])
    assert (tmp_path / "A-2.pdf").read_bytes() == b"somebody's"
    (tmp_path / "A-2.pdf").unlink()
    assert reconcile(interrupted, tmp_path).good
    assert (tmp_path / "A-2.pdf").read_bytes() == b"A-2"


def test_a_copy_of_the_folder_is_a_backup(interrupted, tmp_path) -> None:
    shutil.copytree(tmp_path, tmp_path.parent / "backup")
    with closing(open_register(tmp_path.parent / "backup", make=False)) as register:
        found = reconcile(register, tmp_path.parent / "backup")
        assert found.good and found.certificates == 2


@pytest.fixture
def plain_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A disk formatted as memory sticks are, without links, where this process may mount one; else links are refused."""
    disk = tmp_path / "stick"
    disk.mkdir()
    image = tmp_path / "image"
    image.write_bytes(bytes(8_000_000))
    commands = (["mkfs.vfat", str(image)], ["mount", "-o", "loop", str(image), str(disk)])
    mounted = shutil.which("mkfs.vfat") is not None and all(
        subprocess.run(command, capture_output=True, check=False).returncode == 0 for command in commands
    )
    if not mounted:

        def refused(*_: object) -> None:
            raise PermissionError(1, "Operation not permitted")

        monkeypatch.setattr(os, "link", refused)
    yield disk
    if mounted:
        subprocess.run(["umount", "--lazy", str(disk)], check=False)


def test_a_disk_without_links_keeps_an_archive(plain_disk: Path) -> None:
    with closing(open_register(plain_disk, make=True)) as register:
        enter(register, plain_disk, entry("A-1"), b"A-1")
        assert (plain_disk / "A-1.pdf").read_bytes() == b"A-1"
        assert reconcile(register, plain_disk).good


def test_only_old_files_under_a_passing_name_are_removed(register, tmp_path) -> None:
    old, new = (tmp_path / f"{WRITING}{name}" for name in ("old", "new"))
    for path in (old, new):
        path.touch()
    os.utime(old, (time.time() - 7200.0,) * 2)
    assert reconcile(register, tmp_path).removed == (old.name,)
    assert new.exists()


def _issue(folder: Path, series: str, count: int) -> None:
    with closing(open_register(folder, make=False)) as register:
        for serial in range(count):
            number = f"{series}-{serial}"
            enter(register, folder, entry(number), number.encode() * 500)
            time.sleep(0.01)  # the engine's lock is not fair; let the check have it too


def test_a_check_while_others_issue_raises_no_alarm_and_takes_nothing(register, tmp_path) -> None:
    """Three processes issue; the archive is held against its register over and over meanwhile."""
    context = get_context("spawn")
    with ProcessPoolExecutor(3, mp_context=context) as pool:
        work = [pool.submit(_issue, tmp_path, series, 25) for series in "ABC"]
        found = []
        while not all(one.done() for one in work):
            found.append(reconcile(register, tmp_path))
            time.sleep(0.001)
        for one in work:
            one.result()
    assert all(one.good and not one.removed for one in found), [one for one in found if not one.good][:1]
    assert len({one.certificates for one in found}) > 1  # it was looked at while it grew
    last = reconcile(register, tmp_path)
    assert last.good and last.certificates == 75


def test_what_the_engine_undid_does_not_hide_its_error(register, tmp_path) -> None:
    """A full disk ends the transaction by itself; the room is named, and no copy is asked for."""
    pages = register.execute("PRAGMA page_count").fetchone()[0]
    register.execute(f"PRAGMA max_page_count = {pages}")
    rows = [(str(n), "x" * 4000) for n in range(50)]
    with (
        pytest.raises(CertgenError, match=r"full.*make room on the disk") as told,
        errors_reported(tmp_path / FILE_NAME),
        writing(register),
    ):
        register.executemany("INSERT INTO setting VALUES (?, ?)", rows)
    assert "copy" not in str(told.value)
    assert not register.in_transaction


def test_a_full_disk_uses_up_no_number(register, tmp_path) -> None:
    from certgen.issuing.certificate import _number

    set_pattern(register, read_pattern("HB-{year}-{serial:04}"))

    def fails() -> None:
        with _number(register, tmp_path, None, 2026) as number:
            assert number == "HB-2026-0001"
            raise CertgenError("no room")

    for _ in range(2):
        with pytest.raises(CertgenError, match="no room"):
            fails()
    given = [next_number(register, tmp_path, 2026) for _ in range(3)]
    give_back(register, given[1])  # others were given after it: it stays, and is listed
    assert never_issued(register) == given
    give_back(register, given[2])
    assert next_number(register, tmp_path, 2026) == given[2]
