"""Files made to exhaust the reader: each is refused with a sentence, within a stated memory and a process of its own."""

from __future__ import annotations

import os
import resource
from pathlib import Path

import pytest
import workbooks
from bench import ARM_RIG, BENCHES, JOB, replaced
from running import Surroundings

pytestmark = pytest.mark.slow

#: Address space of the whole process, the libraries and their buffers for threads included. [byte]
MOST_MEMORY = 2_500_000_000
#: Processor time for all bombs of a table together, about five times what they take; a hang guard. [s]
MOST_SECONDS = 120

_ROW = "      - [1492, 0.00, 401, 1.92, 160]\n"
_FILE_JOB = BENCHES["file"]["job"]


def job(edits: dict[str, str]) -> bytes:
    return replaced(JOB, edits).encode()


#: A job file of at most 1 MB that asks for far more, and what is said of it.
IN_A_JOB: dict[str, tuple[bytes, str]] = {
    "aliases that multiply": (
        b"a: &a [x, x, x, x, x, x, x, x]\nb: &b [*a, *a, *a, *a, *a, *a, *a]\n",
        "aliases within aliases, or too many of them",
    ),
    "brackets in brackets": (b"a: " + b"[" * 900_000, "brackets are nested too deep"),
    "braces in braces": (b"a: " + b"{a: " * 200_000, "nested deeper than 20 levels"),
    "lists in lists": (b"- " * 450_000, "nested deeper than 20 levels"),
    "keys in keys": (b"\n".join(b" " * level + b"a:" for level in range(1300)), "nested deeper than 20 levels"),
    "keys of keys": (b"? " * 450_000, "nested deeper than 20 levels"),
    "a text of a megabyte": (job({"R. Tanner": "x" * 900_000}), "the text has 900000 characters; shorten it to 80"),
    "a key of a megabyte": (b"k" * 900_000 + b": 1\n" + JOB.encode(), "there is a second ': ' in this value"),
    "thousands of unknown keys": (JOB.encode() + b"".join(b"k%d: 1\n" % n for n in range(40_000)), "k0: unknown key"),
    "one key thousands of times": (JOB.encode() + b"a: 1\n" * 60_000, "a: this key stands twice"),
    "thousands of rows": (job({_ROW: _ROW * 12_000}), "the table has 12002 rows; put more than 5000 into a file"),
    "rows of nothing": (job({_ROW: "      - []\n" * 50_000}), "the table has 50002 rows"),
    "thousands of columns": (
        job({"{speed: rpm,": "{" + "".join(f"c{n}: rpm, " for n in range(20_000)) + "speed: rpm,"}),
        "columns.c0: unknown column",
    ),
    "a list of thousands": (job({"[4 Weir Street]": "[" + "x," * 100_000 + "x]"}), "the list has 100001 entries"),
    "a number of a megabyte": (job({"1.5 kW": "9" * 900_000 + " kW"}), "nameplate.power: '9999"),
    "a whole number of a megabyte": (job({"poles: 4": "poles: " + "4" * 900_000}), "is not possible here"),
    "a fraction of fractions": (job({"1.5 kW": "1/" * 450_000 + "3 hp"}), "nameplate.power: '1/1/1/"),
    "a number beyond numbers": (job({"1.5 kW": "1e999999999999 kW"}), "too large a number for a motor bench"),
    "a unit to a great power": (job({"1.5 kW": "1 kW**999999999"}), "is not a unit known here"),
    "powers of powers": (job({"1.5 kW": "1 kW^9^9^9^9^9^9^9"}), "is not a unit known here"),
    "a unit of a megabyte": (job({"speed: rpm": "speed: " + "rpm*" * 220_000 + "rpm"}), "is not a unit"),
    "open parentheses": (job({"1.5 kW": "1 " + "(" * 900_000}), "nameplate.power: '1 (((("),
    "a day of a megabyte": (job({"2026-03-14": "2" * 900_000}), "is not a date"),
    "documents": (JOB.encode() + b"---\n" * 100_000, "begins a second document"),
}


def told_of(names: list[str]) -> dict[str, str]:
    """What one process, short of memory, says of each file."""

    def short() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))

    done = Surroundings({"OPENBLAS_NUM_THREADS": "1"}, before=short).run("check", *names)
    assert "Traceback" not in done.stderr, done.stderr[-2000:]
    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.splitlines()
    assert all(line.isprintable() and len(line) < 1000 for line in lines)
    return {name: "\n".join(line for line in lines if line.startswith(Path(name).parent.as_posix())) for name in names}


@pytest.fixture
def shop_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a good rig, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    Path("rigs").mkdir()
    Path("rigs/rig.yaml").write_text(ARM_RIG, encoding="utf-8")
    return tmp_path


def test_job_files_made_to_exhaust_the_reader(shop_folder: Path) -> None:
    for number, (data, _) in enumerate(IN_A_JOB.values()):
        assert len(data) <= 1_000_000
        Path(f"bomb{number}_").mkdir()
        Path(f"bomb{number}_/job.yaml").write_bytes(data)
    names = [f"bomb{number}_/job.yaml" for number in range(len(IN_A_JOB))]
    told = told_of(names)
    for name, (bomb, (_, words)) in zip(names, IN_A_JOB.items(), strict=True):
        assert words in told[name], bomb


_HEAD = b"n (1/min),Kraft,U,I,P,Notiz\n"
_GOOD = b"1492,0.00,401,1.92,160,\n"
_MOST_IN_LINE = "the line has more than 20000 characters; write one row a line"
_EMPTY = "the table is empty"

#: A readings file of some megabytes, and what is said of it.
IN_A_TEXT: dict[str, tuple[bytes, str]] = {
    "a line without end": (b"x" * 5_000_000, _MOST_IN_LINE),
    "a line without end below the headers": (_HEAD + b"1," * 10_000_000, f"load_test.csv:2:1: {_MOST_IN_LINE}"),
    "half a million columns": (b",".join(b"c%d" % n for n in range(500_000)) + b"\n", _MOST_IN_LINE),
    "thousands of columns": (b"c,\n" * 10 + b"c," * 9_000 + b"\n" + b"1," * 9_000 + b"\n", "there is no column 'I'"),
    "a quoted cell never closed": (
        _HEAD + b'1492,"0.00,401\n' + _GOOD * 150_000,
        "the quote opened here is not closed",
    ),
    "nothing but quotes": (b'"' * 5_000_000, _MOST_IN_LINE),
    "lines of quotes": (b'"\n' * 2_000_000, _EMPTY),
    "empty lines": (b"\n" * 5_000_000, _EMPTY),
    "empty cells": (b",\n" * 2_500_000, _EMPTY),
    "comments": (_HEAD + b"#\n" * 300_000, _EMPTY),
    "zeros": (b"\0" * 5_000_000, "the file holds zero bytes, so it is no text"),
    "bytes of no text": (b"\xff" * 5_000_000, _MOST_IN_LINE),
    "thousands of rows, each a reading": (_HEAD + _GOOD * 200_000, "the file has 200000 rows"),
    "rows shorter than the headers": (_HEAD + b"1\n" * 150_000, "the line has 1 cells for 6 columns"),
    "rows without numbers": (_HEAD + b"x,x,x,x,x,x\n" * 60_000, "'x' in column 'speed' is not a number"),
    "numbers of thousands of digits": (_HEAD + (b"9" * 3000 + b",1,1,1,1,1\n") * 500, "is not a number"),
}


IN_A_WORKBOOK: dict[str, tuple[bytes, str]] = {
    "a sheet of zeros": (workbooks.xlsx(bytes(100_000_000)), "unpacks to more than 200 times its size"),
    "a gigabyte in parts": (
        workbooks.xlsx(workbooks.sheet(), {f"xl/{n}.xml": bytes(30_000_000) for n in range(10)}),
        "unpacks to more than 200",
    ),
    "thousands of attributes": (
        workbooks.xlsx("<a" + "".join(f" b{n}='1'" for n in range(100_000)) + "/>"),
        "hundreds of attributes in one element",
    ),
    "entities of entities": (
        workbooks.xlsx(" " * 5000 + '<!DOCTYPE a [<!ENTITY b "c"><!ENTITY d "&b;&b;&b;">]><a>&d;</a>'),
        "declares entities, which no workbook needs",
    ),
    "texts without number": (
        workbooks.xlsx(workbooks.sheet(), {"xl/sharedStrings.xml": "<sst count='4000000000'/>"}),
        "the workbook says that it has 4000000000 texts",
    ),
}


def _readings_told(name: str, bombs: dict[str, tuple[bytes, str]]) -> dict[str, str]:
    """What is said of readings files, each under a job of its own."""
    job = replaced(_FILE_JOB, {"file: load_test.csv": f"file: {name}"})
    for number, (data, _) in enumerate(bombs.values()):
        Path(f"bomb{number}_").mkdir()
        Path(f"bomb{number}_/job.yaml").write_text(job, encoding="utf-8")
        Path(f"bomb{number}_", name).write_bytes(data)
    told = told_of([f"bomb{number}_/job.yaml" for number in range(len(bombs))])
    return dict(zip(bombs, told.values(), strict=True))


@pytest.mark.parametrize(("name", "bombs"), [("load_test.csv", IN_A_TEXT), ("log.xlsx", IN_A_WORKBOOK)])
def test_readings_files_made_to_exhaust_the_reader(
    shop_folder: Path, name: str, bombs: dict[str, tuple[bytes, str]]
) -> None:
    told = _readings_told(name, bombs)
    for bomb, (_, words) in bombs.items():
        assert words in told[bomb], bomb


def test_files_that_never_end_are_not_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Devices, named pipes and folders, in the place of every file a job names, and of the job itself."""
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe.yaml")
    Path("zero.yaml").symlink_to("/dev/zero")
    Path("itself.yaml").symlink_to("itself.yaml")
    told = Surroundings().run("check", "pipe.yaml", "zero.yaml", "itself.yaml", "/dev/zero", "/dev/stdin")
    assert told.returncode == 2
    assert told.stderr.count("this is not an ordinary file; give the name of a file.\n") == 4
    assert "\nitself.yaml: there is no such file; " in told.stderr
