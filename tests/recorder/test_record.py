"""``certgen record`` as a whole, in a process of its own, with a logger on a pseudo-terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import random
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from bench import Bench, replaced
from serial_logger import RIG, SerialLogger, data_rows, recorder, text_of, until

from certgen.cli import main

pytestmark = pytest.mark.slow

_LOGGER = RIG[RIG.index("logger:") :]


@pytest.fixture
def port(tmp_path: Path) -> Iterator[SerialLogger]:
    logger = SerialLogger(tmp_path / "ttyTEST")
    yield logger
    logger.unplug()


@pytest.fixture
def shop(bench: Bench) -> Bench:
    """The bench of one motor, with a logger on its rig."""
    bench.edit("rig", {"limits: {torque": _LOGGER + "limits: {torque"}).write()
    return bench


RUN = Path("motor/run.csv")


def arguments(port: SerialLogger, *more: str) -> list[str]:
    return ["rigs/rig.yaml", "--port", str(port.path), "--out", str(RUN), *more]


def recorded(count: int) -> bool:
    return len(data_rows(text_of(RUN))) >= count


def opened(process: subprocess.Popen[bytes]) -> None:
    """Read what the recorder says up to the moment the port is open."""
    assert process.stderr is not None
    read_until(process.stderr.fileno(), b"the port is open\n")


def ended(process: subprocess.Popen[bytes]) -> tuple[int, str, str]:
    out, err = process.communicate(timeout=20)
    return process.returncode, out.decode(), err.decode()


def test_a_session_from_before_the_motor_runs_to_the_certificate(shop: Bench, port: SerialLogger) -> None:
    """Started before the cable is in; noise, a cable pulled out and put back; the snippet makes it a test."""
    with recorder(*arguments(port, "--job", "motor/job.yaml")) as process:
        until(RUN.exists)
        port.plug()
        opened(process)
        port.send(b"92,0.00,1.92\r\n1492,0.00,1.92\r\n\xff\x00\xfe\r\n1458,1.10\r\n1458,1.10,2.50\r\n")
        until(lambda: recorded(2))
        port.send(b"1420,2")
        port.unplug()
        until(lambda: "# gap from" in text_of(RUN))
        port.plug()
        until(lambda: "# gap ends" in text_of(RUN))
        port.send(b".06,3.45\r\nmark held\r\n1420,2.06,3.45\r\n")
        until(lambda: recorded(3))
        process.send_signal(signal.SIGINT)
        status, out, err = ended(process)
    assert status == 0
    assert "the port is back" in err
    assert "above the rated current: 3.45 of 3.4 A" in err
    assert "motor/run.csv: 3 rows recorded, 1 mark" in err
    assert re.search(r"^1 gap, \d+\.\d s in all", err, re.MULTILINE)
    assert "1 line not read: with NUL bytes" in err
    rows = [row.split(",", 1)[1] for row in data_rows(text_of(RUN))]
    assert rows == ["1492,0.00,1.92,", "1458,1.10,2.50,", "1420,2.06,3.45,mark 1: held"]
    assert "# not read, with NUL bytes: \\xff\\x00\\xfe\n" in text_of(RUN)
    assert_judged(shop, out)


def assert_judged(shop: Bench, snippet: str) -> None:
    """What a recorder prints, put into the job in place of its load test, makes a test that is judged."""
    job = shop.texts["job"]
    typed = job[job.index("  load_test:") : job.index("criteria:")]
    lines = [line for line in snippet.splitlines() if "steady" not in line]
    assert lines[0] == "readings:"
    shop.edit("job", {typed: "\n".join(lines[1:]) + "\n"}).write()
    done = subprocess.run(
        [sys.executable, "-m", "certgen", "check", "motor/job.yaml"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")


_FORKS = """
import os, sys
import certgen.recorder.record
from certgen.cli import main
for line in sys.stdin:
    child = os.fork()
    if not child:
        os._exit(main(line.split()))
    print(child, flush=True)
    os.waitpid(child, 0)
    print("gone", flush=True)
"""


def test_killed_at_any_instant_it_has_lost_the_last_line_at_most(shop: Bench, port: SerialLogger) -> None:
    """The logger sends a line when the one before is in the file; after kill -9 the last one at most is missing."""
    random.seed(7)
    kills, sent = 36, 0
    port.plug()
    command = [sys.executable, "-c", _FORKS]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe) as process:
        assert process.stdin and process.stdout
        for kill in range(kills):
            process.stdin.write(" ".join(["record", *arguments(port), "--append" if kill else ""]).encode() + b"\n")
            process.stdin.flush()
            child = int(process.stdout.readline())
            opened(process)
            port.send(b"cut\n")
            last = time.monotonic() + random.uniform(0.0, 0.08)
            while time.monotonic() < last:
                sent += 1
                port.send(b"%d,1.00,2.00\n" % sent)
                while not text_of(RUN).endswith(f",{sent},1.00,2.00,\n") and time.monotonic() < last:
                    pass
            os.kill(child, signal.SIGKILL)
            assert process.stdout.readline() == b"gone\n"
            numbers = [int(row.split(",")[1]) for row in data_rows(text_of(RUN))]
            assert text_of(RUN).endswith("\n")
            assert numbers == list(range(1, len(numbers) + 1))
            assert sent - len(numbers) <= 1
            sent = len(numbers)
        process.stdin.close()
    assert sent > kills


def test_from_standard_input(shop: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    lines = b"1492,0.00,1.92\n# warm\nmark\n1458,1.10,2.50\n1420,2.06,3.45\n"
    command = [sys.executable, "-m", "certgen", "record", "rigs/rig.yaml", "--port", "-", "--out", str(RUN)]
    done = subprocess.run(command, input=lines, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert [row.split(",", 1)[1] for row in data_rows(text_of(RUN))] == [
        "1492,0.00,1.92,", "1458,1.10,2.50,mark 1", "1420,2.06,3.45,",
    ]  # fmt: skip
    assert "# logger: warm\n" in text_of(RUN)
    again = subprocess.run([*command, "--append"], input=lines, capture_output=True, check=False)
    assert again.returncode == 0
    assert len(data_rows(text_of(RUN))) == 6
    refused = subprocess.run(command, input=lines, capture_output=True, check=False)
    assert refused.returncode == 2
    assert b"never overwritten" in refused.stderr
    assert len(data_rows(text_of(RUN))) == 6


def test_nothing_that_could_be_read_ends_with_1(shop: Bench) -> None:
    command = [sys.executable, "-m", "certgen", "record", "rigs/rig.yaml", "--port", "-", "--out", str(RUN)]
    done = subprocess.run(command, input=b"gibberish\n" * 30, capture_output=True, check=False)
    assert done.returncode == 1
    assert b"no line could be read so far" in done.stderr
    assert done.stdout == b""


_OWN_TERMINAL = """
import fcntl, sys, termios
from certgen.cli import main
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
sys.exit(main(sys.argv[1:]))
"""


def read_until(descriptor: int, wanted: bytes) -> bytes:
    """What comes from a terminal until something wanted has come."""
    told = b""
    while wanted not in told:
        ready, _, _ = select.select([descriptor], [], [], 20.0)
        assert ready, told
        told += os.read(descriptor, 4096)
    return told


@pytest.mark.parametrize("key", [b"q", b"\x03"])
def test_keys_mark_a_point_and_end_and_the_terminal_is_left_as_it_was(
    shop: Bench, port: SerialLogger, key: bytes
) -> None:
    outer, inner = pty.openpty()
    fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 60, 0, 0))
    before = termios.tcgetattr(inner)
    port.plug()

    process = subprocess.Popen(
        [sys.executable, "-c", _OWN_TERMINAL, "record", *arguments(port)],
        stdin=inner, stdout=subprocess.PIPE, stderr=inner, start_new_session=True,
        env={**os.environ, "TERM": "xterm", "COLUMNS": ""},
    )  # fmt: skip
    told = b""
    try:
        told += read_until(outer, b"the port is open")
        port.send(b"cut\n1492,0.00,1.92\n")
        until(lambda: recorded(1))
        os.write(outer, b" ")
        told += read_until(outer, b"mark 1: the next row")
        port.send(b"1458,1.10,2.50\n")
        until(lambda: recorded(2))
        told += read_until(outer, b"1458 rpm")
        os.write(outer, key)
        told += read_until(outer, b"2 rows recorded")
        assert process.wait(timeout=20) == 0
    finally:
        process.kill()
        process.communicate()
    assert termios.tcgetattr(inner) == before
    os.close(inner)
    os.close(outer)
    assert [row.split(",", 1)[1] for row in data_rows(text_of(RUN))] == ["1492,0.00,1.92,", "1458,1.10,2.50,mark 1"]
    pictures = [part for part in told.decode().split("\r\x1b[K") if part.count("\n") == 0]
    assert pictures
    assert all(len(part) < 60 for part in pictures)


def test_a_job_on_another_rig_is_refused(shop: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    Path("rigs/other.yaml").write_text(RIG, encoding="utf-8")
    assert main(["record", "rigs/other.yaml", "--job", "motor/job.yaml", "--port", "-"]) == 2
    told = capsys.readouterr().err
    assert (
        told == "motor/job.yaml:19:6: rig: this is another rig than 'rigs/other.yaml'; name one rig in both places.\n"
    )


def test_a_job_needs_no_load_test_yet(shop: Bench) -> None:
    text = shop.texts["job"]
    readings = text[text.index("readings:") : text.index("criteria:")]
    Path("motor/job.yaml").write_text(replaced(text, {readings: ""}), encoding="utf-8")
    command = [sys.executable, "-m", "certgen", "record", "rigs/rig.yaml", "--job", "motor/job.yaml"]
    done = subprocess.run(
        [*command, "--port", "-", "--out", str(RUN)], input=b"1420,2.06,3.6\n", capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert b"above the rated current: 3.6 of 3.4 A" in done.stderr
    assert b"    file: run.csv\n" in done.stdout


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["rigs/plain.yaml"], "the rig has no logger; write 'logger: {separator: comma"),
        (["rigs/rig.yaml"], "the logger has no port; write 'port:' in the rig file, or give --port"),
        (["rigs/absent.yaml"], "there is no such file"),
        (["rigs/rig.yaml", "--port", "-", "--out", "run.ods"], "certgen reads files ending in .csv"),
        (["rigs/rig.yaml", "--port", "-", "--append"], "name the file to go on in with --out"),
        (["rigs/rig.yaml", "--port", "-", "--out", "run.csv", "--append"], "no such file to go on in"),
        (["rigs/rig.yaml", "--port", "-", "--out", "absent/run.csv"], "name a folder that may be written to"),
        (["rigs/rig.yaml", "--port", "rigs/rig.yaml", "--out", "run.csv"], "the port cannot be read"),
    ],
)
def test_what_cannot_be_recorded_is_told(
    shop: Bench, capsys: pytest.CaptureFixture[str], more: list[str], told: str
) -> None:
    Path("rigs/plain.yaml").write_text(RIG[: RIG.index("logger:")], encoding="utf-8")
    assert main(["record", *more]) == 2
    assert told in capsys.readouterr().err
    assert not list(Path().glob("*.csv"))


def test_help_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["record", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert "The live view is no guard" in told
    assert "emergency stop within reach" in told
