"""What docs/security.md promises is tried by the tests it names, and each of them is there."""

from __future__ import annotations

import re

import pytest
from handbook_pages import DOCS, ROOT

PAGE = (DOCS / "security.md").read_text(encoding="utf-8")
ROWS = [
    tuple(cell.strip() for cell in line.strip("|").split("|"))
    for line in PAGE.splitlines()
    if line.startswith("| ") and not line.startswith("| promised")
]


@pytest.mark.parametrize(("promise", "tried_by"), ROWS)
def test_every_promise_names_what_tries_to_break_it(promise: str, tried_by: str) -> None:
    named = re.findall(r"`(tests/[\w/]+\.py)`", tried_by)
    assert named, promise
    for path in named:
        text = (ROOT / path).read_text(encoding="utf-8")
        assert re.search(r"^def (test_\w+|main)\(", text, re.MULTILINE), path


def test_it_says_for_whom_each_promise_is_and_what_is_not_promised() -> None:
    assert len(ROWS) >= 12
    for part in re.split(r"^## ", PAGE, flags=re.MULTILINE)[1:4]:
        assert re.search(r"\*\*Not promised[.:]\*\*", part), part.splitlines()[0]


def test_no_address_is_invented() -> None:
    """Reports go where the program came from; who passes it on may have a place of their own."""
    assert not re.search(r"https?://|\w@\w", PAGE)


def test_every_connection_the_program_can_open_is_named() -> None:
    """By the modules that can open one, and the option that asks for it."""
    opening = re.compile(
        r"^\s*(?:import|from) (urllib\.request|http\.client|socket|requests|distributed)\b", re.MULTILINE
    )
    known = {"archive/signing.py": "--timestamp", "issuing/workers.py": "--cluster"}
    found = {
        path.relative_to(ROOT / "certgen").as_posix()
        for path in (ROOT / "certgen").rglob("*.py")
        if opening.search(path.read_text(encoding="utf-8"))
    }
    assert found <= known.keys()
    for option in known.values():
        assert f"`{option}`" in PAGE
