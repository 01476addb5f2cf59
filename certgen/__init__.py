"""Brake-test certificates for used electric motors: the few names that other programs may rely on.

``assess`` brings a job to its verdict, ``issue`` writes its certificate too, ``plot`` draws results, and those that
end in ``_frame`` give pandas frames. All raise
``CertgenError`` for a mistake of the user's, given in full by ``str(error)``. Everything else in the package may change
without notice.
"""

from __future__ import annotations

TYPE_CHECKING = False  # as typing has it, which takes long to load: signals are heeded from the first moment on
if TYPE_CHECKING:
    import os
    from collections.abc import Iterable, Sequence
    from typing import Any

    import pandas

    from certgen.errors import CertgenError
    from certgen.issuing.certificate import Issued
    from certgen.results.model import Results

__all__ = [
    "CertgenError",
    "__version__",
    "assess",
    "issue",
    "plot",
    "points_frame",
    "readings_frame",
    "register_frame",
    "summary_frame",
]

__version__ = "0.2.0"


def assess(job: str | os.PathLike[str]) -> Results:
    """Read, reduce and judge one job; nothing is written.

    Parameters
    ----------
    job : str or path
        The job file.

    Returns
    -------
    Results
        The tree of results.json as frozen dataclasses, quantities in SI with unit and uncertainty.

    Raises
    ------
    CertgenError
        A file is wrong (every mistake at once), or the readings cannot be true.
    """
    from pathlib import Path

    from certgen.pipeline import assess_job

    return assess_job(Path(job)).results


def issue(
    job: str | os.PathLike[str],
    *,
    out: str | os.PathLike[str] | None = None,
    archive: str | os.PathLike[str] | None = None,
    results: str | os.PathLike[str] | None = None,
    sheet: str | None = None,
    paper: str | None = None,
    units: str | None = None,
    language: str | None = None,
) -> Issued:
    """Issue the certificate of one job.

    Parameters
    ----------
    job : str or path
        The job file.
    out : str or path, optional
        The PDF, or an existing folder for it; the current folder where neither this nor ``archive`` is given.
    archive : str or path, optional
        A folder whose register gives the number and keeps the certificate. A tag (sheet 'tag') takes the number the
        certificate has there, and goes to ``out``.
    results : str or path, optional
        Where results.json is written too: a file, or an existing folder.
    sheet, paper, units, language : str, optional
        What overrides the job's own choice: a layout by name or file; 'a4', 'letter'; 'si', 'us' or 'both'; 'en',
        'de', 'es' or 'fr'.

    Returns
    -------
    Issued
        The file, its number and verdict, whether it is new, and the results.

    Raises
    ------
    CertgenError
        As ``assess``, or the page cannot be drawn or written; an issued certificate is never overwritten.
    ValueError
        Both ``out`` and ``archive`` are given, and no ``sheet``.
    """
    from pathlib import Path

    from certgen.issuing.certificate import issue_job
    from certgen.issuing.layouts import SheetOptions

    if out is not None and archive is not None and sheet is None:
        raise ValueError("a certificate goes to 'out' or into 'archive', not both")
    return issue_job(
        Path(job),
        out=None if out is None else Path(out),
        results_path=None if results is None else Path(results),
        options=SheetOptions(sheet, paper, units, language),
        archive=None if archive is None else Path(archive),
    )


def plot(
    results: Results | Sequence[Results],
    *,
    ax: Any = None,
    what: str = "torque",
    units: str = "si",
    names: Sequence[str] | None = None,
) -> Any:
    """Draw the curves of one test, or of several over each other, with matplotlib.

    Parameters
    ----------
    results : Results, or a sequence of them
        What ``assess`` or ``issue`` gave.
    ax : matplotlib axes, optional
        Where to draw: axes, or as many as the drawing has panels. New ones where left out.
    what : str
        'torque', 'load' (panels of current, efficiency and power factor over shaft power), one of those panels by its
        name, 'heat', 'losses' or 'log'.
    units : str
        'si', 'us' or 'both', which draws SI.
    names : sequence of str, optional
        What each test is called; by its certificate's number where left out.

    Returns
    -------
    matplotlib axes
        A tuple of them where there are several panels.

    Raises
    ------
    CertgenError
        Nothing of it was measured.
    ValueError
        There is no such drawing, or it takes another number of axes.
    """
    from certgen.plotting.figure import onto_axes, shown_results

    return onto_axes(shown_results(results, names), ax, what, units)


def readings_frame(job: str | os.PathLike[str], *, table: str = "load_test", units: str = "si") -> pandas.DataFrame:
    """One table of a job as it was read, a row each reading.

    Parameters
    ----------
    job : str or path
        The job file.
    table : str
        'load_test', 'no_load', 'locked_rotor', 'heat_run' or another table of the job.
    units : str
        'si' (rpm, N*m, degC) or 'us' (rpm, lbf*ft, degF, lb).

    Returns
    -------
    pandas.DataFrame
        A column each quantity with its unit in the name, such as 'speed [rpm]'; empty cells are NaN.

    Raises
    ------
    CertgenError
        A file is wrong, or the job has no such table.
    """
    from pathlib import Path

    from certgen.frames import readings_frame

    return readings_frame(Path(job), table, units)


def points_frame(results: Results, *, units: str = "si") -> pandas.DataFrame:
    """The load points of a test, and below them the points read off their curve.

    Parameters
    ----------
    results : Results
        What ``assess`` or ``issue`` gave.
    units : str
        'si' (rpm, N*m, W, degC) or 'us' (rpm, lbf*ft, hp at the shaft, degF).

    Returns
    -------
    pandas.DataFrame
        A row each point, named '1', '2' .. and 'at_rated_power' ..; each quantity with its unit in the name, its expanded
        uncertainty, and whether that rests on an accuracy nobody stated.
    """
    from certgen.frames import points_frame

    return points_frame(results, units)


def summary_frame(
    jobs: Iterable[str | os.PathLike[str] | Results] | str | os.PathLike[str], *, units: str = "si"
) -> pandas.DataFrame:
    """Many tests in a list with verdict, scope and headline values.

    Parameters
    ----------
    jobs : path, or paths and results
        Job files, folders and patterns of them, or results at hand.
    units : str
        'si' or 'us', as for ``points_frame``.

    Returns
    -------
    pandas.DataFrame
        A row each test. A job that cannot be judged has its reason under 'problem' and nothing else.

    Raises
    ------
    CertgenError
        A folder or pattern holds no job.
    """
    from os import PathLike
    from pathlib import Path

    from certgen.frames import summary_frame
    from certgen.job.job_paths import jobs_named
    from certgen.results.model import Results

    listed = [jobs] if isinstance(jobs, (str, PathLike)) else list(jobs)
    tests: list[Path | Results] = []
    for one in listed:
        tests += [one] if isinstance(one, Results) else jobs_named([Path(one)])
    return summary_frame(tests, units)


def register_frame(archive: str | os.PathLike[str], *, units: str = "si") -> pandas.DataFrame:
    """Every certificate of an archive, the latest test first.

    Parameters
    ----------
    archive : str or path
        The archive's folder.
    units : str
        'si' or 'us', as for ``points_frame``.

    Returns
    -------
    pandas.DataFrame
        A row each certificate with its headline values, state and file.

    Raises
    ------
    CertgenError
        There is no register, or it is damaged.
    """
    from pathlib import Path

    from certgen.frames import register_frame

    return register_frame(Path(archive), units)


def __getattr__(name: str) -> object:
    """The exception, loaded where it is asked for."""
    if name == "CertgenError":
        from certgen.errors import CertgenError

        return CertgenError
    raise AttributeError(f"module 'certgen' has no attribute '{name}'")
