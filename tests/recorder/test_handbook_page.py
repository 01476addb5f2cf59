"""The session in docs/recording.md is run, and what it prints and writes is what the page shows."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

_PAGE = (Path(__file__).parents[2] / "docs" / "recording.md").read_text(encoding="utf-8")


def shown(mark: str) -> str:
    """The block below a mark of the page."""
    (block,) = re.findall(rf"<!-- {mark} -->\n```\w+\n(.*?)```", _PAGE, flags=re.DOTALL)
    return str(block)


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> tuple[subprocess.CompletedProcess[str], str]:
    folder = tmp_path_factory.mktemp("bench")
    rig = re.search(r"```yaml\n(name: .*?)```", _PAGE, flags=re.DOTALL)
    assert rig is not None
    (folder / "rig.yaml").write_text(rig[1], encoding="utf-8")
    command = shown("session").replace("certgen record", f"'{sys.executable}' -m certgen record")
    done = subprocess.run(
        ["/bin/sh", "-c", command], cwd=folder, capture_output=True, text=True, check=False, env={**os.environ}
    )
    return done, (folder / "run.csv").read_text(encoding="utf-8")


def test_the_session_prints_what_the_page_shows(session: tuple[subprocess.CompletedProcess[str], str]) -> None:
    done, _ = session
    assert done.returncode == 0
    assert done.stderr == shown("talk")
    assert done.stdout == shown("snippet")


def test_the_session_writes_the_rows_the_page_shows(session: tuple[subprocess.CompletedProcess[str], str]) -> None:
    _, text = session
    rows = text[text.index("\ntime (s),") + 1 :]
    untimed = re.compile(r"^\d+\.\d{3},", re.MULTILINE)
    assert untimed.sub("t,", rows) == untimed.sub("t,", shown("rows"))


def test_the_comments_of_the_file_are_the_lines_for_the_job(
    session: tuple[subprocess.CompletedProcess[str], str],
) -> None:
    _, text = session
    comments = "".join(line.removeprefix("# ") + "\n" for line in text.splitlines() if line.startswith("# "))
    assert shown("snippet") in comments
