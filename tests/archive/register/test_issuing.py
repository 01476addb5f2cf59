from __future__ import annotations

import hashlib
import os
import random
import signal
import sqlite3
import time
from contextlib import closing
from itertools import count
from pathlib import Path

import pytest

from certgen.archive.register import certificates as issuing
from certgen.archive.register.certificates import PASSING, already_entered, enter, finish_entering, supersede
from certgen.archive.register.database import FILE_NAME, open_register
from certgen.archive.register.numbers import next_number, read_pattern, set_pattern
from certgen.archive.register.reconcile import reconcile
from certgen.archive.register.search import Wanted, find, inputs_of, look_up
from certgen.errors import AlreadyIssued, CertgenError

pytestmark = pytest.mark.slow


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_certificate_and_its_row_appear_together(register, tmp_path, make_entry) -> None:
    entered = enter(register, tmp_path, make_entry("HB-1"), b"page", {"job.yaml": "0" * 64})
    assert (entered.path.read_bytes(), entered.new) == (b"page", True)
    assert names(tmp_path) == ["HB-1.pdf", FILE_NAME]
    row = look_up(register, "HB-1", 1)
    assert row is not None
    assert (row.state, row.pdf_sha256) == ("issued", hashlib.sha256(b"page").hexdigest())
    assert inputs_of(register, "HB-1", 1) == {"job.yaml": "0" * 64}


def test_the_same_files_again_are_the_same_certificate(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("HB-1", source_sha256="s"), b"page")
    again = enter(register, tmp_path, make_entry("HB-2", source_sha256="s"), b"page, drawn by a later program")
    assert (again.number, again.new, again.path.read_bytes()) == ("HB-1", False, b"page")
    assert already_entered(register, tmp_path, "s") == again
    assert already_entered(register, tmp_path, "other") is None
    assert names(tmp_path) == ["HB-1.pdf", FILE_NAME]


def test_other_files_under_an_issued_number_are_refused(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("HB-1"), b"page")
    with pytest.raises(AlreadyIssued, match=r"never changed; .* 'revision: 2' with the reason in 'revision_reason'"):
        enter(register, tmp_path, make_entry("HB-1", source_sha256="other"), b"another page")
    assert (tmp_path / "HB-1.pdf").read_bytes() == b"page"


def test_a_revision_stands_beside_what_it_replaces(register, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("HB-1"), b"page")
    enter(register, tmp_path, make_entry("HB-1", revision=2, reason="The arm was mistyped."), b"page 2")
    old, new = look_up(register, "HB-1", 1), look_up(register, "HB-1", 2)
    assert old is not None and new is not None
    assert (old.replacement, old.because) == ("HB-1 revision 2", "The arm was mistyped.")
    assert (new.replacement, new.file) == (None, "HB-1-revision-2.pdf")
    assert (tmp_path / "HB-1.pdf").read_bytes() == b"page"
    assert [one.revision for one in find(register, Wanted(number="HB-1", current_only=True))] == [2]


def test_a_revision_needs_the_one_before(register, tmp_path, make_entry) -> None:
    with pytest.raises(CertgenError, match=r"revision 2 cannot be entered, .* no certificate .* 'revision: 1'"):
        enter(register, tmp_path, make_entry("HB-1", revision=2), b"page")
    enter(register, tmp_path, make_entry("HB-1"), b"page")
    with pytest.raises(CertgenError, match="holds revision 1 as the last; write 'revision: 2'"):
        enter(register, tmp_path, make_entry("HB-1", revision=3), b"page")


def test_a_file_the_register_does_not_know_is_not_overwritten(register, tmp_path, make_entry) -> None:
    (tmp_path / "HB-1.pdf").write_bytes(b"somebody's")
    with pytest.raises(AlreadyIssued, match="is not in its register; move it away"):
        enter(register, tmp_path, make_entry("HB-1"), b"page")
    assert (tmp_path / "HB-1.pdf").read_bytes() == b"somebody's"
    assert look_up(register, "HB-1", 1) is None


@pytest.mark.parametrize("number", ["HB-1", "hb/1"])
def test_two_numbers_with_one_file_name_do_not_share_it(register, tmp_path, make_entry, number) -> None:
    enter(register, tmp_path, make_entry("HB/1"), b"page")
    with pytest.raises(AlreadyIssued, match=r"is the file of certificate HB/1; leave that file where it is"):
        enter(register, tmp_path, make_entry(number), b"another page")
    assert reconcile(register, tmp_path).good


def test_a_revision_of_what_another_number_replaced_is_refused(register, tmp_path, make_entry) -> None:
    for number in ("A-1", "A-2"):
        enter(register, tmp_path, make_entry(number), number.encode())
    supersede(register, tmp_path, "A-1", by="A-2", because="Tested again.")
    with pytest.raises(AlreadyIssued, match=r"A-1: this certificate was replaced by A-2, .* correct A-2 instead"):
        enter(register, tmp_path, make_entry("A-1", revision=2, reason="why"), b"page")


def test_a_folder_without_room_leaves_no_row(register, tmp_path, make_entry, monkeypatch) -> None:
    def full(path: Path, data: bytes) -> None:
        path.write_bytes(data[:2])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(issuing, "_write_flushed", full)
    with pytest.raises(CertgenError, match=r"No space left on device"):
        enter(register, tmp_path, make_entry("HB-1"), b"page")
    assert names(tmp_path) == [FILE_NAME]
    assert look_up(register, "HB-1", 1) is None


class PowerCut(BaseException):
    """The machine stops here: nothing after it runs, and nothing tidies up."""


@pytest.mark.parametrize("step", ["written", "inserted", "committed", "named"])
def test_a_cut_at_any_step_leaves_all_or_nothing(step, tmp_path, make_entry, monkeypatch) -> None:
    def cut(*_: object) -> None:
        raise PowerCut

    with closing(open_register(tmp_path, make=True)) as register, monkeypatch.context() as at:
        if step == "written":
            at.setattr(issuing, "_insert", cut)
        elif step == "inserted":
            whole = issuing._insert
            at.setattr(issuing, "_insert", lambda *all_of: (whole(*all_of), cut()))
        elif step == "committed":
            at.setattr(issuing, "take_name", cut)
        else:
            at.setattr(issuing, "flush_folder", lambda folder: cut() if (folder / "HB-1.pdf").exists() else None)
        at.setattr(Path, "unlink", lambda *_, **__: None)  # a cut tidies nothing
        with pytest.raises(PowerCut):
            enter(register, tmp_path, make_entry("HB-1"), b"page")
    with closing(open_register(tmp_path, make=False)) as register:
        assert reconcile(register, tmp_path).good
        there = look_up(register, "HB-1", 1) is not None
    assert there == (step in ("committed", "named"))
    assert names(tmp_path) == (["HB-1.pdf", FILE_NAME] if there else [FILE_NAME])


def test_a_committed_entry_whose_file_is_gone_is_told(register, tmp_path, make_entry, monkeypatch) -> None:
    monkeypatch.setattr(issuing, "finish_entering", lambda *_: [])
    enter(register, tmp_path, make_entry("HB-1"), b"page")
    next(tmp_path.glob(f"{PASSING}*")).unlink()
    (stuck,) = finish_entering(register, tmp_path)
    assert (stuck.shown_number, stuck.why.key) == ("HB-1", "register.stuck.lost")


def _issue_until_killed(folder: Path, make_entry, ready: int) -> None:
    with closing(open_register(folder, make=False)) as register:
        os.write(ready, b".")
        for serial in count():
            number = next_number(register, folder, 2026)
            enter(register, folder, make_entry(number, source_sha256=number), f"{number} {serial}".encode() * 50)


def test_killed_at_random_instants_nothing_is_half_and_no_number_comes_twice(tmp_path, make_entry) -> None:
    """Three hundred kills without warning, each in the middle of issuing."""
    with closing(open_register(tmp_path, make=True)) as register:
        set_pattern(register, read_pattern("HB-{year}-{serial:05}"))
    instants = random.Random(20260314)
    begin = time.perf_counter()
    with closing(open_register(tmp_path, make=False)) as register:
        for serial in range(5):
            enter(register, tmp_path, make_entry(f"first {serial}"), f"first {serial}".encode())
    one = (time.perf_counter() - begin) / 5
    given = 0
    for _ in range(300):
        heard, ready = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                _issue_until_killed(tmp_path, make_entry, ready)
            finally:
                os._exit(1)
        os.close(ready)
        os.read(heard, 1)
        os.close(heard)
        time.sleep(instants.uniform(0.0, 5.0 * one))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with closing(open_register(tmp_path, make=False)) as register:
            rows = register.execute("SELECT count(*) FROM number").fetchone()[0]
        assert rows >= given
        given = rows
    with closing(open_register(tmp_path, make=False)) as register:
        reconciled = reconcile(register, tmp_path)
        issued = find(register, Wanted())
    assert reconciled.good, reconciled
    assert len(issued) > 30
    assert len(issued) + len(reconciled.never_issued) == given
    for one in issued:
        assert (tmp_path / one.file).read_bytes().startswith(one.number.encode())
    left = {path.name for path in tmp_path.iterdir()} - {one.file for one in issued}
    assert left <= {FILE_NAME, f"{FILE_NAME}-journal"}  # a journal that was played back may stay, with nothing in it


def test_the_register_is_one_file_between_commits(register: sqlite3.Connection, tmp_path, make_entry) -> None:
    enter(register, tmp_path, make_entry("HB-1"), b"page")
    assert names(tmp_path) == ["HB-1.pdf", FILE_NAME]
