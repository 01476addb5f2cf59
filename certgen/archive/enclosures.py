"""What travels inside a page: every file the results were made from, the results, and the list of both.

Names keep the files' places relative to each other, from the folder above the job's own down, so that the tree runs
again wherever it is laid out.
"""

from __future__ import annotations

import json
import os
import posixpath
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path, PurePath
from typing import Any

from certgen.archive.store import write_once
from certgen.document.build import FileReference
from certgen.document.references import shown_name
from certgen.document.source import digest
from certgen.errors import CertgenError
from certgen.job.load import LoadedJob
from certgen.messages.catalogue import Message
from certgen.results.model import Results
from certgen.sheet.pdf.container import DATA, SOURCE, SUPPLEMENT, Enclosure
from certgen.sheet.pdf.metadata import libraries

# The list of what travels inside a certificate: ``contents.json``, itself enclosed.


FORMAT = "certgen certificate, contents 1"

#: Names of the two files that the program itself puts at the top of the tree.
CONTENTS, RESULTS = "contents.json", "results.json"


@dataclass(frozen=True)
class Contents:
    """What is inside, and how the page was asked for.

    Attributes
    ----------
    job : str
        Name of the job file in the tree of enclosed files.
    sheet : mapping
        Layout, paper and units of the page.
    files : mapping
        Name of each enclosed file but this list -> its SHA-256, 64 hexadecimal digits.
    libraries : mapping
        Name of each library that computed or drew -> its version; empty in certificates that did not say.
    """

    number: str
    verdict: str
    program: str
    version: str
    job: str
    sheet: Mapping[str, str]
    files: Mapping[str, str]
    libraries: Mapping[str, str] = field(default_factory=dict)


def as_json(contents: Contents) -> bytes:
    """The list as JSON."""
    return (json.dumps({"format": FORMAT, **asdict(contents)}, ensure_ascii=False, indent=1) + "\n").encode()


def read_contents(data: bytes) -> Contents | None:
    """The list back from JSON, or ``None`` where it is not one."""
    try:
        tree = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(tree, dict) or tree.pop("format", None) != FORMAT:
        return None
    try:
        contents = Contents(**tree)
    except TypeError:
        return None
    return contents if _well_formed(contents) else None


def _well_formed(contents: Contents) -> bool:
    texts = (contents.number, contents.verdict, contents.program, contents.version, contents.job)
    tables: tuple[Any, ...] = (contents.sheet, contents.files, contents.libraries)
    if not all(isinstance(text, str) for text in texts) or not all(isinstance(table, dict) for table in tables):
        return False
    return all(isinstance(part, str) for table in tables for item in table.items() for part in item)


# Names of enclosed files that may be laid out as a folder tree without harm, and how much may be enclosed.


#: Bounds on what one certificate encloses: files, and their bytes together.
MOST_FILES = 200
MOST_BYTES = 256_000_000

_MOST_NAME = 500
_MOST_PART = 200  # of one folder or file name; file systems allow 255 bytes
_DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
_ON_WINDOWS = os.name == "nt"
_NOT_IN_NAMES = set('\\:*?"<>|') if _ON_WINDOWS else {"\\"}


def unsafe(name: str) -> str:
    """Why a name is not safe, or nothing where it is.

    Safe is a relative name of plain parts joined by '/': no way up, no root, no drive, no sign or name that the
    system at hand treats in a way of its own.
    """
    if not name or len(name) > _MOST_NAME or not name.isprintable():
        return "it is empty, too long or holds characters that cannot be printed"
    if name.startswith(("/", "~")) or _NOT_IN_NAMES & set(name):
        return "it is absolute, or holds a character that is no part of a plain name"
    if any(_bad_part(part) for part in name.split("/")):
        return "a part of it is no plain name"
    return ""


def _bad_part(part: str) -> bool:
    if part in ("", ".", "..") or len(part.encode()) > _MOST_PART:
        return True
    return _ON_WINDOWS and (part[-1] in ". " or _DEVICE.fullmatch(part) is not None)


def clashing(names: Iterable[str]) -> list[str]:
    """Names that are the same where capitals do not count, or stand where another needs a folder."""
    seen: set[str] = set()
    folders: set[str] = set()
    found = []
    for name in names:
        plain = name.casefold()
        above = {plain[:at] for at, sign in enumerate(plain) if sign == "/"}
        if plain in seen or plain in folders or above & seen:
            found.append(name)
        seen.add(plain)
        folders |= above
    return found


# What travels inside a page: every file the results were made from, the results, and the list of both.
#
# Names keep the files' places relative to each other, from the folder above the job's own down, so that the tree runs
# again wherever it is laid out.


#: Media types by ending. Sources: RFC 9512 (YAML), RFC 7111 (CSV), RFC 8259 (JSON), RFC 2046 (plain text); the IANA
#: registry of media types for the others. What is not known is application/octet-stream (ISO 19005-3, 6.8).
_MEDIA_TYPES = {
    ".yaml": "application/yaml",
    ".yml": "application/yaml",
    ".csv": "text/csv",
    ".json": "application/json",
    ".txt": "text/plain",
    ".log": "text/plain",
    ".tsv": "text/tab-separated-values",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".svg": "image/svg+xml",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".ods": "application/vnd.oasis.opendocument.spreadsheet",
}
_UNKNOWN = "application/octet-stream"
_YAML = (".yaml", ".yml")


@dataclass(frozen=True)
class Inputs:
    """The files one job was made from, as they were read.

    Attributes
    ----------
    job : str
        The job file, as it was called.
    folder : str
        The name of the folder it stands in.
    files : mapping
        How each file was called, seen from where the job was -> its bytes.
    layout : mapping
        The same for layout, language and logo, where they are the shop's own; its fonts do not travel.
    """

    job: str
    folder: str
    files: Mapping[str, bytes]
    layout: Mapping[str, bytes]


def inputs_of(loaded: LoadedJob, files: Mapping[str, bytes], layout: str | None) -> Inputs:
    """What a page is made from: the files its results come from; layout, language and logo that are the shop's own.

    ``layout`` is the layout that stands in place of the job's own, if any.
    """
    sheet, read = loaded.job.sheet, loaded.reader.problems.read
    own = layout is None and sheet.layout.endswith(_YAML)
    logo = None if sheet.logo is None else shown_name(loaded.reader, sheet.logo)
    language = (
        shown_name(loaded.reader, FileReference(sheet.language, (1, 1))) if sheet.language.endswith(_YAML) else None
    )
    named = {logo, language}
    more = {name: data for name, data in read.items() if name not in files and (own or name in named)}
    return Inputs(loaded.reader.shown, loaded.folder.resolve().name, files, more)


def enclosures(results: Results, results_json: bytes, inputs: Inputs, sheet: Mapping[str, str]) -> list[Enclosure]:
    """The files to enclose in the page of these results; ``sheet`` is how the page was asked for.

    Raises
    ------
    CertgenError
        A file reference leaves the folder above the job's own on its way, or the files are too large together.
    """
    files = [
        *_named(inputs, inputs.files, SOURCE, str(Message("document.enclosed.input"))),
        *_named(inputs, inputs.layout, SUPPLEMENT, str(Message("document.enclosed.layout"))),
        Enclosure(RESULTS, results_json, _media_type(RESULTS), DATA, str(Message("document.enclosed.results"))),
    ]
    _require_traced(results, inputs.files)
    made = results.traceability
    contents = Contents(
        number=results.certificate.number or "",
        verdict=results.verdict.outcome,
        program=made.program,
        version=made.version,
        job=_name(inputs, inputs.job),
        sheet=sheet,
        files={one.name: digest(one.data) for one in files},
        libraries=libraries(),
    )
    about = str(Message("document.enclosed.contents"))
    files.append(Enclosure(CONTENTS, as_json(contents), _media_type(CONTENTS), SUPPLEMENT, about))
    _require_room(files)
    return files


def _named(inputs: Inputs, files: Mapping[str, bytes], relationship: str, description: str) -> Iterable[Enclosure]:
    for called, data in files.items():
        name = _name(inputs, called)
        yield Enclosure(name, data, _media_type(name), relationship, description)


def _name(inputs: Inputs, called: str) -> str:
    """The place of a file in the tree that begins above the job's folder."""
    job = PurePath(inputs.job).as_posix()
    seen = posixpath.relpath(PurePath(called).as_posix(), posixpath.dirname(job) or ".")
    name = posixpath.normpath(posixpath.join(inputs.folder or "job", seen))
    if unsafe(name) or name in (CONTENTS, RESULTS):
        raise CertgenError(
            f"{called}: the certificate carries the files it is made from, and this name cannot be kept in it; give the "
            "file a plain name and the shortest way from the file that names it, for example '../rigs/arm_brake.yaml'."
        )
    return name


def _media_type(name: str) -> str:
    return _MEDIA_TYPES.get(posixpath.splitext(name)[1].lower(), _UNKNOWN)


def _require_traced(results: Results, files: Mapping[str, bytes]) -> None:
    """Every file the results are traced to must be at hand."""
    absent = set(results.traceability.inputs.values()) - {digest(data) for data in files.values()}
    if absent:
        raise AssertionError(f"files of the traceability were not kept while reading: {sorted(absent)}")


def _require_room(files: list[Enclosure]) -> None:
    size = sum(len(one.data) for one in files)
    if size > MOST_BYTES or len(files) > MOST_FILES:
        raise CertgenError(
            f"the files of this job are too large to travel in its certificate ({size // 1_000_000} MB in {len(files)} "
            f"files, at most {MOST_BYTES // 1_000_000} MB in {MOST_FILES}); shorten the logs to the test itself."
        )


# Enclosed files laid out as the folder tree they came from.


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
