"""The handbook is run: the commands of every page in their order, and what they print is what the page shows.

Each page gets a folder of its own with the example jobs in it. ``PAGES`` says what more a page needs, and what of it
cannot be run here, with the reason.
"""

from __future__ import annotations

import contextlib
import glob
import io
import math
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from bench import replaced
from handbook_pages import DOCS, NAMES, ROOT, Block, blocks

import certgen
from certgen.cli import main
from certgen.starter import THREE_PHASE, _in_kind

pytestmark = pytest.mark.slow

#: A line that stands for any lines left out of an output.
LEFT_OUT = ".."
MINUTES = "measures speed or simulates thousands of tests, for minutes"


@dataclass(frozen=True)
class Page:
    """What a page takes beyond the usual folder."""

    prepare: Callable[[], None] = lambda: None
    #: Beginning of a command -> why it is not run here.
    not_run: Mapping[str, str] = field(default_factory=dict)
    #: Beginning of a command -> its exit status, where that is not 0.
    status: Mapping[str, int] = field(default_factory=dict)
    #: Beginning of a command -> what the page tells to change in a file before it: (file, text, new text).
    before: Mapping[str, tuple[tuple[str, str, str], ...]] = field(default_factory=dict)
    #: The test that runs the whole page.
    elsewhere: str = ""


STARTER = ROOT / "certgen" / "starter"


def edit(path: Path, edits: Mapping[str, str]) -> None:
    path.write_text(replaced(path.read_text(encoding="utf-8"), edits), encoding="utf-8")


def _starter(folder: str, edits: Mapping[str, str] | None = None, rigs: str = "../rigs") -> None:
    """The job ``certgen new`` gives, in a folder of this name and edited, and its rig beside it."""
    target = Path(folder)
    shop = (target / rigs).parent if rigs.startswith("..") else target
    for place, name in ((target, "job.yaml"), (target / rigs, "arm_brake.yaml"), (shop, "shop.yaml")):
        place.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes((STARTER / name).read_bytes())
    named = {"../rigs/": f"{rigs}/", "shop: ../": "shop: ../" if rigs.startswith("..") else "shop: "}
    edit(target / "job.yaml", {**named, **(edits or {})})


def _shop_with_a_register() -> None:
    """Jobs without numbers: one motor, and a folder with seven tests of another."""
    unnumbered = {"  number: MY-2026-001 ": "  # number: "}
    _starter("motor_1", unnumbered)
    for month in range(1, 8):
        tested = {"tested_on: 2026-01-31": f"tested_on: 2026-0{month}-03", "  serial: ": "  serial: 0071934 "}
        _starter(f"jobs/2026-0{month}", unnumbered | tested)


def _layout_of_our_own() -> None:
    _starter(".", rigs=".")
    Path("ours.yaml").write_bytes((ROOT / "layouts" / "certificate.yaml").read_bytes())


FIRST = "my_bench/motor_1/job.yaml"
_US_JOB = _in_kind((STARTER / "job.yaml").read_text(encoding="utf-8"), THREE_PHASE, us=True)
#: The load test of the job that ``certgen new --us`` gives, what a recording puts in its place, and its logger.
EXAMPLE_ROWS = _US_JOB[_US_JOB.index("  load_test:") : _US_JOB.index("criteria:")]
_SENT = {"speed": "rpm", "scale": "lb", "voltage": "V", "current": "A", "input_power": "W"}
RECORDED = (
    "  load_test:\n    file: load_test.csv\n    columns:\n      time: {from: logger time (ms), unit: ms}\n"
    + "".join(f"      {name}: {{from: {name} ({unit}), unit: {unit}}}\n" for name, unit in _SENT.items())
    + "      remark: {from: remark}\n    steady: {hold: 5 s}\n\n"
)
LOGGER = "logger:\n  separator: comma\n  columns:\n    - {name: time, unit: ms}\n" + "".join(
    f"    - {{name: {name}, unit: {unit}}}\n" for name, unit in _SENT.items()
)
PAGES: Mapping[str, Page] = {
    "archive.md": Page(elsewhere="tests/test_archive_handbook.py"),
    "first_certificate.md": Page(
        before={
            "certgen check my_bench/motor_1/job.yaml    #": (
                (FIRST, "number: MY-2026-001", "number: MY-2026-002"),
                (FIRST, "power: 0.75 kW ", "power: 0.75 "),
                (FIRST, "scale: kg,", "scales: kg,"),
            ),
            "certgen issue my_bench/motor_1/job.yaml    #": ((FIRST, "1.80, 823", "1.80, 824"),),
            "certgen issue my_bench/motor_1/job.yaml": (
                (FIRST, "power: 0.75 ", "power: 0.75 kW "),
                (FIRST, "scales: kg,", "scale: kg,"),
            ),
        },
        status={
            "certgen check my_bench/motor_1/job.yaml    #": 2,
            "certgen issue my_bench/motor_1/job.yaml    #": 2,
        },
    ),
    "first_to_last.md": Page(
        before={
            "certgen check my_bench/shop.yaml": (
                ("my_bench/shop.yaml", "name: Your shop", "name: Rivetside Motors"),
                ("my_bench/shop.yaml", "address: [street, town]", "address: [12 Mill Road, Easterly]"),
                ("my_bench/shop.yaml", "contact: telephone or mail", "contact: 555 0177"),
                ("my_bench/shop.yaml", "# archive: certificates", "archive: certificates"),
                ("my_bench/shop.yaml", '# numbers: "MY-{year}-{serial:03}"', 'numbers: "RM-{year}-{serial:03}"'),
                ("my_bench/rigs/arm_brake.yaml", "drive: {kind: direct} ", f"{LOGGER}drive: {{kind: direct}} "),
                (FIRST, "  number: MY-2026-001 ", "  # number: "),
                (FIRST, "tested_by: your name", "tested_by: J. Farrow"),
                (FIRST, "  maker:", "  maker: Halden Electric"),
                (FIRST, "  serial: ", "  serial: HE-20418 "),
            ),
            "certgen check my_bench/motor_1/job.yaml": ((FIRST, EXAMPLE_ROWS, RECORDED),),
        },
        not_run={"certgen watch": "runs until it is stopped; tests/commands/test_draft.py stops it"},
    ),
    "performance.md": Page(not_run={"python tests/benchmarks/": MINUTES, "python tests/studies/": MINUTES}),
    "planning.md": Page(elsewhere="tests/test_planning_docs.py"),
    "python.md": Page(elsewhere="tests/test_api.py"),
    "readings.md": Page(elsewhere="tests/readings/test_handbook_page.py"),
    "recording.md": Page(elsewhere="tests/recorder/test_handbook_page.py"),
    "register.md": Page(prepare=_shop_with_a_register),
    "sheets.md": Page(prepare=_layout_of_our_own),
    "troubleshooting.md": Page(elsewhere="tests/test_troubleshooting.py"),
    "uncertainty.md": Page(prepare=lambda: _starter("motor"), not_run={"python tests/studies/": MINUTES}),
}


def commands(block: Block) -> Iterator[str]:
    """The commands of a block; a line that ends in a bar or a backslash goes on in the next."""
    yield from (line for line in re.sub(r"(\\|(?<=\|))\n\s*", " ", block.text).splitlines() if line.strip())


def beginning(command: str, of: Mapping[str, object]) -> str | None:
    """The longest entry of a table with which a command begins."""
    return max((one for one in of if command.startswith(one)), key=len, default=None)


def run_here(arguments: list[str]) -> tuple[int, str]:
    """``certgen`` in this process: exit status, and both streams in the order they were written."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        try:
            status = main(arguments)
        except SystemExit as ended:
            status = int(ended.code or 0)
    return status, told.getvalue()


def run(command: str) -> tuple[int, str]:
    """One line of a page. A plain call of certgen stays in this process; anything else goes to a shell."""
    words = shlex.split(command, comments=True)
    if words[0] == "certgen" and not re.search(r"[|>;&$]", command):
        quoted = re.findall(r"'[^']*'", command)
        plain = [word for word in words[1:] if "*" not in word or any(word in one for one in quoted)]
        shell = [name for word in words[1:] if word not in plain for name in sorted(glob.glob(word))]  # noqa: PTH207
        return run_here([*plain, *shell])
    shim = Path("on_path")
    shim.mkdir(exist_ok=True)
    for name, module in (("certgen", " -m certgen"), ("python", "")):
        tool = shim / name
        tool.write_text(f"#!/bin/sh\nexec '{sys.executable}'{module} \"$@\"\n", encoding="utf-8")
        tool.chmod(0o755)
    env = {**os.environ, "PATH": f"{shim.resolve()}:{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        ["/bin/sh", "-c", command],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False, env=env,
    )  # fmt: skip
    return done.returncode, done.stdout


def assert_shown(shown: str, told: str) -> None:
    """What a page shows is what was told; a line ``..`` stands for lines left out."""
    parts = [part.strip("\n") for part in re.split(rf"^\s*{re.escape(LEFT_OUT)}$", shown, flags=re.MULTILINE)]
    pattern = r"(?:.*\n)*?".join("".join(f"{re.escape(line)}\n" for line in part.splitlines()) for part in parts)
    assert re.fullmatch(pattern, told), f"shown:\n{shown}\ntold:\n{told}"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("example_jobs", "layouts"):
        (tmp_path / name).symlink_to(ROOT / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


WALKED = [name for name in NAMES if not PAGES.get(name, Page()).elsewhere]


@pytest.mark.parametrize("name", [name for name in WALKED if any(block.kind == "sh" for block in blocks(name))])
def test_the_commands_of_a_page_do_what_it_shows(name: str, folder: Path) -> None:
    page = PAGES.get(name, Page())
    page.prepare()
    told = None
    for block in blocks(name):
        if block.kind == "text":
            assert told is not None, f"{name}:{block.line}: shows an output, but no command stands before it"
            assert_shown(block.text, told)
        for command in commands(block) if block.kind == "sh" else ():
            for file, old, new in page.before.get(beginning(command, page.before) or "", ()):
                edit(Path(file), {old: new})
            if beginning(command, page.not_run) is None:
                status, told = run(command)
                expected = page.status.get(beginning(command, page.status) or "", 0)
                assert status == expected, f"{name}:{block.line}: {command}\n{told}"


@pytest.mark.parametrize("name", PAGES)
def test_the_table_of_pages_is_true(name: str) -> None:
    page = PAGES[name]
    lines = [command for block in blocks(name) if block.kind == "sh" for command in commands(block)]
    for one in (*page.not_run, *page.status, *page.before):
        assert any(line.startswith(one) for line in lines), f"{name} has no command that begins with {one}"
    for line in lines:
        if beginning(line, page.not_run) is not None and line.startswith("python "):
            assert (ROOT / line.split()[1]).is_file()
    if page.elsewhere:
        assert f'"{name}"' in (ROOT / page.elsewhere).read_text(encoding="utf-8")


def test_the_sum_done_by_hand_is_the_one_certgen_makes() -> None:
    """docs/uncertainty_for_beginners.md: row 3 of the motor with the full plate, by JCGM 100:2008, 4.3.7 and 5.1.2."""
    page = (DOCS / "uncertainty_for_beginners.md").read_text(encoding="utf-8")
    torque = certgen.assess(ROOT / "example_jobs" / "three_phase_full_plate" / "job.yaml").points[2].torque
    assert torque is not None
    assert torque.expanded_uncertainty is not None
    parts = (0.5e-3 / 0.5, 0.5e-3 / 2.041, 0.01 / 10.04)
    by_hand = 2.0 * torque.value * math.hypot(*(part / math.sqrt(3.0) for part in parts))
    assert f"**{torque.value:.2f} ± {by_hand:.3f} N·m**. certgen finds {torque.expanded_uncertainty:.3f}" in page
