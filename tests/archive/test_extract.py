"""Enclosed files onto the disk: byte for byte, inside, and over nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from certgen.archive.enclosures import extract
from certgen.errors import CertgenError

FILES = {"motor/job.yaml": b"a", "rigs/arm.yaml": b"b\r\n\0", "results.json": b""}


def test_the_tree_comes_back_byte_for_byte(tmp_path: Path) -> None:
    written = extract(FILES, tmp_path / "new" / "tree")
    assert sorted(written) == sorted((tmp_path / "new" / "tree").rglob("*.*"))
    assert {str(path.relative_to(tmp_path / "new" / "tree")): path.read_bytes() for path in written} == FILES


@pytest.mark.parametrize("name", ["../x", "/x", "a/../../x", "a\\..\\x", "a\0"])
def test_an_unsafe_name_stops_everything(tmp_path: Path, name: str) -> None:
    with pytest.raises(CertgenError, match="nor is any other file"):
        extract({**FILES, name: b""}, tmp_path / "tree")
    assert list(tmp_path.rglob("*")) == []


def test_names_that_clash_stop_everything(tmp_path: Path) -> None:
    with pytest.raises(CertgenError, match="same name or folder"):
        extract({**FILES, "Motor/JOB.yaml": b""}, tmp_path / "tree")
    assert list(tmp_path.rglob("*")) == []


def test_a_file_that_is_there_stays(tmp_path: Path) -> None:
    (tmp_path / "rigs").mkdir()
    (tmp_path / "rigs" / "arm.yaml").write_bytes(b"mine")
    with pytest.raises(CertgenError, match="nothing is overwritten"):
        extract(FILES, tmp_path)
    assert (tmp_path / "rigs" / "arm.yaml").read_bytes() == b"mine"
    assert not (tmp_path / "motor").exists()


def test_a_link_in_the_way_leads_nowhere(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    tree = tmp_path / "tree"
    tree.mkdir()
    (tree / "rigs").symlink_to(outside)
    with pytest.raises(CertgenError, match="leads out"):
        extract(FILES, tree)
    (tree / "results.json").symlink_to(outside / "target")
    with pytest.raises(CertgenError, match="nothing is overwritten"):
        extract({"results.json": b"x"}, tree)
    assert list(outside.iterdir()) == []


def test_a_file_where_a_folder_should_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "motor").write_bytes(b"")
    with pytest.raises(CertgenError, match="motor"):
        extract(FILES, tmp_path)
