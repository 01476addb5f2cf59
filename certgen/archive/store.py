"""Writing files so that they appear whole or not at all, and an issued certificate stays as it is."""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path

from certgen.errors import AlreadyIssued, CertgenError


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that readers see either as it was or complete.

    Raises
    ------
    CertgenError
        The folder is missing, not writable or full.
    """
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".writing-", delete=False) as partial:
            name = Path(partial.name)
            try:
                partial.write(data)
                partial.flush()
                os.fsync(partial.fileno())
                name.chmod(0o644)
                name.replace(path)
            except BaseException:
                name.unlink(missing_ok=True)
                raise
    except OSError as cause:
        raise CertgenError(
            f"{path}: the file cannot be written ({cause.strerror}); name a folder that exists and may be written to."
        ) from cause


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
    if not path.exists():
        waiting = path.with_name(f".issuing-{os.getpid()}-{path.name}")
        write_whole(waiting, data)
        try:
            os.link(waiting, path)
            return True
        except FileExistsError:
            pass
        except OSError:
            # A file system without links: the exclusive open still refuses a taken name.
            return _write_exclusive(path, data)
        finally:
            waiting.unlink(missing_ok=True)
    if path.is_file() and path.read_bytes() == data:
        return False
    raise AlreadyIssued(
        f"{path}: a certificate of this name exists and differs, and an issued certificate is never overwritten; "
        "give the new one a number of its own, or write it elsewhere with --out."
    )


def _write_exclusive(path: Path, data: bytes) -> bool:
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError as cause:
        raise AlreadyIssued(
            f"{path}: a certificate of this name exists; give the new one a number of its own."
        ) from cause
    except OSError as cause:
        path.unlink(missing_ok=True)
        raise CertgenError(
            f"{path}: the file cannot be written ({cause.strerror}); free some room or name another folder."
        ) from cause
    return True


def file_name(number: str) -> str:
    """A certificate's number as the name of its PDF: letters, digits, dot, dash and underscore; others become '-'."""
    plain = re.sub(r"[^\w.-]+", "-", number, flags=re.UNICODE).strip("-.")
    return f"{plain or 'certificate'}.pdf"
