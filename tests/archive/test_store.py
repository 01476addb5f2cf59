from __future__ import annotations

import errno
import multiprocessing
import os
import stat
from collections.abc import Callable
from multiprocessing.synchronize import Barrier
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from certgen.archive.store import file_name, issue_once, write_whole
from certgen.errors import AlreadyIssued, CertgenError

pytestmark = pytest.mark.slow

PAGE = b"%PDF-1.7 a page"


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def failing(number: int) -> Callable[..., Any]:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


def test_a_file_is_written_whole(tmp_path: Path) -> None:
    write_whole(tmp_path / "results.json", PAGE)
    assert (tmp_path / "results.json").read_bytes() == PAGE
    assert names_in(tmp_path) == ["results.json"]
    assert stat.S_IMODE((tmp_path / "results.json").stat().st_mode) == 0o644


def test_a_file_takes_the_place_of_the_one_before(tmp_path: Path) -> None:
    (tmp_path / "results.json").write_bytes(b"old and longer than the new one")
    write_whole(tmp_path / "results.json", PAGE)
    assert (tmp_path / "results.json").read_bytes() == PAGE
    assert names_in(tmp_path) == ["results.json"]


@pytest.mark.parametrize("step", ["os.fsync", "pathlib.Path.replace", "pathlib.Path.chmod"])
@pytest.mark.parametrize("before", [None, b"as it was"])
def test_a_failed_write_leaves_the_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, before: bytes | None
) -> None:
    target = tmp_path / "results.json"
    if before is not None:
        target.write_bytes(before)
    names = names_in(tmp_path)
    monkeypatch.setattr(step, failing(errno.ENOSPC))
    with pytest.raises(CertgenError, match=r"results\.json: the file cannot be written \(No space left on device\); "):
        write_whole(target, PAGE)
    assert names_in(tmp_path) == names
    assert before is None or target.read_bytes() == before


def test_a_write_that_is_broken_off_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken_off(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", broken_off)
    with pytest.raises(KeyboardInterrupt):
        issue_once(tmp_path / "X-1.pdf", PAGE)
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("write", [write_whole, issue_once])
def test_a_folder_that_is_not_there_is_told(tmp_path: Path, write: Callable[[Path, bytes], object]) -> None:
    target = tmp_path / "absent" / "X-1.pdf"
    with pytest.raises(CertgenError) as told:
        write(target, PAGE)
    assert str(told.value) == (
        f"{target}: the file cannot be written (No such file or directory); "
        "name a folder that exists, may be written to and has room."
    )


@pytest.mark.parametrize("write", [write_whole, issue_once])
def test_a_name_too_long_for_the_disk_is_told(tmp_path: Path, write: Callable[[Path, bytes], object]) -> None:
    with pytest.raises(CertgenError, match="the file cannot be written"):
        write(tmp_path / ("x" * 300), PAGE)
    assert names_in(tmp_path) == []


def test_a_certificate_is_issued_once(tmp_path: Path) -> None:
    target = tmp_path / "X-1.pdf"
    assert issue_once(target, PAGE) is True
    assert target.read_bytes() == PAGE
    assert names_in(tmp_path) == ["X-1.pdf"]


def test_the_same_certificate_again_is_left_in_place(tmp_path: Path) -> None:
    target = tmp_path / "X-1.pdf"
    issue_once(target, PAGE)
    before = target.stat()
    assert issue_once(target, PAGE) is False
    assert (target.stat().st_ino, target.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert names_in(tmp_path) == ["X-1.pdf"]


@pytest.mark.parametrize("other", [b"", b"%PDF-1.7 another", PAGE + b"\n", PAGE[:-1]])
def test_another_certificate_of_the_same_name_is_refused(tmp_path: Path, other: bytes) -> None:
    target = tmp_path / "X-1.pdf"
    issue_once(target, PAGE)
    with pytest.raises(AlreadyIssued) as told:
        issue_once(target, other)
    assert str(told.value).startswith(f"{target}: a file of this name exists and is not this certificate")
    assert "--out" in str(told.value)
    assert target.read_bytes() == PAGE
    assert names_in(tmp_path) == ["X-1.pdf"]


def test_a_folder_or_a_broken_link_of_that_name_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "X-1.pdf").mkdir()
    (tmp_path / "X-2.pdf").symlink_to("nowhere")
    for name in ("X-1.pdf", "X-2.pdf"):
        with pytest.raises(AlreadyIssued):
            issue_once(tmp_path / name, PAGE)
    assert names_in(tmp_path) == ["X-1.pdf", "X-2.pdf"]


def test_a_certificate_taken_between_looking_and_writing_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "X-1.pdf"
    target.write_bytes(b"somebody else's")
    monkeypatch.setattr("os.path.lexists", lambda _: False)
    with pytest.raises(AlreadyIssued):
        issue_once(target, PAGE)
    assert target.read_bytes() == b"somebody else's"
    target.write_bytes(PAGE)
    assert issue_once(target, PAGE) is False
    assert names_in(tmp_path) == ["X-1.pdf"]


class TestWithoutLinks:
    """A file system that knows no links, such as that of many a memory stick."""

    @pytest.fixture(autouse=True)
    def no_links(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("os.link", failing(errno.EPERM))

    def test_a_certificate_is_issued_once(self, tmp_path: Path) -> None:
        target = tmp_path / "X-1.pdf"
        assert issue_once(target, PAGE) is True
        assert issue_once(target, PAGE) is False
        with pytest.raises(AlreadyIssued):
            issue_once(target, b"another")
        assert target.read_bytes() == PAGE
        assert names_in(tmp_path) == ["X-1.pdf"]

    def test_a_taken_name_is_left_to_who_took_it(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        target = tmp_path / "X-1.pdf"
        target.write_bytes(b"somebody else's")
        monkeypatch.setattr("os.path.lexists", lambda _: False)
        with pytest.raises(AlreadyIssued):
            issue_once(target, PAGE)
        assert target.read_bytes() == b"somebody else's"

    def test_a_failure_leaves_nothing(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("pathlib.Path.replace", failing(errno.EIO))
        with pytest.raises(CertgenError, match="Input/output error"):
            issue_once(tmp_path / "X-1.pdf", PAGE)
        assert names_in(tmp_path) == []


def _issue(folder: str, number: int, barrier: Barrier, answers: Any) -> None:
    barrier.wait()
    try:
        answers.put((number, issue_once(Path(folder) / "X-1.pdf", b"page %d" % number)))
    except AlreadyIssued:
        answers.put((number, None))


def test_of_several_issuers_at_once_exactly_one_wins(tmp_path: Path) -> None:
    context = multiprocessing.get_context("spawn")
    barrier, answers = context.Barrier(3), context.Queue()
    issuers = [context.Process(target=_issue, args=(str(tmp_path), number, barrier, answers)) for number in range(3)]
    for issuer in issuers:
        issuer.start()
    given_answers = dict(answers.get(timeout=30) for _ in issuers)
    for issuer in issuers:
        issuer.join()
    (winner,) = [number for number, new in given_answers.items() if new]
    assert all(new is None for number, new in given_answers.items() if number != winner)
    assert (tmp_path / "X-1.pdf").read_bytes() == b"page %d" % winner
    assert names_in(tmp_path) == ["X-1.pdf"]


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("HB-2026-0112", "HB-2026-0112.pdf"),
        ("2026/14", "2026-14.pdf"),
        ("No. 5 (repeat)", "No.-5-repeat.pdf"),
        ("Prüfung 7_b", "Prüfung-7_b.pdf"),
        ("..", "certificate.pdf"),
        ("../../etc/passwd", "etc-passwd.pdf"),
        (".hidden", "hidden.pdf"),
        ("C:\\x", "C-x.pdf"),
        ("<b>&amp;", "b-amp.pdf"),
        ("???", "certificate.pdf"),
        ("", "certificate.pdf"),
    ],
)
def test_a_number_as_the_name_of_its_file(number: str, name: str) -> None:
    assert file_name(number) == name


@given(number=st.text(max_size=60))
@example("..")
@example("/")
@example("a/../..")
@example("\0")
@example("\U00020000" * 60)
def test_no_number_leads_out_of_its_folder(number: str) -> None:
    name = file_name(number)
    folder = Path("/certificates")
    assert Path(os.path.normpath(folder / name)).parent == folder
    assert name.endswith(".pdf")
    assert not name.startswith((".", "-"))
    assert not set(name) & set('/\\:*?"<>|\0\n\r\t ')
    assert len(name.encode("utf-8", "surrogatepass")) <= 255
