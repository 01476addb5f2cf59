from __future__ import annotations

import os
import subprocess
from collections.abc import Callable

import pytest
from bench import Bench

from certgen.cli import main


@pytest.fixture
def shop(bench: Bench) -> Bench:
    """A bench with everything that can be read of a motor, on disk, in the working folder."""
    bench.start("full").write()
    return bench


@pytest.fixture(scope="session")
def as_issued(tmp_path_factory: pytest.TempPathFactory) -> Callable[[], bytes]:
    """The bytes of that motor's certificate, issued in this process."""

    def issued() -> bytes:
        folder = tmp_path_factory.getbasetemp() / "as issued"
        page = folder / "page.pdf"
        if not page.exists():
            folder.mkdir()
            job = Bench(folder).start("full").write()
            assert main(["issue", str(job), "--out", str(page)]) == 0
        return page.read_bytes()

    return issued


@pytest.fixture(scope="session")
def german(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """An environment in which numbers are written with a decimal comma."""
    folder = tmp_path_factory.mktemp("locales")
    try:
        made = subprocess.run(
            ["localedef", "--no-archive", "-i", "de_DE", "-f", "UTF-8", str(folder / "de_DE.UTF-8")],
            capture_output=True,
            check=False,
        )
    except FileNotFoundError:
        pytest.skip("no localedef on this system")
    if made.returncode or not (folder / "de_DE.UTF-8").is_dir():
        assert "CERTGEN_NO_SKIP" not in os.environ, "the sources of locales are not installed (Debian: locales)"
        pytest.skip("this system cannot make a German locale")
    return {"LOCPATH": str(folder), "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
