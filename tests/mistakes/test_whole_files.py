"""Files that are absent, of another kind, too large or out of bounds, as ``certgen check`` tells them."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from bench import FILES, Bench

from certgen.cli import main

pytestmark = pytest.mark.slow

JOB, RIG, CSV, LIMITS = (FILES[name] for name in ("job", "rig", "csv", "criteria"))


def _nothing() -> None:
    """Leave the files as they were written."""


def _as_folder(path: Path) -> Callable[[], None]:
    def change() -> None:
        path.unlink()
        path.mkdir()

    return change


def _holding(path: Path, data: bytes) -> Callable[[], object]:
    return lambda: path.write_bytes(data)


def _as_link(path: Path, target: str) -> Callable[[], None]:
    def change() -> None:
        path.unlink()
        path.symlink_to(target)

    return change


@dataclass(frozen=True)
class Spoilt:
    """A bench, edits of its texts, what is then done to its files, and what certgen must print."""

    id: str
    told: str
    bench: str = "arm"
    edits: tuple[tuple[str, str, str], ...] = ()
    change: Callable[[], object] = _nothing


def _rig_named(name: str) -> tuple[tuple[str, str, str], ...]:
    return (("job", "../rigs/rig.yaml", name),)


def _csv_named(name: str) -> tuple[tuple[str, str, str], ...]:
    return (("job", "file: load_test.csv", f"file: {name}"),)


_NEARBY = "name a file in the job's folder or beside it, for example '../rigs/arm_brake.yaml'"
_PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"

SPOILT = (
    Spoilt(
        "no job of this name",
        "motor/job.yaml: there is no such file; give the name of an existing file.",
        change=JOB.unlink,
    ),
    Spoilt(
        "a folder as the job",
        "motor/job.yaml: this folder holds no job file; a job file has the keys 'certificate:' and 'motor:'.",
        change=_as_folder(JOB),
    ),
    Spoilt(
        "an empty job",
        "motor/job.yaml:1:1: the file is empty; write lines such as 'name: value'.",
        change=_holding(JOB, b""),
    ),
    Spoilt(
        "a job of comments only",
        "motor/job.yaml:1:1: the file is empty; write lines such as 'name: value'.",
        change=_holding(JOB, b"# to be written\n"),
    ),
    Spoilt(
        "a list at the top of the job",
        "motor/job.yaml:2:1: the file holds no keys with values; write lines such as 'name: value'.",
        change=_holding(JOB, b"# list\n- motor\n"),
    ),
    Spoilt(
        "a picture as the job",
        "motor/job.yaml:1:1: the byte 0x89 is not UTF-8 text; save the file as UTF-8.",
        change=_holding(JOB, _PNG),
    ),
    Spoilt(
        "a job with zero bytes",
        "motor/job.yaml:2:3: the character U+0000 is not text; remove it, and save the file as plain UTF-8 text.",
        change=_holding(JOB, b"motor:\n  \0\0\n"),
    ),
    Spoilt(
        "a job in another character set",
        "motor/job.yaml:2:5: the byte 0xE4 is not UTF-8 text; save the file as UTF-8.",
        change=_holding(JOB, "name:\n Bäß".encode("latin-1").replace(b" B", "  üB".encode())),
    ),
    Spoilt(
        "a job in UTF-16",
        "motor/job.yaml:1:1: the byte 0xFF is not UTF-8 text; save the file as UTF-8.",
        change=_holding(JOB, "motor: {}\n".encode("utf-16")),
    ),
    Spoilt(
        "a job too large to have been written by hand",
        "motor/job.yaml: the file is larger than 1000 kB; split it or shorten it to what was measured.",
        change=_holding(JOB, b"# " + b"x" * 1_000_000),
    ),
    Spoilt(
        "a job nested too deep",
        "motor/job.yaml:1:23: nested deeper than 20 levels; write it flatter.",
        change=_holding(JOB, b"a: " + b"[" * 20 + b"]" * 20),
    ),
    Spoilt(
        "a job nested far too deep",
        "motor/job.yaml:1:1003: brackets are nested too deep; write it flatter.",
        change=_holding(JOB, b"a: " + b"[" * 300_000),
    ),
    Spoilt(
        "fifty-one aliases",
        "motor/job.yaml:2:205: aliases within aliases, or too many of them; write the values out.",
        change=_holding(JOB, b"a: &a x\nb: [" + b"*a, " * 51 + b"x]\n"),
    ),
    Spoilt(
        "an alias of the list it stands in",
        "motor/job.yaml:1:8: aliases within aliases, or too many of them; write the values out.",
        change=_holding(JOB, b"a: &a [*a]\n"),
    ),
    Spoilt(
        "no rig of this name",
        "motor/job.yaml:19:6: rig: '../rigs/other.yaml' does not exist; "
        "write the name as seen from the folder of this file.",
        edits=_rig_named("../rigs/other.yaml"),
    ),
    Spoilt(
        "a folder as the rig",
        "rigs: this is not an ordinary file; give the name of a file.",
        edits=_rig_named("../rigs"),
    ),
    Spoilt(
        "a device as the rig, by a link",
        "motor/job.yaml:19:6: rig: '../rigs/rig.yaml' leads out of the folder above the job's own; " + _NEARBY + ".",
        change=_as_link(RIG, "/dev/zero"),
    ),
    Spoilt(
        "a named pipe as the rig",
        "rigs/rig.yaml: this is not an ordinary file; give the name of a file.",
        change=lambda: (RIG.unlink(), os.mkfifo(RIG)),
    ),
    Spoilt(
        "an absolute name of the rig",
        "motor/job.yaml:19:6: rig: '/etc/hostname' is an absolute name; " + _NEARBY + ".",
        edits=_rig_named("/etc/hostname"),
    ),
    Spoilt(
        "a name of the rig on another drive",
        "motor/job.yaml:19:6: rig: 'C:/rigs/rig.yaml' is an absolute name; " + _NEARBY + ".",
        edits=_rig_named("C:/rigs/rig.yaml"),
    ),
    Spoilt(
        "a name of the rig in somebody's home",
        "motor/job.yaml:19:6: rig: '~/rig.yaml' is an absolute name; " + _NEARBY + ".",
        edits=_rig_named("~/rig.yaml"),
    ),
    Spoilt(
        "a name of the rig with backslashes",
        r"motor/job.yaml:19:6: rig: '..\rigs\rig.yaml' holds a backslash; "
        "write '/' between folders; it is understood everywhere.",
        edits=_rig_named(r"..\rigs\rig.yaml"),
    ),
    Spoilt(
        "a name of the rig too far up",
        "motor/job.yaml:19:6: rig: '../../rig.yaml' leads out of the folder above the job's own; " + _NEARBY + ".",
        edits=_rig_named("../../rig.yaml"),
    ),
    Spoilt(
        "a name of the rig too far up by a detour",
        "motor/job.yaml:19:6: rig: '../rigs/../../x' leads out of the folder above the job's own; " + _NEARBY + ".",
        edits=_rig_named("../rigs/../../x"),
    ),
    Spoilt(
        "a link out of the shop",
        "motor/job.yaml:19:6: rig: '../rigs/rig.yaml' leads out of the folder above the job's own; " + _NEARBY + ".",
        change=_as_link(RIG, "../../outside.yaml"),
    ),
    Spoilt(
        "a link to itself",
        "motor/job.yaml:19:6: rig: '../rigs/rig.yaml' leads in circles; " + _NEARBY + ".",
        change=_as_link(RIG, "rig.yaml"),
    ),
    Spoilt(
        "a name of the rig with a line break",
        r"motor/job.yaml:19:6: rig: '../rigs\nrig.yaml' is not the name of a file; write the name of a file, for "
        "example '../rigs/arm_brake.yaml'.",
        edits=_rig_named(r'"../rigs\nrig.yaml"'),
    ),
    Spoilt(
        "an empty rig",
        "rigs/rig.yaml:1:1: the file is empty; write lines such as 'name: value'.",
        change=_holding(RIG, b""),
    ),
    Spoilt(
        "no readings file of this name",
        "motor/job.yaml:25:11: readings.load_test.file: 'other.csv' does not exist; "
        "write the name as seen from the folder of this file.",
        bench="file",
        edits=_csv_named("other.csv"),
    ),
    Spoilt(
        "a folder as the readings file",
        "motor/load_test.csv: this is not an ordinary file; give the name of a file.",
        bench="file",
        change=_as_folder(CSV),
    ),
    Spoilt(
        "an absolute name of the readings file",
        "motor/job.yaml:25:11: readings.load_test.file: '/tmp/load_test.csv' is an absolute name; " + _NEARBY + ".",
        bench="file",
        edits=_csv_named("/tmp/load_test.csv"),
    ),
    Spoilt(
        "a readings file too far up",
        "motor/job.yaml:25:11: readings.load_test.file: '../../x.csv' leads out of the folder above the job's own; "
        + _NEARBY
        + ".",
        bench="file",
        edits=_csv_named("../../x.csv"),
    ),
    Spoilt(
        "an empty readings file",
        "motor/load_test.csv:1:1: the table is empty; write a header line and at least one row.",
        bench="file",
        change=_holding(CSV, b""),
    ),
    Spoilt(
        "a readings file of blank lines",
        "motor/load_test.csv:1:1: the table is empty; write a header line and at least one row.",
        bench="file",
        change=_holding(CSV, b"\r\n  \r\n"),
    ),
    Spoilt(
        "a readings file in another character set",
        "motor/load_test.csv:1:11: the byte 0xB0 is not UTF-8 text; save the file as UTF-8, "
        "or write its encoding beside the file, for example 'encoding: latin-1'.",
        bench="file",
        edits=(("job", "file: load_test.csv", "encoding: utf-8\n    file: load_test.csv"),),
        change=_holding(CSV, "n,Kraft,U °C\n".encode("latin-1")),
    ),
    Spoilt(
        "a readings file in one line",
        "motor/load_test.csv:2:1: the line has more than 20000 characters; "
        "write one row a line, with the columns that were measured.",
        bench="file",
        change=_holding(CSV, b"n,Kraft\n" + b"1," * 20_000),
    ),
    Spoilt(
        "a text named as a workbook",
        "motor/load_test.xlsx: the file is broken and cannot be unpacked; "
        "save it again as .xlsx without a password, or as delimited text.",
        bench="file",
        edits=_csv_named("load_test.xlsx"),
        change=lambda: CSV.rename(CSV.with_suffix(".xlsx")),
    ),
    Spoilt(
        "no criteria file of this name",
        "motor/job.yaml:30:11: criteria: 'limits.yaml' does not exist; "
        "write the name as seen from the folder of this file.",
        bench="criteria",
        change=LIMITS.unlink,
    ),
    Spoilt(
        "a criteria file too far up",
        "motor/job.yaml:30:11: criteria: '../../limits.yaml' leads out of the folder above the job's own; "
        + _NEARBY
        + ".",
        bench="criteria",
        edits=(("job", "limits.yaml", "../../limits.yaml"),),
    ),
)


@pytest.mark.parametrize("spoilt", [pytest.param(one, id=one.id) for one in SPOILT])
def test_a_file_that_cannot_be_used_is_told_in_one_paragraph(
    spoilt: Spoilt, bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("../outside.yaml").write_text("name: not for this shop\n")
    bench.start(spoilt.bench)
    for file, old, new in spoilt.edits:
        bench.edit(file, {old: new})
    bench.write()
    spoilt.change()
    assert main(["check", "motor/job.yaml"]) == 2
    told = capsys.readouterr()
    assert told.err == spoilt.told + "\n"
    assert told.out == ""


def test_a_link_that_stays_within_the_shop_is_followed(bench: Bench) -> None:
    bench.write()
    RIG.rename("rigs/arm.yaml")
    RIG.symlink_to("arm.yaml")
    assert main(["check", "motor/job.yaml"]) == 0


def test_a_file_nobody_may_read_is_told(bench: Bench, monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    bench.write()

    def refused(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "read_bytes", refused)
    assert main(["check", "motor/job.yaml"]) == 2
    told = "motor/job.yaml: the file cannot be read (Permission denied); check its name and permissions.\n"
    assert capsys.readouterr().err == told


def test_a_file_of_another_kind_is_told_a_hundred_times_and_no_more(bench: Bench, capsys) -> None:
    bench.start("file").write()
    words = "n (1/min),Kraft,U,I,P,Notiz\n" + "one,two,three,four,five,six\n" * 5000
    CSV.write_text(words)
    assert main(["check", "motor/job.yaml"]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 101
    assert told[-1] == "There are more mistakes than these; mend these first."
