"""``certgen verify``, ``sign`` and ``key``: what they print where, what they write, and how they end."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from pathlib import Path

import pytest
from archive.conftest import example
from bench import Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

PASSPHRASE = "a long passphrase"


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("key")
    (folder / "pass").write_text(PASSPHRASE + "\n", encoding="utf-8")
    assert main(["key", str(folder / "shop.p12"), "--name", "Bench", "--passphrase-file", str(folder / "pass")]) == 0
    return folder / "shop.p12"


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("page.pdf").write_bytes(example("one_point_test"))
    return Path("page.pdf")


def test_a_sound_certificate_ends_with_0(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", "page.pdf"]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert told.out.startswith("page.pdf: sound, PMB-2026-0050, verdict conditional pass\n")
    assert [line[2:6].strip() for line in told.out.splitlines()[1:]] == ["yes", "yes", "-", "yes", "yes", "-"]


def test_the_worst_status_counts(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("changed.pdf").write_bytes(page.read_bytes()[:-1])
    Path("other.pdf").write_bytes(b"hello")
    assert main(["verify", "changed.pdf", "page.pdf"]) == 1
    told = capsys.readouterr()
    assert "changed.pdf: NOT SOUND" in told.out
    assert "page.pdf: sound" in told.out
    assert main(["verify", "page.pdf", "other.pdf", "absent.pdf", "."]) == 2
    told = capsys.readouterr()
    assert "page.pdf: sound" in told.out
    assert told.err.splitlines() == [
        "other.pdf: not a certificate of this program: it is not a PDF.",
        "absent.pdf: cannot be read (No such file or directory); check its name and permissions.",
        ".: this is not an ordinary file; give the name of a file.",
    ]


def test_extract_gives_the_files_back(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", "page.pdf", "--extract", "out"]) == 0
    source = Path(__file__).parent.parent / "example_jobs"
    for name in ("one_point_test/job.yaml", "rigs/arm_brake.yaml"):
        assert (Path("out") / name).read_bytes() == (source / name).read_bytes()
    capsys.readouterr()
    assert main(["verify", "page.pdf", "--extract", "out"]) == 2
    assert "nothing is overwritten" in capsys.readouterr().err
    assert main(["verify", "page.pdf", "page.pdf", "--extract", "two"]) == 2
    assert not Path("two").exists()


def test_text_of_strangers_moves_no_cursor(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from archive.forged import enclosed, with_files

    files = enclosed(page.read_bytes())
    files["results.json"] = b'{"certificate": {"number": "x"}, "traceability": {"inputs": {"\\u001b[2J\\u202e": "0"}}}'
    Path("strange.pdf").write_bytes(with_files(page.read_bytes(), files, listed=True))
    assert main(["verify", "strange.pdf"]) == 1
    told = capsys.readouterr().out
    assert "\\x1b[2J\\u202e" in told
    assert "\x1b" not in told


def test_signing_writes_a_file_of_its_own(page: Path, key: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sign = ["sign", "page.pdf", "--key", str(key), "--passphrase-file", str(key.parent / "pass")]
    before = page.read_bytes()
    assert main(sign) == 0
    assert capsys.readouterr().out == "page-signed.pdf\n"
    assert page.read_bytes() == before
    assert main(["verify", "page-signed.pdf", "--signed-by", str(key.with_suffix(".crt"))]) == 0
    assert "by the certificate you trust" in capsys.readouterr().out
    assert main(["verify", "page.pdf", "--signed-by", str(key.with_suffix(".crt"))]) == 1
    assert main(sign) == 2
    assert "nothing is overwritten" in capsys.readouterr().err
    assert main([*sign, "--out", "absent/x.pdf"]) == 2


def test_a_signer_may_be_named_by_a_fingerprint(page: Path, key: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A stranger's certificate of the same name has another one."""
    from certgen.archive.signing import certificate_bytes

    assert main(["sign", "page.pdf", "--key", str(key), "--passphrase-file", str(key.parent / "pass")]) == 0
    fingerprint = hashlib.sha256(certificate_bytes(key.with_suffix(".crt").read_bytes())).hexdigest()
    spaced = ":".join(re.findall("..", fingerprint.upper()))
    Path("signer.txt").write_text(spaced + "\n", encoding="utf-8")  # pinned by the shop, once and for all
    for given in (fingerprint, spaced, "signer.txt"):
        assert main(["verify", "page-signed.pdf", "--signed-by", given]) == 0
    assert main(["key", "stranger.p12", "--name", "Bench", "--passphrase-file", str(key.parent / "pass")]) == 0
    stranger = ["--key", "stranger.p12", "--passphrase-file", str(key.parent / "pass"), "--out", "strange.pdf"]
    assert main(["sign", "page.pdf", *stranger]) == 0
    capsys.readouterr()
    assert main(["verify", "strange.pdf", "--signed-by", fingerprint]) == 1
    assert "is not by the certificate you trust" in capsys.readouterr().out


@pytest.mark.skipif(os.name != "posix", reason="no permissions of this kind")
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o666])
def test_a_key_that_others_can_read_does_not_sign(
    page: Path, key: Path, capsys: pytest.CaptureFixture[str], mode: int
) -> None:
    Path("open.p12").write_bytes(key.read_bytes())
    Path("open.p12").chmod(mode)
    sign = ["sign", "page.pdf", "--key", "open.p12", "--passphrase-file", str(key.parent / "pass")]
    assert main(sign) == 2
    assert (
        "others on this machine can read or change this key; take it back with 'chmod 600'" in capsys.readouterr().err
    )
    Path("open.p12").chmod(0o400)
    assert main(sign) == 0


def test_only_a_whole_certificate_is_signed(page: Path, key: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page.write_bytes(page.read_bytes()[:-1])
    assert main(["sign", "page.pdf", "--key", str(key), "--passphrase-file", str(key.parent / "pass")]) == 2
    assert "not an intact certificate" in capsys.readouterr().err
    assert not Path("page-signed.pdf").exists()


def test_the_passphrase_is_asked_for(page: Path, key: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def answer(question: str) -> str:
        asked.append(question)
        return PASSPHRASE

    monkeypatch.setattr("getpass.getpass", answer)
    assert main(["sign", "page.pdf", "--key", str(key)]) == 0
    assert asked == [f"Passphrase of {key}: "]
    assert main(["key", "new.p12", "--name", "Bench"]) == 0
    assert len(asked) == 3


def test_a_wrong_passphrase_or_key_is_told(page: Path, key: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("wrong").write_text("wrong\n", encoding="utf-8")
    assert main(["sign", "page.pdf", "--key", str(key), "--passphrase-file", "wrong"]) == 2
    assert "the passphrase is wrong" in capsys.readouterr().err
    assert main(["sign", "page.pdf", "--key", "absent.p12", "--passphrase-file", "wrong"]) == 2
    assert main(["sign", "page.pdf", "--key", str(key), "--passphrase-file", "absent"]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_new_key_is_for_its_owner_and_says_what_it_is_worth(
    page: Path, key: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["--name", "Bench", "--passphrase-file", str(key.parent / "pass")]
    assert main(["key", "own.p12", *arguments]) == 0
    told = capsys.readouterr()
    assert told.out.splitlines()[:2] == ["own.p12", "own.crt"]
    assert "Nobody but you vouches for this certificate." in told.err
    assert stat.S_IMODE(Path("own.p12").stat().st_mode) == 0o600
    assert main(["key", "own.p12", *arguments]) == 2
    assert "nothing is overwritten" in capsys.readouterr().err
    assert main(["key", "own.key", *arguments]) == 2
    assert main(["key", "o.p12", *arguments, "--years", "99"]) == 2
    Path("short").write_text("abc\n", encoding="utf-8")
    assert main(["key", "o.p12", "--name", "Bench", "--passphrase-file", "short"]) == 2
    assert not Path("o.p12").exists()


def test_without_the_libraries_signing_says_what_to_install(
    page: Path, key: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import sys

    passphrase = ["--passphrase-file", str(key.parent / "pass")]
    assert main(["sign", "page.pdf", "--key", str(key), *passphrase]) == 0
    for name in [name for name in sys.modules if name.split(".")[0] == "pyhanko"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "pyhanko", None)
    assert main(["sign", "page.pdf", "--key", str(key), *passphrase, "--out", "b.pdf"]) == 2
    assert "pip install 'certgen[sign]'" in capsys.readouterr().err
    assert main(["verify", "page.pdf"]) == 0
    capsys.readouterr()
    assert main(["verify", "page-signed.pdf"]) == 1
    assert "cannot be checked here: pip install 'certgen[sign]'" in capsys.readouterr().out


def test_the_register_of_an_archive_is_asked(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    """The number comes from the register, so the job inside does not state it; the page is drawn again all the same."""
    bench.edit("job", {"  number: WS-2026-007\n": ""}).write()
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "WS-{year}-{serial:03}"]) == 0
    assert main(["issue", "motor/job.yaml", "--archive", "kept"]) == 0
    (page,) = Path("kept").glob("*.pdf")
    capsys.readouterr()
    assert main(["verify", str(page), "--archive", "kept"]) == 0
    told = capsys.readouterr().out
    assert f"yes  register: {page.stem} was issued as this file" in told
    assert "yes  page: drawn again from its own files: the same, byte for byte" in told
    Path("other.pdf").write_bytes(example("one_point_test"))
    assert main(["verify", "other.pdf", "--archive", "kept"]) == 1
    assert "PMB-2026-0050 is not in the register" in capsys.readouterr().out
    assert main(["verify", str(page), "--archive", "absent"]) == 2


def test_a_replaced_certificate_is_told(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.write()
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "WS-{year}-{serial:03}"]) == 0
    assert main(["issue", "motor/job.yaml", "--archive", "kept"]) == 0
    revised = "revision: 2\n  revision_reason: The scale was read wrong."
    bench.edit("job", {"  number: WS-2026-007": f"  number: WS-2026-007\n  {revised}"}).write()
    assert main(["issue", "motor/job.yaml", "--archive", "kept"]) == 0
    capsys.readouterr()
    assert main(["verify", "kept/WS-2026-007.pdf", "--archive", "kept"]) == 1
    told = capsys.readouterr().out
    assert "WS-2026-007 was replaced by WS-2026-007 revision 2: The scale was read wrong." in told
    assert told.startswith("kept/WS-2026-007.pdf: superseded by WS-2026-007 revision 2, WS-2026-007, verdict ")
    assert "NOT SOUND" not in told
    page = Path("kept/WS-2026-007.pdf")
    page.write_bytes(page.read_bytes()[:-1])
    assert main(["verify", "kept/WS-2026-007.pdf", "--archive", "kept"]) == 1
    assert "NOT SOUND" in capsys.readouterr().out  # what is replaced and changed is not sound
    assert main(["verify", "kept/WS-2026-007-revision-2.pdf", "--archive", "kept"]) == 0


def test_processes_verify_the_same(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the order named, each with its own outcome."""
    Path("cut.pdf").write_bytes(page.read_bytes()[:-20])
    Path("text.pdf").write_text("hello\n", encoding="utf-8")
    files = ["page.pdf", "cut.pdf", "absent.pdf", "text.pdf", "page.pdf"]
    told = []
    for workers in ("1", "2"):
        assert main(["verify", *files, "--workers", workers]) == 2
        told.append(capsys.readouterr())
    assert told[0] == told[1]
    assert [line.split(":")[0] for line in told[0].out.splitlines() if line[0] != " "] == [
        "page.pdf",
        "cut.pdf",
        "page.pdf",
    ]
    assert [line.split(":")[0] for line in told[0].err.splitlines()] == ["absent.pdf", "text.pdf"]


def test_a_file_at_which_the_program_fails_stops_no_other(
    page: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from certgen.commands.verify import Looked, lost

    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    with monkeypatch.context() as patch:
        patch.setattr("certgen.archive.verify.verify", fails)
        assert main(["verify", "page.pdf", "page.pdf"]) == 2
    assert capsys.readouterr().err.count("the program failed here (ZeroDivisionError") == 2
    told = lost(Looked(page, None, None), "signal 9")
    assert told.error.startswith("page.pdf: the process that worked on it was lost (signal 9)")
    assert told.status == 2
