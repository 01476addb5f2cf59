"""Which names may be laid out as files."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.archive.enclosures import clashing, unsafe


@pytest.mark.parametrize("name", ["job.yaml", "motor 1/job.yaml", "a/b/c.csv", "Prüfung/Ω.csv", "..hidden", "a..b"])
def test_plain_names_are_safe(name: str) -> None:
    assert unsafe(name) == ""


@pytest.mark.parametrize(
    "name",
    ["", "/etc/passwd", "../job.yaml", "a/../../b", "a/./b", "a//b", "a/", "~/x", "..", "a\\b", "a\0b", "a\nb",
     "\u202egpj.exe", "x" * 501, "y" * 201, "ü" * 101],
)  # fmt: skip
def test_others_are_not(name: str) -> None:
    assert unsafe(name)


@given(st.text(max_size=60))
def test_a_safe_name_stays_below_its_folder(name: str) -> None:
    from pathlib import PurePosixPath

    if not unsafe(name):
        path = PurePosixPath("tree") / name
        assert ".." not in path.parts
        assert path.parts[0] == "tree"
        assert len(path.parts) > 1


@pytest.mark.parametrize(
    ("names", "clash"),
    [
        (["a", "b"], []),
        (["a/x", "a/y"], []),
        (["Rig.yaml", "rig.yaml"], ["rig.yaml"]),
        (["a", "a/b"], ["a/b"]),
        (["a/b", "a"], ["a"]),
        (["x", "x"], ["x"]),
    ],
)
def test_names_that_cannot_stand_side_by_side(names: list[str], clash: list[str]) -> None:
    assert clashing(names) == clash
