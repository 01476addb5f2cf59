"""What travels inside a page: every file the results were made from, the results, and the list of both.

Names keep the files' places relative to each other, from the folder above the job's own down, so that the tree runs
again wherever it is laid out.
"""

from __future__ import annotations

import posixpath
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import PurePath

from certgen.archive.contents import CONTENTS, RESULTS, Contents, as_json
from certgen.archive.safe_names import MOST_BYTES, MOST_FILES, unsafe
from certgen.assessment.results import Results
from certgen.digest import digest
from certgen.document.references import shown_name
from certgen.errors import CertgenError
from certgen.job.load import LoadedJob
from certgen.sheet.container import DATA, SOURCE, SUPPLEMENT, Enclosure

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
    ".svg": "image/svg+xml",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".ods": "application/vnd.oasis.opendocument.spreadsheet",
}
_UNKNOWN = "application/octet-stream"


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
        The same for layout and logo that the job names, where they are the shop's own.
    """

    job: str
    folder: str
    files: Mapping[str, bytes]
    layout: Mapping[str, bytes]


def inputs_of(loaded: LoadedJob, files: Mapping[str, bytes], layout: str | None) -> Inputs:
    """What a page is made from: the files its results come from, and layout and logo where the job names its own.

    ``layout`` is the layout that stands in place of the job's own, if any.
    """
    sheet, read = loaded.job.sheet, loaded.reader.problems.read
    own = layout is None and sheet.layout.endswith((".yaml", ".yml"))
    logo = None if sheet.logo is None else shown_name(loaded.reader, sheet.logo)
    more = {name: data for name, data in read.items() if name not in files and (own or name == logo)}
    return Inputs(loaded.reader.shown, loaded.folder.resolve().name, files, more)


def enclosures(results: Results, results_json: bytes, inputs: Inputs, sheet: Mapping[str, str]) -> list[Enclosure]:
    """The files to enclose in the page of these results; ``sheet`` is how the page was asked for.

    Raises
    ------
    CertgenError
        A file reference leaves the folder above the job's own on its way, or the files are too large together.
    """
    files = [
        *_named(inputs, inputs.files, SOURCE, "The page was made from this file."),
        *_named(inputs, inputs.layout, SUPPLEMENT, "Layout or logo of the page."),
        Enclosure(RESULTS, results_json, _media_type(RESULTS), DATA, "All results, in SI units."),
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
    )
    about = "What this certificate encloses, with the SHA-256 of each file."
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
