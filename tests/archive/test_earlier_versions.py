"""Certificates of the examples as version 0.1.0 issued them, and the archive they were issued into."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from archive.conftest import example
from archive.forged import enclosed, with_files, with_page

from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, Fact, Verification
from certgen.archive.signature import judged
from certgen.archive.verify import verify
from certgen.cli import main
from certgen.commands.verify import _make

pytestmark = pytest.mark.slow

ISSUED = Path(__file__).parent / "issued_by_0_1_0"
PAGES = sorted(path.name for path in ISSUED.glob("*.pdf"))
HEADLINE = "whole; computed by version 0.1.0, not drawn again"


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the archive, which a command may bring up to date."""
    shutil.copytree(ISSUED, tmp_path / "kept")
    monkeypatch.chdir(tmp_path)
    return Path("kept")


def found(document: bytes) -> Verification:
    return verify(document, _make, judged)


def fact(verification: Verification, name: str) -> Fact:
    return next(one for one in verification.facts if one.name == name)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_its_register_vouches_for_stands(page: str, kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(kept / page), "--archive", str(kept)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(f"kept/{page}: {HEADLINE}, {page.removesuffix('.pdf')}, verdict ")
    assert [line[2:6].strip() for line in lines[1:]] == ["yes", "yes", "yes", "-", "-", "-"]
    assert "load points come out the same" in lines[4]


def test_alone_it_is_whole_and_says_what_would_vouch(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(ISSUED / "PMB-2026-0050.pdf")]) == 1
    told = capsys.readouterr().out
    assert f": {HEADLINE}, PMB-2026-0050, verdict pass" in told
    assert "nothing vouches for this page" in told
    assert "(--archive)" in told and "(--signed-by)" in told


def test_a_register_beside_a_page_is_left_as_it_is(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody named it: it is read in its own version, and an empty file of its name stays empty."""
    before = {path.name: path.read_bytes() for path in kept.iterdir()}
    assert main(["verify", str(kept / "PMB-2026-0050.pdf")]) == 1
    assert {path.name: path.read_bytes() for path in kept.iterdir()} == before
    (kept / "register.sqlite3").write_bytes(b"")
    assert main(["verify", str(kept / "PMB-2026-0050.pdf")]) == 1
    assert (kept / "register.sqlite3").read_bytes() == b""


def test_a_signature_of_a_signer_who_is_known_vouches(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    Path("pass").write_text("a long passphrase\n", encoding="utf-8")
    key = ["--passphrase-file", "pass"]
    assert main(["key", "shop.p12", "--name", "Bench", *key]) == 0
    page = str(ISSUED / "PMB-2026-0050.pdf")
    assert main(["sign", page, "--key", "shop.p12", *key, "--out", "signed.pdf"]) == 0
    assert main(["verify", "signed.pdf"]) == 1  # anyone can sign
    capsys.readouterr()
    assert main(["verify", "signed.pdf", "--signed-by", "shop.crt"]) == 0
    assert HEADLINE in capsys.readouterr().out


def _older(document: bytes, version: str = "0.1.0") -> bytes:
    files = enclosed(document)
    contents = json.loads(files["contents.json"]) | {"version": version}
    files["contents.json"] = json.dumps(contents).encode()
    return with_files(document, files, listed=False)


def test_to_claim_an_old_version_hides_no_forgery(small_certificate: bytes) -> None:
    """A page of today with another verdict painted on it, which says that version 0.1.0 issued it."""
    lying = with_page(small_certificate, lambda content: content.replace(b"(Conditional pass ) Tj", b"(Pass ) Tj"))
    verification = found(_older(lying))
    assert not verification.good


def test_figures_that_can_be_compared_are(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = (ISSUED / "PMB-2026-0050.pdf").read_bytes()
    files = enclosed(document)
    results = json.loads(files["results.json"])
    results["points"][0]["torque"]["value"] *= 1.05
    files["results.json"] = json.dumps(results).encode()
    changed = found(with_files(document, files, listed=True))
    told = fact(changed, "recomputation")
    assert told.state == NOT_GOOD
    assert str(told.details[0]).startswith("points[0].torque: ")
    assert fact(changed, "page").state == NOT_CHECKED
    (kept / "PMB-2026-0050.pdf").write_bytes(with_files(document, files, listed=True))
    assert main(["verify", "kept/PMB-2026-0050.pdf", "--archive", "kept"]) == 1
    assert "NOT SOUND" in capsys.readouterr().out


def test_a_later_version_that_gives_the_same_page_is_sound() -> None:
    """Between versions that change nothing of a page, comparison goes on as within one."""
    document = _older(example("one_point_test"), "0.1.9")
    verification = found(document)
    assert fact(verification, "recomputation").state == GOOD
