"""Drafts, and ``certgen watch``: no certificate, drawn anew at each save, what changed told."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from argparse import Namespace
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen.cli import main
from certgen.commands.watch import changes, look
from certgen.terminal import viewer

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]


def options(**given: object) -> Namespace:
    plain = {"job": Path("m1/job.yaml"), "out": None, "sheet": None, "language": None, "record": False}
    return Namespace(**{**plain, "open": False, "verbose": False, **given})


def test_a_draft_is_marked_and_has_no_number(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", "m1/job.yaml", "--draft", "--record"]) == 0
    page = Path("m1-draft.pdf")
    assert capsys.readouterr().out == (
        "m1-draft.pdf: a draft, no certificate; the verdict would be: conditional pass\n"
    )
    pages = PdfReader(page).pages
    assert len(pages) > 1
    texts = [one.extract_text() for one in pages]
    assert all("DRAFT" in text for text in texts)
    number = "PMB-2026"
    assert not any(number in text for text in texts)
    assert number not in page.read_bytes().decode("latin-1")
    assert not PdfReader(page).attachments


def test_verify_says_that_a_draft_is_none(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["issue", "m1/job.yaml", "--draft"])
    capsys.readouterr()
    assert main(["verify", "m1-draft.pdf"]) == 1
    assert "a draft, no certificate" in capsys.readouterr().out
    assert main(["verify", "m1-draft.pdf", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)[0]["good"] is False


def test_an_issued_certificate_is_never_overwritten_by_a_draft(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", "m1/job.yaml", "--out", "page.pdf"]) == 0
    issued = Path("page.pdf").read_bytes()
    assert main(["issue", "m1/job.yaml", "--draft", "--out", "page.pdf"]) == 2
    assert "this file is no draft and is left as it is" in capsys.readouterr().err
    assert Path("page.pdf").read_bytes() == issued


@pytest.mark.parametrize(
    ("more", "told"),
    [(["--archive", "."], "an archive keeps no drafts"), (["--sheet", "tag"], "there is no draft of one")],
)
def test_what_has_no_draft_is_told(here: Path, capsys: pytest.CaptureFixture[str], more: list[str], told: str) -> None:
    assert main(["issue", "m1/job.yaml", "--draft", *more]) == 2
    assert told in capsys.readouterr().err


def test_the_usual_archive_gets_no_draft(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CERTGEN_ARCHIVE", str(here / "kept"))
    assert main(["issue", "m1/job.yaml", "--draft"]) == 0
    assert not (here / "kept").exists()


def test_only_what_changed_is_told() -> None:
    told = [str(line) for line in changes(["a: Pass", "one", "two"], ["a: Fail", "one", "two", "three"])]
    assert told == ["  was: a: Pass", "  now: a: Fail", "  now: three"]
    assert [str(line) for line in changes(["a: Pass"], ["a: Pass"])] == ["  nothing changed: a: Pass"]
    assert str(next(changes(["a: Pass", "x"], ["a: Pass", "y"]))) == "  a: Pass"


def test_a_look_keeps_what_it_read_and_finds_its_way_back_from_a_mistake(here: Path) -> None:
    job = Path("m1/job.yaml")
    good = job.read_text("utf-8")
    first = look(options(), None)
    assert {path.name for path in first.stamps} == {"job.yaml", "arm_brake.yaml"}
    assert not first.wrong
    job.write_text(good.replace("../rigs/", "../rgs/"), "utf-8")
    second = look(options(), first)
    assert second.wrong
    assert "does not exist" in str(second.lines[0])
    assert here in second.folders  # where '../rgs' may yet appear
    job.write_text(good.replace("maker: Vantrell", "maker: Vantrall"), "utf-8")
    third = look(options(), second)
    assert not third.wrong
    assert third.report[0] == first.report[0]


def wait_for(condition, seconds: float = 40.0) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.05)


@pytest.mark.skipif(os.name != "posix", reason="stopped by a signal")
def test_each_save_is_seen(here: Path) -> None:
    """The command itself, in a process of its own: rig, job with a mistake, job mended; a request to end it."""
    out = Path("told.txt")
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    with out.open("w") as told:
        command = [sys.executable, "-m", "certgen", "watch", "m1/job.yaml", "--out", "page.pdf"]
        running = subprocess.Popen(command, stdout=told, stderr=told, env=env)
    try:
        wait_for(lambda: "Ctrl-C ends" in out.read_text("utf-8"))
        rig, job = Path("rigs/arm_brake.yaml"), Path("m1/job.yaml")
        good = job.read_text("utf-8")
        rig.write_text(rig.read_text("utf-8").replace("Cradle brake", "Bench brake"), "utf-8")
        wait_for(lambda: "saved: arm_brake.yaml" in out.read_text("utf-8"))
        wait_for(lambda: "nothing changed" in out.read_text("utf-8"))
        drawn = Path("page.pdf").read_bytes()
        job.write_text(good.replace("maker: Vantrell", "maker: Vantrall"), "utf-8")
        wait_for(lambda: Path("page.pdf").read_bytes() != drawn)
        job.write_text(good.replace("motor:", "moter:", 1), "utf-8")
        wait_for(lambda: "moter: unknown key; did you mean 'motor'" in out.read_text("utf-8"))
        job.write_text(good, "utf-8")
        wait_for(lambda: out.read_text("utf-8").count("saved: job.yaml") == 3)
        wait_for(lambda: out.read_text("utf-8").rstrip().endswith("Conditional pass"))
    finally:
        running.send_signal(signal.SIGTERM)
        status = running.wait(20)
    assert status == 143
    assert "Traceback" not in out.read_text("utf-8")


def test_without_a_viewer_the_place_of_the_page_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setattr(viewer, "opener", lambda platform: None)
    monkeypatch.setattr(viewer.sys, "platform", "linux")
    assert not viewer.show(tmp_path / "page.pdf")
    assert "page.pdf: this system has no viewer" in capsys.readouterr().err


def test_the_viewer_gets_the_page_s_whole_name(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    tool, got = tmp_path / "xdg-open", tmp_path / "got"
    tool.write_text(f'#!/bin/sh\nprintf %s "$1" > {got}\n', "utf-8")
    tool.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    monkeypatch.setattr(viewer.sys, "platform", "linux")
    assert viewer.show(tmp_path / "my page.pdf")
    wait_for(lambda: got.exists() and got.read_text() == str(tmp_path / "my page.pdf"))
