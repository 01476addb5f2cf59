"""The real command on a full disk, and where it may not read or write: one paragraph, and nothing half done."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from bench import ARM_RIG, FILES, Bench
from running import Surroundings, bound_by_permissions, files_below, no_file_larger_than, told_in_a_paragraph

from certgen.cli import main

pytestmark = pytest.mark.slow

JOB = str(FILES["job"])
PAGE = "WS-2026-007.pdf"
LOGGER = "logger: {separator: comma, columns: [{name: speed, unit: rpm}, {name: scale, unit: kg}]}\n"


@pytest.mark.parametrize(
    ("arguments", "size", "named", "left"),
    [
        (("issue", JOB), 5_000, PAGE, set()),
        (("issue", JOB, "--out", "page.pdf", "--results", "r.json"), 5_000, "r.json", set()),
        (("new", "start"), 500, "start/motor_1/job.yaml", set()),
        (("register", "start", "."), 1_000, "register.sqlite3", {"register.sqlite3"}),  # without tables, no register
    ],
)
def test_on_a_full_disk_no_file_is_half_written(
    shop: Bench, arguments: tuple[str, ...], size: int, named: str, left: set[str]
) -> None:
    if "r.json" in arguments:
        assert main(["issue", JOB, "--out", "page.pdf"]) == 0
    before = files_below(Path()).keys()
    told = told_in_a_paragraph(Surroundings(before=no_file_larger_than(size)).run(*arguments))
    assert told.startswith(f"{named}: ")
    assert "room" in told
    assert files_below(Path()).keys() - before <= left
    assert main(list(arguments)) == 0


@pytest.mark.parametrize("size", [20_000, 80_000])  # of a page, and of a register
def test_a_register_without_room_keeps_neither_page_nor_row(shop: Bench, size: int) -> None:
    assert main(["register", "start", "."]) == 0
    told_in_a_paragraph(Surroundings(before=no_file_larger_than(size)).run("issue", JOB, "--archive", "."))
    assert not Path(PAGE).exists()
    assert main(["register", "check"]) == 0
    assert main(["issue", JOB, "--archive", "."]) == 0


@pytest.mark.parametrize("size", [20_000, 60_000])
def test_a_full_disk_uses_up_no_number(shop: Bench, size: int) -> None:
    """The page does not fit; the number it would have had is the next one again."""
    job = Path(JOB)
    job.write_text(job.read_text(encoding="utf-8").replace("  number: WS-2026-007\n", ""), encoding="utf-8")
    Path("kept").mkdir()
    assert main(["register", "start", "kept", "--numbers", "HB-{year}-{serial:03}"]) == 0
    for _ in range(2):
        told = told_in_a_paragraph(
            Surroundings(before=no_file_larger_than(size)).run("issue", JOB, "--archive", "kept")
        )
        assert "room" in told and "copy" not in told
    assert main(["issue", JOB, "--archive", "kept"]) == 0
    assert Path("kept/HB-2026-001.pdf").exists()
    assert main(["register", "check", "--archive", "kept"]) == 0


def test_a_recording_on_a_full_disk_keeps_every_whole_row(shop: Bench) -> None:
    Path("rigs/rig.yaml").write_text(ARM_RIG + LOGGER, encoding="utf-8")
    sent = "".join(f"{1500 - row},{row / 100:.2f}\n" for row in range(500))
    full = Surroundings(before=no_file_larger_than(2_000))
    done = full.run("record", "rigs/rig.yaml", "--port", "-", "--out", "load.csv", given=sent)
    assert done.returncode == 2
    assert "the recording stops, the file cannot be written (File too large)" in done.stderr
    assert "Traceback" not in done.stderr
    kept = Path("load.csv").read_text(encoding="utf-8")
    assert len(kept) <= 2_000
    assert kept.endswith("\n")


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, where this process may have one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no disk may be mounted here")
    yield disk
    subprocess.run(["umount", "--lazy", str(disk)], check=False)


def test_a_disk_that_is_really_full(shop: Bench, tiny_disk: Path) -> None:
    fill = tiny_disk / "fill"
    fill.write_bytes(bytes(60_000))
    told = told_in_a_paragraph(Surroundings().run("issue", JOB, "--archive", str(tiny_disk)))
    assert "make room on the disk" in told
    told = told_in_a_paragraph(Surroundings().run("issue", JOB, "--out", str(tiny_disk)))
    assert "(No space left on device)" in told
    assert {path.name for path in tiny_disk.iterdir()} <= {"fill", "register.sqlite3"}
    with Path("/dev/full").open("w") as full:
        command, environment = Surroundings().command("schema", "job"), Surroundings().all
        done = subprocess.run(command, env=environment, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr == "the output cannot be written (No space left on device); send it where there is room.\n"


def _forbid(modes: Mapping[str, int]) -> None:
    for name, mode in modes.items():
        Path(name).chmod(mode)


@pytest.mark.parametrize(
    ("modes", "arguments", "told"),
    [
        ({"motor": 0o000}, ("check", JOB), f"{JOB}: the file cannot be read (Permission denied); "),
        ({"motor": 0o000}, ("check", "motor"), "motor: this folder holds no job file; "),
        ({"motor": 0o000}, ("check", "motor/*.yaml"), "motor/*.yaml: the file cannot be read (Permission denied); "),
        ({JOB: 0o000}, ("check", JOB), f"{JOB}: the file cannot be read (Permission denied); "),
        ({"rigs": 0o000}, ("check", JOB), "rigs/rig.yaml: the file cannot be read (Permission denied); "),
        ({"rigs/rig.yaml": 0o000}, ("check", JOB), "rigs/rig.yaml: the file cannot be read (Permission denied); "),
        ({".": 0o555}, ("issue", JOB), f"{PAGE}: the file cannot be written (Permission denied); "),
        ({".": 0o555}, ("issue", JOB, "--archive", "."), "register.sqlite3: the register cannot be used "),
        ({"rigs": 0o000}, ("issue", JOB, "--out", "rigs/x.pdf"), "rigs/rig.yaml: the file cannot be read "),
        ({".": 0o555}, ("new", "start"), "start/motor_1/job.yaml: the file cannot be written (Permission denied); "),
        ({"rigs": 0o000}, ("new", "rigs"), "rigs: the file cannot be written (Permission denied); "),
        ({".": 0o555}, ("register", "start", "."), "register.sqlite3: the register cannot be used "),
        ({"rigs": 0o000}, ("register", "list", "--archive", "rigs"), "rigs: the folder cannot be looked into "),
    ],
)
def test_what_may_not_be_read_or_written_is_told(
    shop: Bench, modes: Mapping[str, int], arguments: tuple[str, ...], told: str
) -> None:
    before = files_below(Path())
    usual = {name: Path(name).stat().st_mode for name in modes}
    _forbid(modes)
    try:
        done = Surroundings(before=bound_by_permissions).run(*arguments)
    finally:
        _forbid(usual)
    assert told_in_a_paragraph(done).startswith(told)
    assert files_below(Path()) == before


def test_a_name_in_signs_the_system_cannot_write_is_told_before_anything_is_entered(shop: Bench) -> None:
    shop.edit("job", {"WS-2026-007": "WS-2026-Ü"}).write()
    plain = Surroundings({"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"})
    done = plain.run("issue", JOB, "--archive", ".")
    assert told_in_a_paragraph(done).startswith(r"WS-2026-\xdc.pdf: this name cannot be written")
    assert main(["issue", JOB, "--archive", "."]) == 0
