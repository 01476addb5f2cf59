"""File references kept within the folder above the job's own."""

from __future__ import annotations

import errno
from pathlib import Path, PurePosixPath, PureWindowsPath

from certgen.document.build import FileReference, Reader
from certgen.document.wording import short


def resolve(reference: FileReference, reader: Reader, job_folder: Path, path: str) -> Path | None:
    """The file a reference means, or ``None`` with the mistake kept.

    A reference is relative to the file that names it. Absolute names and names that lead out of the folder above
    the job's own, whether by ``..`` or by a link, are refused.
    """

    nearby = "name a file in the job's folder or beside it, for example '../rigs/arm_brake.yaml'"

    def refuse(what: str, instead: str = nearby) -> None:
        reader.problems.add(reader.shown, reference.place, f"{path}: '{short(name)}' {what}", instead)

    name = reference.name
    if not name.isprintable() or len(name) > 500:
        refuse("is no file name")
        return None
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive or name.startswith(("~", "\\")):
        refuse("is an absolute name")
        return None
    if "\\" in name:
        refuse("holds a backslash", "write '/' between folders; it is understood everywhere")
        return None
    try:
        fence = job_folder.resolve().parent
        target = (reader.folder / name).resolve()
        circles = _leads_in_circles(target)
    except (OSError, RuntimeError):
        circles = True
    if circles:
        refuse("leads in circles")
        return None
    if not target.is_relative_to(fence):
        refuse("leads out of the folder above the job's own")
        return None
    return target


def find(reference: FileReference, reader: Reader, job_folder: Path, path: str) -> Path | None:
    """As :func:`resolve`, and a name without a file is a mistake where it was written."""
    target = resolve(reference, reader, job_folder, path)
    if target is None or not _missing(target):
        return target
    what = f"{path}: '{short(reference.name)}' does not exist"
    reader.problems.add(reader.shown, reference.place, what, "write the name as seen from the folder of this file")
    return None


def _leads_in_circles(target: Path) -> bool:
    """Whether a link of the name leads to itself; from Python 3.13 on, ``resolve`` leaves such a link as it is."""
    try:
        target.stat()
    except OSError as cause:
        return cause.errno == errno.ELOOP
    return False


def _missing(target: Path) -> bool:
    """Whether it is certain that there is no such file; what else hinders is reported when it is read."""
    try:
        return not target.exists()
    except OSError:
        return False


def shown_name(reader: Reader, reference: FileReference) -> str:
    """How a referenced file is called in messages: as written, seen from where the job was named."""
    folder = PurePosixPath(reader.shown).parent
    parts: list[str] = []
    for part in (folder / reference.name).parts:
        if part == ".." and parts and parts[-1] not in ("..", "/"):
            parts.pop()
        else:
            parts.append(part)
    return str(PurePosixPath(*parts)) if parts else reference.name
