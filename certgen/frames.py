"""Readings, load points, lists of tests and registers as pandas frames; every column of a quantity names its unit.

Units are those a page prints, in the spelling of the files (``rpm``, ``N*m``, ``degC``), so that a name can be read back
as a unit. Powers stay in W whatever their size.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen.errors import CertgenError
from certgen.messages.catalogue import Message, text_of
from certgen.quantity import Quantity
from certgen.results.model import Point, Results
from certgen.units import conversion, from_si

if TYPE_CHECKING:
    import pandas

    from certgen.job.load import LoadedJob

#: The unit printed for an SI unit, by the reader's system. Ratios stay what they are.
_PRINTED = {
    "si": {"rad/s": "rpm", "K": "degC"},
    "us": {"rad/s": "rpm", "K": "degF", "N*m": "lbf*ft", "kg": "lb", "N": "lbf"},
}
#: In customary units a shaft's power is in horsepower, electrical power stays in watts.
_SHAFT = ("shaft_power", "power")
#: The points read off the load curve, by their name in the results.
_RATED = ("at_rated_current", "at_rated_power", "at_service_factor", "at_rated_speed")
UNCERTAINTY = "expanded uncertainty"


def column_name(name: str, unit: str) -> str:
    """The name of a column: 'torque [N*m]'; a ratio has no unit."""
    called = name.replace("_", " ")
    return f"{called} [{unit}]" if unit not in ("", "1") else called


def printed_unit(si_unit: str, units: str, name: str = "") -> str:
    """The unit in which a quantity of this name is given.

    Raises
    ------
    ValueError
        ``units`` is neither 'si' nor 'us'.
    """
    if units not in _PRINTED:
        raise ValueError(f"units are 'si' or 'us', not '{units}'")
    if units == "us" and name in _SHAFT and si_unit == "W":
        return "hp"
    return _PRINTED[units].get(si_unit, si_unit)


def _value(si: float | None, si_unit: str, unit: str) -> float:
    if si is None:
        return float("nan")
    return si if unit == si_unit else from_si(si, unit)


# Readings.


def readings_frame(job: Path, table: str = "load_test", units: str = "si") -> pandas.DataFrame:
    """One table of a job as it was read, a row each reading, columns as in the job; see :func:`certgen.readings_frame`."""
    from certgen.job.columns import si_unit
    from certgen.pipeline import read_job

    test = read_job(job).test
    tables = {"load_test": test.readings.load_test, **test.readings.others}
    if table not in tables or not tables[table].rows:
        there = ", ".join(name for name, one in tables.items() if one.rows)
        raise CertgenError(str(Message("frames.no_table", path=str(job), table=table, there=there)))
    found = tables[table]
    columns: dict[str, Any] = {}
    reads = _scale_reads(test.loaded)
    for name, values in found.columns.items():
        kept = si_unit(name, scale_reads=reads)
        unit = printed_unit(kept, units, name)
        _, scale, offset = conversion(unit)
        columns[column_name(name, unit)] = values if unit == kept else (values - offset) / scale
    import pandas

    frame = pandas.DataFrame(columns)
    if found.remarked:
        frame["remark"] = list(found.remarks)
    return frame


def _scale_reads(loaded: LoadedJob) -> str:
    return loaded.rig.scale.reads if loaded.rig.scale is not None else "mass"


# Load points.


def points_frame(results: Results, units: str = "si") -> pandas.DataFrame:
    """Load points and the points read off their curve; see :func:`certgen.points_frame`."""
    import pandas

    points = {str(number): point for number, point in enumerate(results.points, start=1)}
    points |= {name: point for name in _RATED if (point := getattr(results, name)) is not None}
    quantities = [
        (one.name, unit) for one in fields(Point) if (unit := _unit_of(one.name, points.values())) is not None
    ]
    columns: dict[str, list[Any]] = {}
    for name, si_unit in quantities:
        unit = printed_unit(si_unit, units, name)
        items = [getattr(point, name) for point in points.values()]
        columns[column_name(name, unit)] = [_value(item and item.value, si_unit, unit) for item in items]
        columns[column_name(f"{name} {UNCERTAINTY}", _difference(unit))] = [
            _spread(item, si_unit, unit) for item in items
        ]
        columns[f"{name.replace('_', ' ')} assumed"] = [bool(item and item.assumed) for item in items]
    flags = ["; ".join(point.flags) for point in points.values()]
    return pandas.DataFrame({**columns, "flags": flags}, index=pandas.Index(list(points), name="point"))


def _unit_of(name: str, points: Iterable[Point]) -> str | None:
    """The SI unit of a quantity of these points; ``None`` where no point has it."""
    found = (getattr(point, name) for point in points)
    return next((item.unit for item in found if isinstance(item, Quantity)), None)


def _spread(item: Quantity | None, si_unit: str, unit: str) -> float:
    if item is None or item.expanded_uncertainty is None:
        return float("nan")
    return _value(item.expanded_uncertainty, si_unit, unit) - (_value(0.0, si_unit, unit) if unit != si_unit else 0.0)


def _difference(unit: str) -> str:
    """The unit of a difference: of temperatures the kelvin, or the same step in Fahrenheit."""
    return {"degC": "K", "degF": "delta_degF"}.get(unit, unit)


# Lists of tests, and registers.


def summary_frame(jobs: Iterable[Path | Results], units: str = "si") -> pandas.DataFrame:
    """Tests in a list; see :func:`certgen.summary_frame`."""
    import pandas

    return pandas.DataFrame([_row(job, units) for job in jobs])


def _row(job: Path | Results, units: str) -> dict[str, Any]:
    """One test; of a job that cannot be judged its name and why."""
    from certgen.issuing.lists import awaits_test
    from certgen.pipeline import assess_job

    if isinstance(job, Results):
        return {"job": "", "problem": "", **row_of(job, units)}
    try:
        return {"job": str(job), "problem": "", **row_of(assess_job(job).results, units)}
    except CertgenError as error:
        problem = text_of(Message("summary.awaits_test")) if awaits_test(job) else str(error)
        return {"job": str(job), "problem": problem}


def row_of(results: Results, units: str = "si") -> dict[str, Any]:
    """One test as a row: what it is of, verdict, scope, the headline values with their uncertainties."""
    import pandas

    from certgen.archive.register.entry import HEADLINES
    from certgen.assessment.statement import headline_of
    from certgen.results.points import leading_point

    certificate, motor, verdict = results.certificate, results.motor, results.verdict
    leading = leading_point(results)
    point = Point() if leading is None else leading.point
    row: dict[str, Any] = {
        "number": certificate.number,
        "revision": certificate.revision,
        "tested on": pandas.Timestamp(certificate.tested_on).as_unit("ns"),
        "tested by": certificate.tested_by,
        "motor": motor.type,
        "maker": motor.maker,
        "model": motor.model,
        "serial": motor.serial,
        "verdict": verdict.outcome,
        "headline": text_of(headline_of(verdict), units=units),
        **{f"{item.subject.replace('_', ' ')} scope": item.state for item in verdict.scope},
        "set by": "" if leading is None else leading.set_by,
    }
    for name, si_unit in HEADLINES.items():
        item = getattr(point, "shaft_power" if name == "power" else name)
        unit = printed_unit(si_unit, units, name)
        row[column_name(name, unit)] = _value(item and item.value, si_unit, unit)
        row[column_name(f"{name} {UNCERTAINTY}", _difference(unit))] = _spread(item, si_unit, unit)
    return row


def register_frame(archive: Path, units: str = "si") -> pandas.DataFrame:
    """Every certificate of an archive; see :func:`certgen.register_frame`."""
    from contextlib import closing

    import pandas

    from certgen.archive.register.database import open_register
    from certgen.archive.register.entry import HEADLINES, Registered
    from certgen.archive.register.search import Wanted, found

    with closing(open_register(archive, make=False)) as register:
        entries = list(found(register, Wanted()))
    columns: dict[str, list[Any]] = {}
    for one in fields(Registered):
        values = [getattr(entry, one.name) for entry in entries]
        if one.name in HEADLINES:
            unit = printed_unit(HEADLINES[one.name], units, one.name)
            columns[column_name(one.name, unit)] = [_value(value, HEADLINES[one.name], unit) for value in values]
        else:
            columns[column_name(one.name, "")] = values
    frame = pandas.DataFrame(columns)
    for name, zone in (("tested on", False), ("entered at", True)):
        frame[name] = pandas.to_datetime(frame[name], utc=zone)
    return frame


# Lists as files.

#: Files of a list by their ending.
ENDINGS = (".csv", ".xlsx", ".json", ".parquet")


def write_frame(frame: pandas.DataFrame, path: Path) -> None:
    """Write a list by the ending of its name; only a list with the same columns is written again in its place.

    Raises
    ------
    CertgenError
        Another file stands there, the library for this kind of file is missing, or it cannot be written.
    """
    import io

    from certgen.archive.store import write_whole
    from certgen.errors import AlreadyIssued

    ending, buffer = path.suffix.lower(), io.BytesIO()
    try:
        if path.exists() and _columns_of(path) != tuple(frame.columns):
            raise AlreadyIssued(str(Message("frames.another_file", path=str(path))))
        if ending in (".csv", ".xlsx"):
            frame = _without_formulas(frame)
        if ending == ".csv":
            buffer.write(frame.to_csv(index=False, lineterminator="\n").encode("utf-8-sig"))
        elif ending == ".json":
            buffer.write(frame.to_json(orient="records", date_format="iso", indent=1, force_ascii=False).encode())
        elif ending == ".xlsx":
            frame.to_excel(buffer, index=False, sheet_name="tests")
        else:
            frame.to_parquet(buffer, index=False)
    except ImportError as cause:
        raise CertgenError(str(Message("frames.needs_extra", path=str(path)))) from cause
    write_whole(path, buffer.getvalue())


def _without_formulas(frame: pandas.DataFrame) -> pandas.DataFrame:
    """The list with every text that a spreadsheet would run made text there."""
    from certgen.archive.register.search import harmless

    def of_column(values: Any) -> Any:
        return values.map(lambda one: harmless(one) if isinstance(one, str) else one)

    return frame.apply(lambda values: values if values.dtype.kind in "biufM" else of_column(values))


def _columns_of(path: Path) -> Sequence[str]:
    """The columns of a list that stands in a file; none where it is no list."""
    import pandas

    readers: Mapping[str, Callable[[Path], Any]] = {
        ".csv": pandas.read_csv,
        ".xlsx": lambda one: pandas.read_excel(one, engine="openpyxl"),
        ".json": pandas.read_json,
        ".parquet": pandas.read_parquet,
    }
    try:
        return tuple(readers[path.suffix.lower()](path).columns)
    except ImportError:
        raise
    except Exception:  # whatever a file of another kind makes a reader raise
        return ()
