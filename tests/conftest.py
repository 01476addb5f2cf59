from __future__ import annotations

from pathlib import Path

import pytest
from bench import Bench
from hypothesis import settings

settings.register_profile("unhurried", deadline=None)  # the first example may load a library
settings.load_profile("unhurried")


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """A shop's folder, which is the working folder too, so that messages name files as 'motor/job.yaml'."""
    folder = tmp_path / "shop"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return Bench(folder)
