"""Feeds a reader of files from outside with spoilt ones, led by which lines of the program they reach.

    pip install atheris
    python tests/studies/fuzz.py READER [--seconds N] [--keep FOLDER]

Begins with good files and with those that once failed (tests/hostile/corpus). Prints how many files were read, the
slowest, and every fault: an exception that is no told mistake, a file that takes more than 20 s or 1.5 GB. Faults are
kept as files. Exit status 1 if there is one.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path

TESTS = Path(__file__).parent.parent
sys.path.insert(0, str(TESTS))  # the readers, where this runs as a script

MOST_SECONDS = 20  # for one file; the program's lines are traced, and the machine may be busy
MOST_MEGABYTES = 1500
CORPUS = TESTS / "hostile" / "corpus"
#: Readers whose files are long by nature. [byte]
_LONGEST = {"workbook": 40_000, "verify": 80_000}
#: Packages whose lines lead the search.
_FOLLOWED = ["certgen", "pypdf", "PIL"]
_WORDS = TESTS / "hostile" / "words.txt"


def _trace(reader: str, folder: Path) -> None:
    """Run in a process of its own: fault after fault is kept, and the search goes on."""
    import atheris

    slowest, known = 0.0, set()
    with atheris.instrument_imports(include=_FOLLOWED):
        from untrusted import READERS, Untrusted, seeds

        untrusted, read = Untrusted(folder / "work"), READERS[reader]
        for data in seeds(reader):  # imports what waits for its first use
            read(untrusted, data)

    def one(data: bytes) -> None:
        nonlocal slowest
        began = time.monotonic()
        try:
            read(untrusted, data)
        except Exception as fault:
            where = traceback.extract_tb(fault.__traceback__)[-1]
            kind = f"{type(fault).__name__} in {Path(where.filename).name}:{where.lineno}: {str(fault)[:200]}"
            place = (type(fault), where.filename, where.lineno)
            if place not in known:
                known.add(place)
                (folder / "faults" / sha256(data).hexdigest()[:12]).write_bytes(data)
                print(f"FAULT {sha256(data).hexdigest()[:12]} {kind}", file=sys.stderr, flush=True)
        took = time.monotonic() - began
        if took > slowest:
            slowest = took
            (folder / "slowest").write_bytes(data)
            print(f"SLOWEST {took:.3f}", file=sys.stderr, flush=True)

    warnings.simplefilter("error")
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


def _begin(reader: str, folder: Path) -> Path:
    """The files the search begins with."""
    from untrusted import seeds

    found = folder / "found"
    for name in ("found", "faults", "work"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    failed = [path.read_bytes() for path in (CORPUS / reader).glob("*")]
    for data in (*seeds(reader), *failed):
        (found / sha256(data).hexdigest()[:16]).write_bytes(data)
    return found


def search(reader: str, seconds: int, folder: Path) -> tuple[str, int, list[str]]:
    """Figures of the run, its exit status, and the faults found."""
    found = _begin(reader, folder)
    command = [
        sys.executable, __file__, "--traced", reader, str(folder), str(found), f"-max_total_time={seconds}",
        f"-timeout={MOST_SECONDS}", f"-rss_limit_mb={MOST_MEGABYTES}", f"-max_len={_LONGEST.get(reader, 8000)}",
        f"-artifact_prefix={folder / 'faults'}/", "-print_final_stats=1", f"-dict={_WORDS}",
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    faults = re.findall(r"^(?:FAULT |SUMMARY: ).*$", done.stderr, re.MULTILINE)
    read = re.findall(r"number_of_executed_units:\s+(\d+)", done.stderr)
    cover = re.findall(r"cov: (\d+)", done.stderr)
    slowest = re.findall(r"^SLOWEST (.*)$", done.stderr, re.MULTILINE)
    memory = re.findall(r"peak_rss_mb:\s+(\d+)", done.stderr)
    if not read:
        print(done.stderr[-3000:], file=sys.stderr)
    last = [figures[-1] if figures else "?" for figures in (read, cover, slowest, memory)]
    told = f"{reader}: {last[0]} files read, {last[1]} branches reached, slowest {last[2]} s, peak memory {last[3]} MB"
    return told, done.returncode, faults


def main(arguments: Sequence[str] | None = None) -> int:
    """Search for files a reader cannot bear, and say what was found."""
    parser = argparse.ArgumentParser(description="Search for files that a reader cannot bear.")
    parser.add_argument("reader")
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--keep", type=Path, help="folder for what is found (default: a passing one)")
    chosen = parser.parse_args(arguments)
    folder = chosen.keep or Path(tempfile.mkdtemp(prefix="found-"))
    told, status, faults = search(chosen.reader, chosen.seconds, folder)
    print(told)
    for fault in faults:
        print(fault)
    if faults:
        print(f"kept in {folder / 'faults'}")
    return 1 if faults or status else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--traced"]:
        reader_name, place = sys.argv[2], Path(sys.argv[3])
        sys.argv[1:4] = []
        _trace(reader_name, place)
    else:
        sys.exit(main())
