"""Registers from elsewhere: damaged, or made to reach beyond their folder."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from bench import Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

_ACTIONS = (["list"], ["find", "Tanner"], ["export"], ["check"], ["trend", "0048117"])


@pytest.fixture
def register(shop: Bench) -> Path:
    """A register with one certificate."""
    assert main(["issue", "motor/job.yaml", "--archive", "."]) == 0
    return Path("register.sqlite3")


def test_an_entry_under_way_is_not_finished_outside_the_folder(
    register: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with closing(sqlite3.connect(register)) as connection, connection:
        digest = connection.execute("SELECT pdf_sha256 FROM certificate").fetchone()[0]
        connection.execute("UPDATE certificate SET state = 'entering', file = '../escaped.pdf'")
    Path("WS-2026-007.pdf").rename(f".entering-{digest}")
    assert main(["register", "list"]) == 0  # one bad entry does not lock the others
    said = capsys.readouterr()
    print(said)
    assert "names a file outside its folder" in said.err
    assert not Path("../escaped.pdf").exists()


@pytest.mark.parametrize("seed", range(8))
def test_a_damaged_register_is_told_by_every_action(
    register: Path, capsys: pytest.CaptureFixture[str], seed: int
) -> None:
    chance = random.Random(seed)
    whole = register.read_bytes()
    for _ in range(6):
        data = bytearray(whole)
        for _ in range(40):
            at = chance.randrange(100, len(data))
            data[at] = chance.randrange(256)
        register.write_bytes(data[: chance.choice((len(data), len(data) // 2, 5000))])
        for action in _ACTIONS:
            status = main(["register", *action])
            told = capsys.readouterr()
            assert status in (0, 1, 2)
            assert (status == 2) == bool(told.err)
            shown = told.err if action == ["export"] else told.out + told.err  # an export is data as it stands
            assert all(line.isprintable() for line in shown.splitlines()), action
