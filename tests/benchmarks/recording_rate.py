"""Does the recorder keep up with a logger? Rows kept at a steady rate, how late they are, and the most it takes.

python tests/benchmarks/recording_rate.py --rate 100 --seconds 10

Prints rows kept over lines sent at the rate, the time from sending a line to its row being in the file, and the
rate at which a flood of lines is recorded, as a multiple of the rate and as a multiple of one sync of this disk a row.
"""

from __future__ import annotations

import argparse
import os
import signal
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from serial_logger import RIG, SerialLogger, data_rows, recorder, text_of, until


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rate", type=float, default=100.0, help="lines a second")
    parser.add_argument("--seconds", type=float, default=10.0, help="how long")
    parser.add_argument("--flood", type=int, default=20_000, help="lines of the flood")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=".") as name:
        folder = Path(name)
        sync = sync_time(folder / "sync")
        count = round(options.rate * options.seconds)
        kept, delays = steady(folder, count, options.rate)
        worst = max(delays) * 1000
        print(f"{kept} of {count} rows kept at {options.rate:g} lines/s ({kept / count:.3f})")
        print(f"in the file after {statistics.median(delays) * 1000:.1f} ms (median), {worst:.0f} ms (worst)")
        flooded = flood(folder, options.flood)
        print(f"flood: {flooded:.0f} lines/s, {flooded / options.rate:.1f} times the rate")
        print(f"one sync a row would allow {1.0 / sync:.0f} lines/s: {flooded * sync:.1f} times that")
    return 0


def sync_time(path: Path) -> float:
    """Time to write and sync a short line. [s]"""
    with path.open("wb", buffering=0) as file:
        began = time.perf_counter()
        for _ in range(100):
            file.write(b"12.345,1420,2.06,3.45,\n")
            os.fdatasync(file.fileno())
    return (time.perf_counter() - began) / 100


def steady(folder: Path, count: int, rate: float) -> tuple[int, list[float]]:
    """Rows kept of lines sent at a rate, and how late each was in the file. [s]"""
    port, run = SerialLogger(folder / "steady"), folder / "steady.csv"
    port.plug()
    sent: list[float] = []
    delays: list[float] = []
    with recorder(*_arguments(folder, port, run)) as process:
        _opened(process)
        port.send(b"cut\n")
        threading.Thread(target=_watch, args=(run, sent, delays, count), daemon=True).start()
        began = time.perf_counter()
        for number in range(count):
            time.sleep(max(0.0, began + number / rate - time.perf_counter()))
            sent.append(time.perf_counter())
            port.send(b"%d,2.06,3.45\n" % number)
        time.sleep(1.0)
        process.send_signal(signal.SIGINT)
        process.communicate()
    port.unplug()
    return len(data_rows(text_of(run))), delays


def _watch(run: Path, sent: list[float], delays: list[float], count: int) -> None:
    with run.open(encoding="utf-8") as file:
        while len(delays) < count:
            line = file.readline()
            if not line:
                time.sleep(0.0005)
            elif line[0].isdigit():
                delays.append(time.perf_counter() - sent[len(delays)])


def flood(folder: Path, count: int) -> float:
    """Lines recorded a second when they come without a pause."""
    port, run = SerialLogger(folder / "flood"), folder / "flood.csv"
    port.plug()
    with recorder(*_arguments(folder, port, run)) as process:
        _opened(process)
        port.send(b"cut\n")
        began = time.perf_counter()
        for _ in range(count // 50):
            port.send(b"1420,2.06,3.45\n" * 50)
        until(lambda: run.stat().st_size > count * 22 and len(data_rows(text_of(run))) >= count // 50 * 50, 120.0)
        taken = time.perf_counter() - began
        process.send_signal(signal.SIGINT)
        process.communicate()
    port.unplug()
    return count / taken


def _arguments(folder: Path, port: SerialLogger, run: Path) -> list[str]:
    (folder / "rig.yaml").write_text(RIG, encoding="utf-8")
    return [str(folder / "rig.yaml"), "--port", str(port.path), "--out", str(run)]


def _opened(process) -> None:  # type: ignore[no-untyped-def]
    while b"the port is open" not in process.stderr.readline():
        pass


if __name__ == "__main__":
    sys.exit(main())
