"""The six rooms in order: job, readings, reduction, assessment, sheet, archive."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.assessment.assess import assess
from certgen.assessment.results import Results
from certgen.document.build import FileReference, Reader, nearest
from certgen.document.references import resolve, shown_name
from certgen.document.source import Problems, decode, read_bounded
from certgen.errors import InputError
from certgen.job.load import LoadedJob, digest, load_job
from certgen.readings.read import read_readings
from certgen.reduction.reduce import reduce_test
from certgen.standards.criteria import DEFAULT, SHIPPED, CriteriaSet, read_criteria, shipped_criteria

if TYPE_CHECKING:
    from certgen.sheet.layout import Layout


@dataclass(frozen=True)
class Assessed:
    """One job brought up to its verdict."""

    loaded: LoadedJob
    results: Results


@dataclass(frozen=True)
class SheetOptions:
    """What the command line says of the sheet; ``None`` leaves the job's own choice."""

    layout: str | None = None
    paper: str | None = None
    units: str | None = None


@dataclass(frozen=True)
class Issued:
    """One certificate written."""

    results: Results
    path: Path
    new: bool
    left_out: tuple[str, ...]  # titles of blocks the page had no room for


def assess_job(path: Path) -> Assessed:
    """Read, reduce and judge one job.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, its readings and its criteria.
    RefusedTest
        The readings as a whole are physically impossible.
    """
    problems = Problems()
    loaded = load_job(path, problems)
    readings = None if loaded is None else read_readings(loaded)
    found = None if loaded is None else _criteria(loaded)
    if problems.found:
        raise InputError(problems.found)
    if loaded is None or readings is None or found is None:
        raise AssertionError(f"{path}: unusable, yet no mistake was kept")
    criteria, criteria_digest = found
    reduction = reduce_test(loaded.job, loaded.rig, readings)
    results = assess(
        loaded.job,
        loaded.rig,
        readings,
        reduction,
        criteria=criteria,
        not_evaluated=loaded.not_evaluated,
        inputs={**loaded.inputs, **readings.inputs, **criteria_digest},
    )
    return Assessed(loaded, results)


def _criteria(loaded: LoadedJob) -> tuple[CriteriaSet, dict[str, str]] | None:
    name = loaded.job.criteria or DEFAULT
    if name in SHIPPED:
        return shipped_criteria(name), {}
    data = _named_file(name, "criteria", SHIPPED, loaded)
    if data is None:
        return None
    reader, raw = data
    text = decode(raw, reader.shown, reader.problems)
    criteria = None if text is None else read_criteria(text, reader)
    return None if criteria is None else (criteria, {name: digest(raw)})


def _named_file(name: str, key: str, known: Iterable[str], loaded: LoadedJob) -> tuple[Reader, bytes] | None:
    """A file of the shop's own that stands where a known name could; mistakes are kept."""
    reader = loaded.reader
    place = reader.places.get(key, (1, 1))
    if not name.endswith((".yaml", ".yml")):
        instead = f"{nearest(name, known)}, or name a file ending in .yaml"
        reader.problems.add(reader.shown, place, f"{key}: '{name[:40]}' is not known", instead)
        return None
    reference = FileReference(name, place)
    path = resolve(reference, reader, loaded.folder, key)
    if path is None:
        return None
    shown = shown_name(reader, reference)
    data = read_bounded(path, shown, reader.problems)
    return None if data is None else (Reader(shown, path.parent, reader.problems), data)


def issue_job(path: Path, *, out: Path | None, results_path: Path | None, options: SheetOptions) -> Issued:
    """Bring one job to its verdict, draw the page and write it.

    Parameters
    ----------
    path : Path
        The job file.
    out : Path or None
        The PDF, or a folder for it; the current folder where it is left out.
    results_path : Path or None
        Where results.json is written, if anywhere.
    options : SheetOptions
        What overrides the job's own choice of sheet.

    Raises
    ------
    InputError, RefusedTest, PageOverflow, AlreadyIssued, CertgenError
        As the rooms raise them; nothing is written then.
    """
    from certgen.archive.store import file_name, issue_once, write_whole
    from certgen.assessment.tree import as_json
    from certgen.sheet.render import compose, draw

    assessed = assess_job(path)
    choice = assessed.loaded.job.sheet
    layout = _layout(assessed.loaded, options.layout)
    page = compose(assessed.results, layout, paper=options.paper or choice.paper, units=options.units or choice.units)
    document = draw(page)
    target = out if out is not None else Path()
    if target.is_dir():
        target = target / file_name(assessed.results.certificate.number)
    new = issue_once(target, document)
    if results_path is not None:
        write_whole(results_path, as_json(assessed.results).encode())
    return Issued(assessed.results, target, new, page.left_out)


def _layout(loaded: LoadedJob, override: str | None) -> Layout:
    from certgen.sheet.layout import load_layout, shipped_layouts

    name = override or loaded.job.sheet.layout
    shipped = shipped_layouts()
    problems = loaded.reader.problems
    layout = None
    if name in shipped:
        layout = load_layout(shipped[name].read_bytes(), Reader(f"{name}.yaml", shipped[name].parent, problems))
    elif override is not None:
        path = Path(override)
        reader = Reader(override, path.parent, problems)
        data = read_bounded(path, override, problems)
        layout = None if data is None else load_layout(data, reader)
    else:
        data_and_reader = _named_file(name, "sheet.layout", shipped, loaded)
        layout = None if data_and_reader is None else load_layout(data_and_reader[1], data_and_reader[0])
    if layout is None or problems.found:
        raise InputError(problems.found)
    return layout
