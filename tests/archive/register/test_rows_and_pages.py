"""Every row says what its own certificate says: told where it does not, filled where an earlier version left gaps."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from archive.conftest import EXAMPLES
from archive.test_earlier_versions import ISSUED

from certgen.archive.register.database import VERSION, open_register
from certgen.archive.register.reconcile import reconcile
from certgen.archive.register.search import Wanted, find, look_up
from certgen.cli import main

pytestmark = pytest.mark.slow


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[sqlite3.Connection]:
    """The archive of version 0.1.0, brought up to date by opening it."""
    shutil.copytree(ISSUED, tmp_path / "kept")
    monkeypatch.chdir(tmp_path)
    with closing(open_register(Path("kept"), make=False)) as register:
        yield register


def test_an_archive_of_an_earlier_version_moves_and_keeps_a_copy(kept) -> None:
    assert kept.execute("PRAGMA user_version").fetchone()[0] == VERSION
    copy = sqlite3.connect("kept/register-version-1.sqlite3")
    assert copy.execute("PRAGMA user_version").fetchone()[0] == 1
    copy.close()
    assert {one.verdict for one in find(kept, Wanted(verdict="no verdict"))} == {"not tested"}


def test_rows_of_an_earlier_version_agree_and_the_gaps_are_told(kept, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["register", "check", "--archive", "kept"]) == 0
    told = capsys.readouterr().out
    assert "PMB-2026-0050: figures of its certificate are missing in the row" in told
    assert "row changed" not in told


def test_repair_fills_a_test_of_one_load_from_its_own_page(kept) -> None:
    assert not find(kept, Wanted(power_from=700.0, number="PMB-2026-0050"))
    found = reconcile(kept, Path("kept"), repair=True)
    assert str(found.mended[0]).endswith("the row was brought in line with its certificate")
    (one,) = find(kept, Wanted(power_from=700.0, number="PMB-2026-0050"))
    # the example's reading: 2861 rpm, 1.699 A, 954 W in, and the torque its page prints, 2.531 N m
    assert one.torque == pytest.approx(2.531, abs=0.001)
    assert one.speed == pytest.approx(2861 * 3.141592653589793 / 30)
    assert one.power == pytest.approx(one.torque * one.speed)
    assert one.current == pytest.approx(1.699)
    assert one.efficiency == pytest.approx(one.power / 954)
    assert reconcile(kept, Path("kept")).incomplete == ()


@pytest.mark.parametrize(
    ("column", "value", "told"),
    [
        ("verdict", "pass", "PMB-2026-0049: verdict is pass in the register and fail in its certificate"),
        ("serial", "X-1", "PMB-2026-0049: serial is X-1 in the register and 0-55871 in its certificate"),
        ("torque", 16.0, "PMB-2026-0049: torque is 16 in the register and 15.3658 in its certificate"),
        ("efficiency", None, "PMB-2026-0049: efficiency is - in the register and 0.775496 in its certificate"),
    ],
)
def test_a_changed_row_is_told_and_mended(kept, column: str, value: object, told: str, capsys) -> None:
    before = look_up(kept, "PMB-2026-0049", 1)
    kept.execute(f"UPDATE certificate SET {column} = ? WHERE number = 'PMB-2026-0049'", (value,))
    assert main(["register", "check", "--archive", "kept"]) == 1
    assert f"row changed: {told}" in capsys.readouterr().out
    assert main(["register", "check", "--repair", "--archive", "kept"]) == 0
    assert look_up(kept, "PMB-2026-0049", 1) == before
    assert find(kept, Wanted(text="55871"))
    assert main(["register", "check", "--archive", "kept"]) == 0


def test_every_example_of_today_enters_as_its_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "kept").mkdir()
    monkeypatch.chdir(tmp_path)
    names = ("one_point_test", "worn_rotor", "home_bench", "unmarked_rated")
    assert main(["issue", *(str(EXAMPLES / name / "job.yaml") for name in names), "--archive", "kept"]) == 0
    with closing(open_register(Path("kept"), make=False)) as register:
        found = reconcile(register, Path("kept"))
    assert found.good and found.certificates == len(names) and not found.incomplete
