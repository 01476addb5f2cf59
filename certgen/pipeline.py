"""A job through the first five rooms: job, readings, reduction, results, assessment. What follows is in ``issuing``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from certgen.assessment.assess import assess
from certgen.assessment.plausibility.evidence_of_test import UNIT_CHECKS, evidence_of_test, rows_in_question, stated
from certgen.assessment.statement import with_suggestion
from certgen.assessment.verdict import with_rows_in_question
from certgen.document.build import Reader
from certgen.document.source import Problems, decode, digest, read_bounded
from certgen.errors import InputError, RefusedTest
from certgen.job.load import LoadedJob, load_earlier, load_job, named_file, named_from
from certgen.readings.model import Readings
from certgen.readings.read import read_readings
from certgen.reduction.model import Reduction
from certgen.reduction.plate_rating import rated_as_tested
from certgen.reduction.reduce import reduce_test
from certgen.results.as_found import pictures_taken
from certgen.results.brake_friction import with_brake_friction
from certgen.results.comparisons import before_and_after
from certgen.results.compute import compute_figures
from certgen.results.model import Results
from certgen.results.significant import to_significant
from certgen.standards.criteria import DEFAULT, SHIPPED, CriteriaSet, companions_of, read_criteria, shipped_criteria


@dataclass(frozen=True)
class Assessed:
    """One job brought up to its verdict; ``files`` are the bytes it was made from, by their names in messages."""

    loaded: LoadedJob
    results: Results
    files: Mapping[str, bytes]


def assess_job(path: Path) -> Assessed:
    """Read, reduce and judge one job.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, its readings and its criteria.
    RefusedTest
        The readings as a whole are physically impossible.
    """
    return assess_read(read_job(path))


@dataclass(frozen=True)
class ReadTest:
    """One job with its tables and criteria, ready to be reduced."""

    loaded: LoadedJob
    readings: Readings
    criteria: CriteriaSet
    inputs: dict[str, str]


@dataclass(frozen=True)
class ReadJob:
    """A job with everything it names, and the earlier test it is held against."""

    test: ReadTest
    earlier: ReadTest | None
    files: Mapping[str, bytes]  # the bytes of each file, by its name in messages

    @property
    def loaded(self) -> LoadedJob:
        """The job and its rig as loaded."""
        return self.test.loaded

    @property
    def inputs(self) -> dict[str, str]:
        """Every file the certificate is made from, named from the job, with its SHA-256."""
        if self.earlier is None:
            return self.test.inputs
        return {**self.test.inputs, **named_from(self.loaded, self.earlier.inputs)}


def read_job(path: Path, problems: Problems | None = None) -> ReadJob:
    """A job with its tables and criteria, not yet reduced.

    ``problems``, where given, keeps what was read also where a mistake is found.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, its readings and its criteria.
    """
    problems = Problems() if problems is None else problems
    loaded = load_job(path, problems)
    test = None if loaded is None else _read(loaded)
    earlier = None if loaded is None else load_earlier(loaded, path.name)
    earlier_test = None if earlier is None else _read(earlier)
    if problems.found:
        raise InputError(problems.found)
    if loaded is None or test is None:
        raise AssertionError(f"{path}: unusable, yet no mistake was kept")
    return ReadJob(_as_rated(test), None if earlier_test is None else _as_rated(earlier_test), dict(problems.read))


def assess_read(read: ReadJob) -> Assessed:
    """A job that was read, reduced and judged.

    Raises
    ------
    RefusedTest
        The readings as a whole are physically impossible.
    """
    results, reduction = _judged(read.test)
    if read.earlier is not None:
        results = _compared(results, reduction, read)
    return Assessed(read.loaded, to_significant(results), read.files)


def reduce_job(path: Path) -> tuple[LoadedJob, Reduction]:
    """Read and reduce one job; nothing is judged.

    Raises
    ------
    InputError
        Every mistake found in the job, its rig, its readings and its criteria.
    RefusedTest
        The readings as a whole are physically impossible.
    """
    test = read_job(path).test
    job, rig = test.loaded.job, test.loaded.rig
    readings = _readings_of(test)
    rig, _ = with_brake_friction(job, rig, readings, companions_of(test.criteria))
    return test.loaded, reduce_test(job, rig, readings)


def _read(loaded: LoadedJob) -> ReadTest | None:
    """Tables and criteria of a loaded job; ``None`` where a mistake was kept."""
    readings, found = read_readings(loaded), criteria_of(loaded)
    if readings is None or found is None:
        return None
    criteria, criteria_digest = found
    return ReadTest(loaded, readings, criteria, {**loaded.inputs, **readings.inputs, **criteria_digest})


def _as_rated(test: ReadTest) -> ReadTest:
    """The test with the rating of its plate, where that has two, which it was made for."""
    job = rated_as_tested(test.loaded.job, test.loaded.rig, test.readings)
    return replace(test, loaded=replace(test.loaded, job=job))


def _readings_of(test: ReadTest) -> Readings:
    """The readings with a load test of spaced points, where it was read as a sweep; else as they are."""
    job = test.loaded.job
    if job.readings is None or job.readings.load_test is None or job.readings.load_test.sweep is None:
        return test.readings
    from certgen.reduction.sweep import points_of_sweep

    return points_of_sweep(job, test.loaded.rig, test.readings)


def _judged(test: ReadTest) -> tuple[Results, Reduction]:
    """The way of one test: readings reduced, figures computed, figures judged.

    Where rows lie off their neighbours the figures rest on all rows as written, and the verdict is formed with and
    without them.
    """
    readings = _readings_of(test)
    results, reduction = _judged_on(readings, test)
    rows = rows_in_question(results.plausibility)
    if not rows:
        return results, reduction
    try:
        second, _ = _judged_on(readings.without_rows(rows), test)
    except RefusedTest:
        return results, reduction
    return with_rows_in_question(results, second), reduction


def _judged_on(readings: Readings, test: ReadTest) -> tuple[Results, Reduction]:
    job = test.loaded.job
    rig, friction = with_brake_friction(job, test.loaded.rig, readings, companions_of(test.criteria))
    reduction = replace(reduce_test(job, rig, readings), brake_friction=friction)
    try:
        figures = compute_figures(job, rig, readings, reduction, test.criteria)
    except RefusedTest as cause:
        raise _with_suspicion(cause, test, readings, reduction) from cause
    results = assess(
        job,
        rig,
        reduction,
        figures,
        criteria=test.criteria,
        not_evaluated=test.loaded.not_evaluated,
        inputs=test.inputs,
    )
    as_found = replace(results.as_found, pictures=pictures_taken(test.loaded.pictures))
    return replace(results, as_found=as_found), reduction


def _with_suspicion(cause: RefusedTest, test: ReadTest, readings: Readings, reduction: Reduction) -> RefusedTest:
    """The refusal of an impossible test, behind it the unit or column that would explain every row."""
    found = evidence_of_test(test.loaded.job, test.loaded.rig, readings, reduction)
    suspected = [str(with_suggestion(stated(entry))) for entry in found if entry.check in UNIT_CHECKS]
    return RefusedTest(" ".join((str(cause), *suspected))) if suspected else cause


def _compared(results: Results, reduction: Reduction, read: ReadJob) -> Results:
    """The results held against those of the earlier test of the motor, whose files are traced too."""
    assert read.earlier is not None
    try:
        before, reduced = _judged(read.earlier)
    except RefusedTest as cause:
        raise RefusedTest(f"{read.earlier.loaded.reader.shown}: {cause}") from cause
    return replace(
        results,
        comparisons=(*results.comparisons, before_and_after(before, results, (reduced, reduction))),
        traceability=replace(results.traceability, inputs=read.inputs),
    )


def criteria_of(loaded: LoadedJob) -> tuple[CriteriaSet, dict[str, str]] | None:
    """The criteria a job names, with its file and digest where it is the shop's own; ``None`` after a mistake, kept."""
    name = loaded.job.criteria or DEFAULT
    if name in SHIPPED:
        return shipped_criteria(name), {}
    found = named_file(name, "criteria", SHIPPED, loaded)
    if found is None:
        return None
    path, shown = found
    problems = loaded.reader.problems
    data = read_bounded(path, shown, problems)
    text = None if data is None else decode(data, shown, problems)
    if data is None or text is None:
        return None
    criteria = read_criteria(text, Reader(shown, path.parent, problems))
    return None if criteria is None else (criteria, {name: digest(data)})
