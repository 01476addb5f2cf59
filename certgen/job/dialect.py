"""How a readings file is written, where the job does not leave that to be found in the file."""

from __future__ import annotations

from dataclasses import dataclass

from certgen.document.build import FileReference
from certgen.document.source import Place
from certgen.document.vocabulary import Choice, Each, Measure, Text, Whole, key
from certgen.job.columns import Column

#: Delimiters by the word a job names them with; ``spaces`` is any run of blanks and tabs.
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|", "spaces": " "}
DECIMALS = {"point": ".", "comma": ","}
THOUSANDS = {"none": "", "comma": ",", "point": ".", "space": " ", "apostrophe": "'"}
ENCODINGS = ("utf-8", "utf-16", "latin-1", "cp1252")
IGNORE, SORT, CONTINUE, NEAREST, LINEAR = "ignore", "sort", "continue", "nearest", "linear"
DAY_FIRST, MONTH_FIRST = "day_first", "month_first"

_LAST_LINE = 1000


@dataclass(frozen=True)
class Dialect:
    """Keys beside ``file``; whatever is left out is found in the file, and reported."""

    encoding: str | None = key(Choice(ENCODINGS), "How its letters are stored.")
    delimiter: str | None = key(Choice(tuple(DELIMITERS)), "What stands between two cells.")
    decimal: str | None = key(Choice(tuple(DECIMALS)), "The decimal mark.")
    thousands: str | None = key(Choice(tuple(THOUSANDS)), "The mark between groups of three digits.")
    missing: tuple[str, ...] | None = key(
        Each(Text(20, "---"), 20), "What stands in a cell in which nothing was read, as an empty one would."
    )
    comment: str | None = key(Text(20, "#"), "How a line begins that is passed over.")
    header_row: int | None = key(
        Whole(0, _LAST_LINE), "Line of the headers; 0: there is none, and columns are called 1, 2, 3 ..."
    )
    unit_row: int | None = key(Whole(0, _LAST_LINE), "Line of the units below the headers; 0: there is none.")
    skip_footer: int | None = key(Whole(0, _LAST_LINE), "So many lines at the end of the file are no rows.")
    header_units: str | None = key(
        Choice(("read", IGNORE)), "Whether units in the headers count; where they are wrong, the job's hold."
    )
    sheet: str | None = key(Text(80, "Load test"), "Sheet of a workbook; left out: its only one.")
    range: str | None = key(Text(30, "B4:H20"), "Cells of the sheet, headers included.")
    date_order: str | None = key(
        Choice((DAY_FIRST, MONTH_FIRST)),
        "How a date such as 03/04/2026 is written; left out: as others of the file show.",
    )
    backwards: str | None = key(
        Choice((SORT, CONTINUE)),
        "What a time that goes back and stays back means: rows out of order, or a clock that was set back.",
    )


@dataclass(frozen=True)
class Join:
    """How files of one test are put side by side."""

    by: str = key(
        Choice((NEAREST, LINEAR)), "The sample nearest in time, or a straight line between two.", required=True
    )
    within: float = key(
        Measure("time", above=0.0, example="0.5 s", bounds="more than zero"),
        "How far in time a sample may be; for a straight line, how far its two samples may lie apart.",
        required=True,
    )
    on: str | None = key(Text(200, "meter.csv"), "The file whose times hold; left out: the first.")


@dataclass(frozen=True)
class FileSource:
    """One readings file as declared."""

    path: str
    place: Place
    file: FileReference
    columns: tuple[Column, ...]
    dialect: Dialect = Dialect()
    shift: float = 0.0  # s, added to its times
    log: bool = False  # its rows are samples, of which steady stretches become points
