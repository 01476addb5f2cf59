"""An archive folder, and entries to put into it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from certgen.archive.register.database import open_register
from certgen.archive.register.entry import Entry

MakeEntry = Callable[..., Entry]

_PLAIN = {
    "revision": 1, "reason": "", "tested_on": "2026-03-14", "tested_by": "D. Quill", "issued_to": "Harrow Lane Joinery",
    "motor_type": "three-phase induction", "maker": "Ostler & Wray", "model": "OW 90", "serial": "77-120",
    "description": "from an infeed conveyor", "verdict": "pass", "voltage": 400.0, "power": 1500.0, "torque": 10.1,
    "speed": 148.7, "current": 3.4, "efficiency": 0.79,
}  # fmt: skip


def entry(number: str, **other: object) -> Entry:
    source = f"{number} {other.get('revision', 1)}"
    kept = {**_PLAIN, "source_sha256": source, **other}
    return Entry(number=number, **kept)  # type: ignore[arg-type]


@pytest.fixture
def make_entry() -> MakeEntry:
    return entry


@pytest.fixture
def register(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_register(tmp_path, make=True)) as connection:
        yield connection
