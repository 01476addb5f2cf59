"""``certgen record`` from rig file to summary."""

from __future__ import annotations

import contextlib
import os
import signal
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from queue import SimpleQueue

from certgen import __version__
from certgen.document.source import Problems
from certgen.errors import CertgenError, InputError
from certgen.job.before_test import load_before
from certgen.job.load import LoadedJob
from certgen.job.logger import Logger
from certgen.readings.model import Table
from certgen.readings.read import brake_envelope
from certgen.readings.recording.file import ENDINGS
from certgen.readings.recording.port import Events, SerialSource, Source, StreamSource, serial_opener
from certgen.readings.recording.recording import Recording, begin, go_on
from certgen.readings.recording.rows import LineReader
from certgen.readings.recording.snippet import job_lines
from certgen.recorder.keys import keys_into, standard_input
from certgen.recorder.live import LiveView
from certgen.recorder.picture import summary
from certgen.recorder.screen import Screen
from certgen.recorder.session import Session, Stop

STANDARD_INPUT = "-"
CAUTION = "Watching this screen is no guard: keep the emergency stop within reach, stand clear of the shaft."
_EXAMPLE = "'logger: {separator: comma, columns: [{name: speed, unit: rpm}, {name: scale, unit: kg}]}'"
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


@dataclass(frozen=True)
class RecordOptions:
    """What the command line says."""

    rig: Path
    job: Path | None = None
    port: str | None = None
    out: Path | None = None
    append: bool = False


def record(options: RecordOptions) -> int:
    """Record until told to stop; 0 where there are rows, 1 where nothing could be recorded.

    Raises
    ------
    CertgenError
        The rig, the job, the port or the file cannot be used; what was recorded before is safe.
    """
    loaded, logger = _loaded(options)
    port = options.port or logger.port
    if port is None:
        raise CertgenError(f"{options.rig}: the logger has no port; write 'port:' in the rig file, or give --port.")
    live = LiveView(loaded, _envelope(loaded))
    events: Events = SimpleQueue()
    source: Source
    if port == STANDARD_INPUT:
        source = StreamSource(standard_input(), logger.line_ending, events)
    else:
        source = SerialSource(serial_opener(port, logger), logger.line_ending, events)
    reader = LineReader(logger, loaded.rig)
    path = _target(options)
    lines = job_lines(_seen_from(path, options.job), reader.headers)
    screen = Screen()
    screen.start()
    try:
        recording = _opened(options, path, reader, lines, screen)
        screen.say(_greeting(path, port))
        if not _within_reach(path, options.job):
            screen.say(f"a job may not name {path} where it is; move it beside {options.job} afterwards")
        session = Session(recording, live, screen)
        _run(session, source, events, keys=port != STANDARD_INPUT)
        screen.show(())
        for line in summary(recording.tally, str(path)):
            screen.say(line)
    finally:
        screen.close()
    if session.failure:
        _without_rows(recording, append=options.append)
        raise CertgenError(f"{port}: the port cannot be read ({session.failure}); {_advice(session.failure)}.")
    if not recording.tally.rows:
        return 1
    print("\n".join(("readings:", *lines)))
    return 0


def _loaded(options: RecordOptions) -> tuple[LoadedJob, Logger]:
    problems = Problems()
    loaded = load_before(options.rig, options.job, problems)
    if problems.found or loaded is None:
        raise InputError(problems.found)
    if loaded.rig.logger is None:
        raise CertgenError(
            f"{options.rig}: the rig has no logger; write {_EXAMPLE}, as the handbook's page on recording shows."
        )
    return loaded, loaded.rig.logger


def _envelope(loaded: LoadedJob) -> Table | None:
    problems = loaded.rig_reader.problems
    envelope = brake_envelope(loaded)
    if problems.found:
        raise InputError(problems.found)
    return envelope


def _target(options: RecordOptions) -> Path:
    if options.out is None:
        if options.append:
            raise CertgenError("--append: name the file to go on in with --out.")
        return Path(f"recording_{datetime.now().astimezone():%Y-%m-%d_%H%M%S}.csv")
    if options.out.suffix.lower() not in ENDINGS:
        raise CertgenError(f"--out {options.out}: certgen reads files ending in .csv; give it that ending.")
    return options.out


def _seen_from(path: Path, job: Path | None) -> str:
    """The file's name as the job would write it."""
    if job is None:
        return path.name
    return Path(os.path.relpath(path.resolve(), job.resolve().parent)).as_posix()


def _within_reach(path: Path, job: Path | None) -> bool:
    """Whether a job may name the file: within the folder above its own."""
    return job is None or path.resolve().is_relative_to(job.resolve().parent.parent)


def _opened(options: RecordOptions, path: Path, reader: LineReader, lines: list[str], screen: Screen) -> Recording:
    about = [f"certgen {__version__} record", "time is seconds since then; to use this in a job file:"]
    about += ["readings:", *lines]
    now = {"monotonic": time.monotonic(), "wall": time.time()}
    if not options.append:
        return begin(path, reader, about=about, **now)
    recording, torn = go_on(path, reader, about=about, **now)
    if torn:
        screen.say(f"the last line of {path} was cut short; it is kept as a comment")
    return recording


def _greeting(path: Path, port: str) -> str:
    keys = "Ctrl-C ends." if port == STANDARD_INPUT else "Space or m marks a point, q or Ctrl-C ends."
    return f"recording into {path} from {'standard input' if port == STANDARD_INPUT else port}. {keys}\n{CAUTION}"


def _run(session: Session, source: Source, events: Events, *, keys: bool) -> None:
    try:
        with _signals_into(events), keys_into(events, standard_input() if keys else -1):
            source.start()
            try:
                session.run(events)
            finally:
                source.stop()
    finally:
        session.recording.close()
    if not isinstance(source, StreamSource):  # a read of standard input cannot be broken off
        source.join(timeout=1.0)


@contextlib.contextmanager
def _signals_into(events: Events) -> Iterator[None]:
    """Let the signals that ask for an end do so between two lines."""

    def ask(*_: object) -> None:
        events.put(Stop())

    before = {}
    for name in _SIGNALS:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:  # as under nohup
            before[number] = signal.signal(number, ask)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _without_rows(recording: Recording, *, append: bool) -> None:
    """Take back a new file that nothing was recorded into."""
    if not append and not recording.tally.rows and not recording.tally.unread:
        with contextlib.suppress(OSError):
            recording.file.path.unlink()


def _advice(failure: str) -> str:
    if "ermission" in failure:
        return "let your user use serial ports (on Debian: the group 'dialout'), then log in again"
    return "check its name, that it is a serial port, and that no other program has it open"
