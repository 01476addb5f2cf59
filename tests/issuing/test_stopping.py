"""A signal at any moment, a lost worker, a fault of the program's own: what is written is whole, and the rest goes on.

Signals are sent to the real command, in a session of its own, as a terminal or a service manager does.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from bench import Bench
from running import Surroundings

from certgen.cli import main
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.many import Order, Outcome, carried_out, on_workers
from certgen.issuing.workers import local_workers

pytestmark = pytest.mark.slow

COUNT = 40
#: What the parent, and its children after it, may take; on a busy machine the clock runs on, so thrice that is allowed.
PARENT, CHILDREN = 2.0, 5.0
BUSY = 3.0


@pytest.fixture
def folder(bench: Bench) -> Path:
    """Many jobs of one motor."""
    job = bench.with_fine_instruments().write()
    text = job.read_text(encoding="utf-8")
    for index in range(COUNT):
        job.with_name(f"{index:02}.yaml").write_text(text.replace("WS-2026-007", f"M-{index:02}"), encoding="utf-8")
    job.unlink()
    Path("out").mkdir()
    return Path(job.parent.name)


def started(folder: Path) -> subprocess.Popen[str]:
    surroundings = Surroundings()
    return subprocess.Popen(
        surroundings.command("issue", str(folder), "--out", "out", "--workers", "2"),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings.all,
        start_new_session=True,
    )


def of_session(leader: int) -> Iterator[int]:
    """Processes of a session that are still running."""
    for process in Path("/proc").iterdir():
        with suppress(OSError, ValueError, IndexError):
            number = int(process.name)
            fields = (process / "stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
            if int(fields[3]) == leader and fields[0] != "Z":
                yield number


def all_gone(leader: int, within: float) -> bool:
    end = time.monotonic() + within
    while any(of_session(leader)):
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def nothing_half_written() -> bool:
    return all(
        path.read_bytes().rstrip().endswith(b"%%EOF")
        for path in Path("out").iterdir()
        if not path.name.startswith(".writing-")
    )


def on_start(running: subprocess.Popen[str]) -> None:
    time.sleep(0.15)


def on_loading(running: subprocess.Popen[str]) -> None:
    time.sleep(0.6)


def on_first(running: subprocess.Popen[str]) -> None:
    assert running.stdout is not None
    running.stdout.readline()


linux = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked up in /proc")


@linux
@pytest.mark.parametrize("moment", [on_start, on_loading, on_first])
@pytest.mark.parametrize(
    ("number", "times", "whole_group"),
    [(signal.SIGINT, 1, True), (signal.SIGINT, 3, True), (signal.SIGTERM, 1, False), (signal.SIGTERM, 2, True)],
)
def test_a_signal_ends_everything_soon_and_in_one_line(
    folder: Path, moment: Callable[[subprocess.Popen[str]], None], number: int, times: int, whole_group: bool
) -> None:
    running = started(folder)
    moment(running)
    for _ in range(times):
        with suppress(ProcessLookupError):
            (os.killpg if whole_group else os.kill)(running.pid, number)
        time.sleep(0.02)
    _, told = running.communicate(timeout=PARENT * BUSY)
    assert all_gone(running.pid, CHILDREN * BUSY)
    assert (running.returncode, told) == (128 + number, "stopped\n")
    assert nothing_half_written()
    assert len(list(Path("out").iterdir())) < COUNT


@linux
@pytest.mark.parametrize("moment", [on_loading, on_first])
def test_workers_end_with_a_parent_that_was_killed(
    folder: Path, moment: Callable[[subprocess.Popen[str]], None]
) -> None:
    running = started(folder)
    moment(running)
    running.kill()
    running.wait(timeout=PARENT * BUSY)
    assert all_gone(running.pid, CHILDREN * BUSY)
    issued = len(list(Path("out").iterdir()))
    assert issued < COUNT
    assert nothing_half_written()
    running.communicate()


def test_a_signal_that_is_ignored_stays_ignored(folder: Path) -> None:
    """As under nohup, or in the background of a script."""
    for path in sorted(folder.iterdir())[2:]:
        path.unlink()
    ignoring = (
        "import signal, runpy; signal.signal(signal.SIGINT, signal.SIG_IGN); "
        "runpy.run_module('certgen', run_name='__main__')"
    )
    surroundings = Surroundings(code=ignoring)
    with subprocess.Popen(
        surroundings.command("issue", str(folder), "--out", "out"), stdout=subprocess.DEVNULL, env=surroundings.all
    ) as running:
        time.sleep(0.5)
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=60) == 0


def _lost_at_three(order: Order) -> Outcome:
    if order.job.stem == "03":
        os.kill(os.getpid(), signal.SIGKILL)
    return carried_out(order)


def _lost(order: Order, how: str) -> Outcome:
    return Outcome(order.job, error=how, exit_code=2)


def test_a_lost_worker_is_replaced_and_its_job_told(folder: Path) -> None:
    orders = [Order(job, Path("out"), None, None, SheetOptions()) for job in sorted(folder.iterdir())[:8]]
    with local_workers(2) as workers:
        outcomes = list(workers.results(_lost_at_three, orders, _lost))
    assert [outcome.job for outcome in outcomes] == [order.job for order in orders]
    assert [outcome.error for outcome in outcomes if outcome.error] == ["ended by signal 9"]
    assert outcomes[3].error
    assert len(list(Path("out").iterdir())) == 7


def test_what_is_said_of_a_job_whose_worker_was_lost(folder: Path) -> None:
    from certgen.issuing.many import lost

    outcome = lost(Order(folder / "00.yaml", None, None, None, SheetOptions()), "ended by signal 9")
    assert outcome.exit_code == 2
    assert outcome.error.startswith(f"{folder / '00.yaml'}: the process that worked on it was lost (ended by signal 9)")


@pytest.mark.parametrize("failure", [IndexError, MemoryError, RecursionError, AssertionError])
def test_a_fault_at_one_job_does_not_stop_the_others(
    folder: Path, failure: type[Exception], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in sorted(folder.iterdir())[3:]:
        path.unlink()
    from certgen import pipeline

    judged = pipeline.assess_read

    def failing(read: pipeline.ReadJob) -> pipeline.Assessed:
        if read.loaded.job.certificate.number == "M-01":
            raise failure
        return judged(read)

    monkeypatch.setattr("certgen.issuing.certificate.assess_read", failing)
    assert main(["issue", str(folder), "--out", "out"]) == 2
    told = capsys.readouterr()
    assert told.out.splitlines() == ["out/M-00.pdf: pass", "out/M-02.pdf: pass"]
    assert f"{folder / '01.yaml'}: the program failed here ({failure.__name__} in failing, line " in told.err
    assert "Traceback" not in told.err
    assert main(["-v", "issue", str(folder), "--out", "out"]) == 2
    assert "Traceback (most recent call last):" in capsys.readouterr().err


def test_a_workbook_without_sheets_is_one_bad_job(folder: Path) -> None:
    """Two jobs, one with a workbook that has no sheet, by real workers."""
    import io
    import zipfile

    for path in sorted(folder.iterdir())[2:]:
        path.unlink()
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as file:
        file.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        file.writestr(
            "content.xml", "<office:document-content xmlns:office='urn:oasis:names:tc:opendocument:xmlns:office:1.0'/>"
        )
    (folder / "empty.ods").write_bytes(target.getvalue())
    job = folder / "01.yaml"
    text = job.read_text(encoding="utf-8")
    job.write_text(text[: text.index("readings:")] + "readings:\n  load_test: {file: empty.ods}\n", encoding="utf-8")
    orders = [Order(folder / f"0{index}.yaml", Path("out"), None, None, SheetOptions()) for index in range(2)]
    with local_workers(2) as workers:
        outcomes = list(on_workers(orders, workers))
    assert [bool(outcome.error) for outcome in outcomes] == [False, True]


def test_the_command_heeds_signals_before_it_loads_anything() -> None:
    code = (
        "import certgen.__main__, sys; heavy = {'typing', 'dataclasses', 'argparse', 'certgen.cli', 'numpy'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-S", "-c", code], capture_output=True, text=True, check=True,
                          env=Surroundings().all)  # fmt: skip
    assert done.stdout == "[]\n"
