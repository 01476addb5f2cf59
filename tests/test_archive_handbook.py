"""The commands of docs/archive.md, run as they stand there, one after the other."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "docs" / "archive.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What each block of commands prints to standard output."""
    folder = tmp_path_factory.mktemp("top")
    shutil.copytree(ROOT / "example_jobs", folder / "example_jobs")
    (folder / "passphrase.txt").write_text("a long passphrase\n", encoding="utf-8")
    program = f'certgen() {{ "{sys.executable}" -m certgen "$@"; }}\nset -euo pipefail\n'
    printed = []
    for block in re.findall(r"```sh\n(.*?)```", PAGE, flags=re.DOTALL):
        done = subprocess.run(["bash", "-c", program + block], cwd=folder, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        printed.append(done.stdout)
    return printed


def _masked(text: str) -> str:
    """Digests and lengths change whenever a figure does."""
    return re.sub(r"\b[0-9a-f]{64}\b", "<digest>", re.sub(r"\b\d+ bytes", "<n> bytes", text))


def test_verify_prints_what_the_page_shows(ran: list[str]) -> None:
    shown = re.findall(r"```text\n(.*?)```", PAGE, flags=re.DOTALL)
    assert [_masked(ran[1])] == [_masked(one) for one in shown]


def test_the_enclosed_files_come_out_and_are_good(ran: list[str]) -> None:
    assert "taken_out/rigs/belt_drive_brake.yaml\n" in ran[2]
    assert "taken_out/renewed_rotor/job.yaml: Conditional pass\n" in ran[2]


def test_the_digest_without_this_program_is_that_of_the_seal(ran: list[str]) -> None:
    seal = re.search(r"SHA-256 ([0-9a-f]{64})", ran[1])
    assert seal is not None
    assert ran[3].split()[0] == seal[1]


def test_the_signed_page_is_sound_and_by_the_shop(ran: list[str]) -> None:
    assert "signed.pdf: sound" in ran[4]
    assert "valid, and by the certificate you trust" in ran[4]
