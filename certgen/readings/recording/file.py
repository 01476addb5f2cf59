"""The readings file while it grows: each line on the disk before the next, so that a power cut takes the last at most."""

from __future__ import annotations

import contextlib
import csv
import io
import os
from collections.abc import Sequence
from pathlib import Path

from certgen.errors import CertgenError, visible

COMMENT = "#"
#: How the name of a readings file may end, so that it is read with commas between.
ENDINGS = (".csv", ".txt")
_LONGEST_COMMENT = 300


class RecordingFailed(CertgenError):
    """The file cannot be written."""


class RecordFile:
    """A file that is only ever added to, whole lines at a time, by one recorder at a time."""

    def __init__(self, path: Path, descriptor: int) -> None:
        self.path = path
        self._descriptor = descriptor
        self.size = os.fstat(descriptor).st_size

    def add(self, lines: Sequence[str], *, safe: str = "") -> None:
        """Write lines and wait until they are on the disk; ``safe`` says how much was before them.

        Raises
        ------
        RecordingFailed
            The disk is full or gone; what of these lines was written is taken back where that is possible.
        """
        data = "".join(f"{line}\n" for line in lines).encode()
        try:
            written = 0
            while written < len(data):
                written += os.write(self._descriptor, data[written:])
            sync(self._descriptor)
        except OSError as cause:
            with contextlib.suppress(OSError):
                os.ftruncate(self._descriptor, self.size)
            raise RecordingFailed(
                f"{self.path}: the recording stops, the file cannot be written ({cause.strerror}); "
                f"{safe or 'nothing was recorded yet'}. Make room and go on with --append."
            ) from cause
        self.size += len(data)

    def close(self) -> None:
        """Let go of the file."""
        os.close(self._descriptor)


def sync(descriptor: int) -> None:
    """Wait until what was written to a file is on the disk, as far as the system can tell."""
    try:
        import fcntl

        full = getattr(fcntl, "F_FULLFSYNC", None)
        if full is not None:  # macOS: a plain sync leaves the data in the cache of the drive
            fcntl.fcntl(descriptor, full)
            return
    except (ImportError, OSError):
        pass
    getattr(os, "fdatasync", os.fsync)(descriptor)


def open_new(path: Path) -> RecordFile:
    """A file that did not exist.

    Raises
    ------
    RecordingFailed
        It exists, or its folder cannot be written to.
    """
    try:
        descriptor = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY | os.O_APPEND, 0o644)
        _sync_folder(path.parent)
    except FileExistsError:
        raise RecordingFailed(
            f"{path}: a file of this name exists, and a recording is never overwritten; "
            "give another name with --out, or go on in it with --append."
        ) from None
    except OSError as cause:
        raise _cannot(path, cause) from cause
    return _alone(path, descriptor)


def open_existing(path: Path) -> tuple[RecordFile, bytes]:
    """An existing file to go on in, brought to the end of its last whole line; and what was cut off after that.

    Raises
    ------
    RecordingFailed
        There is no such file, it cannot be written to, or another recorder writes to it.
    """
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND)
    except FileNotFoundError:
        raise RecordingFailed(f"{path}: there is no such file to go on in; leave out --append.") from None
    except OSError as cause:
        raise _cannot(path, cause) from cause
    file = _alone(path, descriptor)
    torn = torn_end(path.read_bytes())
    if torn:
        os.ftruncate(descriptor, file.size - len(torn))
        sync(descriptor)
        file.size -= len(torn)
    return file, torn


def torn_end(data: bytes) -> bytes:
    """What stands behind the last whole line: a line cut short, or the zeros some file systems leave."""
    whole = data.rstrip(b"\0")
    return data[whole.rfind(b"\n") + 1 :]


def _alone(path: Path, descriptor: int) -> RecordFile:
    """The file, unless another recorder has it."""
    try:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except ImportError:
        pass
    except BlockingIOError:
        os.close(descriptor)
        what = "another recorder is writing to this file; stop it, or name another file with --out."
        raise RecordingFailed(f"{path}: {what}") from None
    except OSError:
        pass  # a file system without locks
    return RecordFile(path, descriptor)


def _cannot(path: Path, cause: OSError) -> RecordingFailed:
    reason = cause.strerror or str(cause)
    return RecordingFailed(f"{path}: the file cannot be written ({reason}); name a folder that may be written to.")


def _sync_folder(folder: Path) -> None:
    """Make the name of a new file last too."""
    with contextlib.suppress(OSError):  # not every system opens folders
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def comment_line(text: str) -> str:
    """A comment of the file on one line, signs that cannot be seen as escapes."""
    return f"{COMMENT} {visible(text)[:_LONGEST_COMMENT]}"


def raw_comment(reason: str, data: bytes) -> str:
    """A comment that keeps a line of the logger's that could not be read."""
    return comment_line(f"{reason}: {data.decode('utf-8', errors='backslashreplace')}")


def cells_line(cells: Sequence[str]) -> str:
    """Cells with commas between, in quotes where they need them."""
    written = io.StringIO()
    csv.writer(written, lineterminator="").writerow(cells)
    return written.getvalue()
