"""Many jobs at once: every one to its outcome, in processes, on a cluster, and across interrupts."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from bench import Bench

from certgen.cli import main
from certgen.errors import CertgenError
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.many import (
    Order,
    Outcome,
    carried_out,
    on_workers,
    one_by_one,
)
from certgen.issuing.workers import Cluster, cluster_workers, local_workers, worth_having

pytestmark = pytest.mark.slow

COUNT = 6


@pytest.fixture
def folder(bench: Bench) -> Path:
    """Jobs 0 to 5 of one motor; number 3 has a power without a unit."""
    job = bench.with_fine_instruments().write()
    text = job.read_text(encoding="utf-8")
    for index in range(COUNT):
        numbered = text.replace("WS-2026-007", f"M-{index}")
        wrong = numbered.replace("1.5 kW", "1.5") if index == 3 else numbered
        job.with_name(f"{index}.yaml").write_text(wrong, encoding="utf-8")
    job.unlink()
    Path("out").mkdir()
    return Path(job.parent.name)


def orders_of(folder: Path, archive: Path | None = None) -> list[Order]:
    out = None if archive is not None else Path("out")
    return [Order(job, out, None, archive, SheetOptions()) for job in sorted(folder.glob("*.yaml"))]


def written() -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in Path("out").iterdir()}


def test_one_bad_job_does_not_stop_the_others(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["issue", str(folder), "--out", "out"]) == 2
    told = capsys.readouterr()
    assert told.out.splitlines() == [f"out/M-{index}.pdf: pass" for index in range(COUNT) if index != 3]
    assert "motor/3.yaml:10:10: nameplate.power: '1.5' has no unit" in told.err
    assert told.err.splitlines()[-4:] == [
        "pass             5",
        "not issued       1",
        "jobs             6",
        "not issued: motor/3.yaml",
    ]


def test_workers_give_the_same_files_and_outcomes_in_order(folder: Path) -> None:
    alone = list(one_by_one(orders_of(folder)))
    files = written()
    for path in Path("out").iterdir():
        path.unlink()
    with local_workers(2) as workers:
        assert list(on_workers(orders_of(folder), workers)) == alone
    assert written() == files


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, dict[str, subprocess.Popen[bytes]]]]:
    """The address of a scheduler with one worker, each a process of its own, and these by name."""
    pytest.importorskip("distributed")
    known = tmp_path / "scheduler.json"
    common = ["--scheduler-file", str(known), "--no-dashboard"]
    commands = {
        "scheduler": ["distributed.cli.dask_scheduler", "--port", "0", *common],
        "worker": ["distributed.cli.dask_worker", "--no-nanny", "--nthreads", "1", *common],
    }
    here = Path(__file__).parent.parent
    paths = os.pathsep.join([str(here), str(here.parent)])
    running = {}
    try:
        for name, command in commands.items():
            running[name] = subprocess.Popen(
                [sys.executable, "-m", *command],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                cwd=tmp_path,
                env={**os.environ, "PYTHONPATH": paths},
            )
            while not known.exists() or not known.read_text(encoding="utf-8").endswith("}"):
                assert running[name].poll() is None
                time.sleep(0.05)
        yield json.loads(known.read_text(encoding="utf-8"))["address"], running
    finally:
        for process in running.values():
            process.kill()
            process.wait()


def test_a_running_cluster_does_the_same(folder: Path, cluster: tuple[str, dict[str, subprocess.Popen[bytes]]]) -> None:
    """A scheduler and a worker of this machine, reached by their address as any other."""
    alone = list(one_by_one(orders_of(folder)))
    for path in Path("out").iterdir():
        path.unlink()
    absolute = [
        Order(order.job.resolve(), Path("out").resolve(), None, None, order.options) for order in orders_of(folder)
    ]
    with cluster_workers(cluster[0]) as workers:
        there = list(on_workers(absolute, workers))
    assert [one.verdict for one in there] == [one.verdict for one in alone]
    assert len(written()) == COUNT - 1


def test_a_cluster_that_does_not_answer_is_told() -> None:
    pytest.importorskip("distributed")
    with pytest.raises(CertgenError, match="no cluster answers there"), cluster_workers("nonsense://1.2.3.4"):
        pass


def test_jobs_kept_in_an_archive_are_not_computed_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("kept").mkdir()
    archive = Path("kept")
    first = list(one_by_one(orders_of(folder, archive)))

    def never(*_: object) -> None:
        raise AssertionError("an unchanged job was reduced again")

    monkeypatch.setattr("certgen.pipeline.reduce_test", never)
    again = list(one_by_one(orders_of(folder, archive)))
    assert [(one.path, one.verdict) for one in again] == [(one.path, one.verdict) for one in first]
    assert [one.new for one in again] == [False] * COUNT


def test_certificates_in_a_folder_are_not_computed_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = list(one_by_one(orders_of(folder)))

    def never(*_: object) -> None:
        raise AssertionError("an unchanged job was reduced again")

    with monkeypatch.context() as patched:
        patched.setattr("certgen.pipeline.reduce_test", never)
        again = list(one_by_one(orders_of(folder)))
    assert [(one.path, one.verdict, one.error) for one in again] == [
        (one.path, one.verdict, one.error) for one in first
    ]
    assert not any(one.new for one in again)


@pytest.mark.parametrize("change", ["reading", "paper", "version", "byte"])
def test_whatever_changes_the_page_is_computed_again(
    folder: Path, change: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = orders_of(folder)[0]
    assert carried_out(order).new
    if change == "reading":
        text = order.job.read_text(encoding="utf-8")
        order.job.write_text(text.replace("1492", "1491"), encoding="utf-8")
    elif change == "paper":
        order = replace(order, options=SheetOptions(paper="letter"))
    elif change == "version":
        monkeypatch.setattr("certgen.issuing.certificate.__version__", "99")
    else:
        data = bytearray(Path("out/M-0.pdf").read_bytes())
        data[-200] ^= 1
        Path("out/M-0.pdf").write_bytes(data)
    outcome = carried_out(order)
    assert not outcome.new
    assert "an issued certificate is never overwritten" in outcome.error


def test_a_changed_reading_makes_a_job_new(folder: Path) -> None:
    Path("kept").mkdir()
    job = folder / "0.yaml"
    text = job.read_text(encoding="utf-8").replace("  number: M-0\n", "")
    main(["register", "start", "kept", "--numbers", "K{serial}"])
    for speed, number in (("1492", "K1"), ("1491", "K2"), ("1492", "K1")):
        job.write_text(text.replace("1492", speed), encoding="utf-8")
        outcome = carried_out(Order(job, None, None, Path("kept"), SheetOptions()))
        assert outcome.path == Path(f"kept/{number}.pdf")


@pytest.mark.parametrize("workers", ["1", "2"])
def test_an_interrupt_leaves_whole_files_only(folder: Path, workers: str) -> None:
    text = (folder / "0.yaml").read_text(encoding="utf-8")
    for index in range(60):
        (folder / f"more_{index:02}.yaml").write_text(text.replace("M-0", f"N-{index:02}"), encoding="utf-8")
    command = [sys.executable, "-m", "certgen", "issue", str(folder), "--out", "out", "--workers", workers]
    running = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert running.stdout is not None
    running.stdout.readline()  # the first certificate is there
    os.killpg(running.pid, signal.SIGINT)  # as a terminal does
    _, told = running.communicate(timeout=60)
    assert running.returncode == 130
    assert told.splitlines()[-1] == "stopped"
    assert "Traceback" not in told
    for name, data in written().items():
        assert not name.startswith("."), name
        assert data.rstrip().endswith(b"%%EOF"), name
    assert len(written()) < 60


def test_progress_is_shown_on_a_terminal_and_gone_at_the_end(folder: Path) -> None:
    leader, follower = pty.openpty()
    command = [sys.executable, "-m", "certgen", "issue", str(folder), "--out", "out"]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=follower)
    running.wait(timeout=60)
    os.close(follower)
    time.sleep(0.05)
    told = os.read(leader, 65536).decode()
    os.close(leader)
    assert "] 6 of 6" in told
    assert told[told.rindex(" of 6") :].startswith(" of 6\r\x1b[K")


def test_few_jobs_need_no_second_process() -> None:
    assert [worth_having(jobs, None) for jobs in (1, 5)] == [1, 1]
    assert [worth_having(jobs, 3) for jobs in (1, 2, 50)] == [1, 2, 3]
    assert 1 <= worth_having(1000, None) <= 1000


@pytest.mark.parametrize("workers", ["0", "-1", "two", "1000"])
def test_a_number_of_workers_that_is_none_is_told(folder: Path, workers: str, capsys) -> None:
    with pytest.raises(SystemExit):
        main(["issue", str(folder), "--workers", workers])
    assert "is no number of processes; write 1 to 256" in capsys.readouterr().err


def _slow(order: Order) -> Outcome:
    time.sleep(0.1)
    return Outcome(order.job, verdict="pass")


def _lost(order: Order, how: str) -> Outcome:
    return Outcome(order.job, error=how)


@pytest.mark.parametrize(
    ("gone", "by", "reported"),
    [
        ("scheduler", signal.SIGKILL, "its scheduler is gone"),
        ("worker", signal.SIGKILL, "none of its workers is left"),
        ("scheduler", signal.SIGSTOP, "its scheduler does not answer"),
    ],
)
def test_a_cluster_that_goes_away_or_hangs_is_reported(
    cluster: tuple[str, dict[str, subprocess.Popen[bytes]]],
    folder: Path,
    gone: str,
    by: signal.Signals,
    reported: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    address, running = cluster
    with cluster_workers(address) as workers:
        outcomes = workers.results(_slow, orders_of(folder) * 10, _lost)
        assert next(outcomes).verdict == "pass"
        monkeypatch.setattr("certgen.issuing.workers._WITHOUT_WORKERS", 1.0)
        monkeypatch.setattr("certgen.issuing.workers._ANSWERS_WITHIN", 1.0)
        running[gone].send_signal(by)
        with pytest.raises(CertgenError, match=reported):
            list(outcomes)


class _Done:
    """What a cluster promised and keeps at once, or not at all."""

    def __init__(self, call: Callable[..., list[int]], *arguments: object) -> None:
        self.kept = lambda: call(*arguments)

    def result(self, timeout: float) -> list[int]:
        return self.kept()


class _Client:
    """A cluster of two workers that end at the task 7."""

    status = "running"

    def __init__(self) -> None:
        self.scheduler = SimpleNamespace(ncores=None)
        self.sent: list[Sequence[int]] = []

    def sync(self, *_: object, **__: object) -> dict[str, int]:
        return {"one": 1, "two": 1}

    def submit(
        self, call: Callable[..., list[int]], of: Callable[[int], int], batch: Sequence[int], *, pure: bool
    ) -> _Done:
        self.sent.append(batch)
        return _Done(call, of, batch)


def test_a_cluster_gets_tasks_together_and_the_one_at_which_workers_end_is_found() -> None:
    distributed = pytest.importorskip("distributed")

    def twice(task: int) -> int:
        if task == 7:
            raise distributed.KilledWorker("7", None, 3)
        return 2 * task

    client = _Client()
    tasks = list(range(300))
    found = list(Cluster(client, "here").results(twice, tasks, lambda task, how: -task))
    assert found == [-7 if task == 7 else 2 * task for task in tasks]
    first, *_ = (batch for batch in client.sent if 7 in batch)
    assert 10 <= len(first) <= 20
    assert len(client.sent) == pytest.approx(300 / len(first) + len(first), abs=1)


def test_few_tasks_reach_every_worker_of_a_cluster() -> None:
    pytest.importorskip("distributed")
    client = _Client()
    assert list(Cluster(client, "here").results(abs, range(9), lambda task, how: -1)) == list(range(9))
    assert len(client.sent) == 9
