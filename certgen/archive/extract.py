"""Enclosed files laid out as the folder tree they came from."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from certgen.archive.safe_names import clashing, unsafe
from certgen.archive.store import write_once
from certgen.errors import CertgenError


def extract(files: Mapping[str, bytes], folder: Path) -> list[Path]:
    """Write every file below a folder, which is made where it is missing; return the paths.

    All names are looked at before the first file is written, and a file that is there stays as it is.

    Raises
    ------
    CertgenError
        A name is not safe, a file of that name exists, or the folder cannot be written to.
    """
    for name in files:
        if reason := unsafe(name):
            raise CertgenError(f"'{ascii(name[:80])[1:-1]}' is not laid out, nor is any other file: {reason}.")
    if clash := clashing(files):
        raise CertgenError(f"'{clash[0]}' is not laid out, nor is any other file: another has the same name or folder.")
    targets = {name: folder / name for name in files}
    for target in targets.values():
        if target.exists() or target.is_symlink():
            raise CertgenError(f"{target}: this file exists, and nothing is overwritten; name another folder.")
    for name, target in targets.items():
        _made(target.parent, folder)
        if not write_once(target, files[name]):
            raise CertgenError(f"{target}: this file appeared meanwhile, and nothing is overwritten.")
    return list(targets.values())


def _made(parent: Path, folder: Path) -> None:
    """The folder of a file; a link that leads out of the tree is refused."""
    try:
        parent.mkdir(parents=True, exist_ok=True)
        inside = parent.resolve().is_relative_to(folder.resolve())
    except OSError as cause:
        raise CertgenError(f"{parent}: the folder cannot be made ({cause.strerror or cause}).") from cause
    if not inside:
        raise CertgenError(f"{parent}: this link leads out of {folder}; name another folder.")
