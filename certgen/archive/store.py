"""Writing files so that they appear whole or not at all, and an issued certificate stays as it is."""

from __future__ import annotations

import io
import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from certgen.errors import AlreadyIssued, CertgenError, visible

#: Beginning of the passing names of files that are being written.
WRITING = ".writing-"


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that readers see either as it was or complete.

    Raises
    ------
    CertgenError
        The folder is missing, not writable or full, or a device, a pipe or a folder has the name.
    """
    with failure_reported(path):
        if path.exists() and not path.is_file():
            raise CertgenError(f"{path}: this is not an ordinary file and is left as it is; name another.")
        with _written(path.parent, data) as complete:
            complete.replace(path)


def issue_once(path: Path, data: bytes) -> bool:
    """Write an issued certificate; return whether it is new.

    The same certificate again is left in place. The new file is linked into its name, which fails if the name
    is taken, so two issuers at once cannot overwrite each other.

    Raises
    ------
    AlreadyIssued
        A file of that name exists and is not the same.
    CertgenError
        The folder is missing, not writable or full.
    """
    if write_once(path, data):
        return True
    with failure_reported(path):
        if path.is_file() and path.read_bytes() == data:
            return False
    raise AlreadyIssued(
        f"{path}: a file of this name exists and is not this certificate, and an issued certificate is never "
        "overwritten; give the new one a number of its own, or write it elsewhere with --out."
    )


def write_once(path: Path, data: bytes, *, secret: bool = False) -> bool:
    """Write a file unless its name is taken; return whether it was free. A secret one is for its owner's eyes.

    Raises
    ------
    CertgenError
        The folder is missing, not writable or full.
    """
    with failure_reported(path):
        if os.path.lexists(path):
            return False
        with _written(path.parent, data, mode=0o600 if secret else 0o644) as complete:
            return take_name(complete, path)


@contextmanager
def failure_reported(path: Path) -> Iterator[None]:
    """What the system reports when a file cannot be written, in a sentence that names it."""
    try:
        os.fsencode(path)
        yield
    except UnicodeEncodeError as cause:
        raise CertgenError(
            f"{path}: this name cannot be written in the character set of this system ({cause.encoding}); "
            "set a language with UTF-8, for example LC_ALL=C.UTF-8."
        ) from cause
    except OSError as cause:
        reason = cause.strerror or str(cause)
        raise CertgenError(
            f"{visible(str(path))}: the file cannot be written ({reason}); "
            "name a folder that exists, may be written to and has room."
        ) from cause


@contextmanager
def _written(folder: Path, data: bytes, mode: int = 0o644) -> Iterator[Path]:
    """A complete file in the folder under a passing name, which is gone afterwards whatever happens."""
    with tempfile.NamedTemporaryFile(dir=folder, prefix=WRITING, delete=False) as file:
        passing = Path(file.name)
        try:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            passing.unlink(missing_ok=True)
            raise
    try:
        passing.chmod(mode)
        yield passing
    finally:
        passing.unlink(missing_ok=True)


def take_name(complete: Path, path: Path) -> bool:
    """Give a complete file its name unless the name is taken; return whether it was free."""
    try:
        os.link(complete, path)
        return True
    except FileExistsError:
        return False
    except OSError:
        return _named_without_links(complete, path)


def _named_without_links(complete: Path, path: Path) -> bool:
    """The same on a file system without links: an empty file takes the name, then the complete one its place."""
    try:
        path.open("xb").close()
    except FileExistsError:
        return False
    try:
        complete.replace(path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return True


def flush_folder(folder: Path) -> None:
    """Let the names in a folder survive a power cut, where the system can flush a folder."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def file_name(number: str, ending: str = ".pdf") -> str:
    """A certificate's number as a file's name: letters, digits, dot, dash and underscore; others become '-'."""
    plain = re.sub(r"[^\w.-]+", "-", number, flags=re.UNICODE).strip("-.")
    return f"{plain or 'certificate'}{ending}"


# Sheets that may be drawn again in their place, as tags and summaries may; nothing else is ever overwritten.


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
