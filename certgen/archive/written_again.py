"""Sheets that may be drawn again in their place, as tags and summaries may; nothing else is ever overwritten."""

from __future__ import annotations

import io
from pathlib import Path

from certgen.errors import AlreadyIssued, CertgenError

#: Largest file looked into.
_MOST_BYTES = 50_000_000


def write_again(path: Path, document: bytes, *, title: str) -> bool:
    """Write a sheet unless it is there already; a sheet of the same title is replaced. Returns whether it changed.

    Raises
    ------
    AlreadyIssued
        A file of another title, or no sheet at all, stands in its place.
    CertgenError
        The folder is missing, not writable or full.
    """
    from certgen.archive.store import write_whole

    if path.exists():
        before = _read(path)
        if before == document:
            return False
        if _title(before) != title:
            raise AlreadyIssued(
                f"{path}: a file of this name exists and is not '{title}' drawn before, so it is left as it is; write "
                "elsewhere with --out."
            )
    write_whole(path, document)
    return True


def _read(path: Path) -> bytes:
    try:
        if not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return b""
        return path.read_bytes()
    except OSError as cause:
        raise CertgenError(
            f"{path}: cannot be read ({cause.strerror or cause}); write elsewhere with --out."
        ) from cause


def _title(document: bytes) -> str:
    """What a PDF calls itself; empty where it is none."""
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    try:
        information = PdfReader(io.BytesIO(document)).metadata
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return ""
    return (information.title or "") if information is not None else ""
