"""``certgen record`` from rig file to summary."""

from __future__ import annotations

import contextlib
import math
import os
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from queue import Empty, SimpleQueue

from certgen import __version__
from certgen.document.source import Problems
from certgen.errors import CertgenError, InputError
from certgen.issuing.layouts import language_of, spoken
from certgen.job.load import LoadedJob, load_before
from certgen.job.logger import Logger
from certgen.job.table import Steady
from certgen.messages.catalogue import Message
from certgen.messages.format import SI, Units
from certgen.readings.model import Table
from certgen.readings.read import brake_envelope
from certgen.readings.recording.file import ENDINGS
from certgen.readings.recording.port import (
    Arrived,
    Back,
    Ended,
    Events,
    Gone,
    SerialSource,
    Source,
    StreamSource,
    Waiting,
    serial_opener,
)
from certgen.readings.recording.recording import Recording, begin, go_on, job_lines
from certgen.readings.recording.rows import LineReader, Row
from certgen.readings.text_file import MOST_BYTES
from certgen.recorder.dashboard import Dashboard, PlannedLoad, SteadyWatch
from certgen.recorder.live import Alarms, Live, LiveView, picture, summary
from certgen.recorder.screen import Key, Screen, keys_into, standard_input
from certgen.recorder.upset_watch import Sample, UpsetWatch
from certgen.reduction.log.steady import bands_of

# The recording while it runs: every event in turn, the file first, the picture after.


_WAIT = 0.2  # [s]
_MOST_AT_ONCE = 500  # events handled before the file is brought up to date
_APART = 0.005  # between two rows in which upsets are looked for [s]
_SILENCE = 3.0  # without a line, before the picture says so [s]
_LONG_SILENCE = 10.0  # the same, before a message does [s]
#: Lines that could not be read, with none that could, before the rig's description is called in question.
_MOST_UNREAD = 20
MARK_KEYS, BELL_KEYS, END_KEYS = ("m", "M", " "), ("b", "B"), ("q", "Q", "\x03", "\x04")


@dataclass(frozen=True)
class Stop:
    """Asked to end, by a signal."""


class Session:
    """Takes events until one of them ends the recording."""

    def __init__(
        self,
        recording: Recording,
        live: LiveView,
        screen: Screen,
        clock: Callable[[], float] = time.monotonic,
        dashboard: Dashboard | None = None,
    ) -> None:
        self.recording, self.failure = recording, ""
        self._view: LiveView | None = live
        self._screen, self._clock, self._alarms = screen, clock, Alarms()
        self._watch, self._dashboard = UpsetWatch(), dashboard
        self._last_followed = -math.inf
        self._live: Live | None = None
        self._state: Message | None = None
        self._opened = False
        self._began = self._last_line = clock()
        self._reported: set[str] = set()
        self._silence_reported = False

    def run(self, events: Events) -> None:
        """Record until the source ends, a key or a signal says so, or the source fails (then ``failure`` says why)."""
        going = True
        while going:
            rows: list[tuple[Row, float]] = []
            for event in _batch(events):
                going = self._take(event, rows) and going
            self.recording.save()
            self._see(rows)

    def _take(self, event: object, rows: list[tuple[Row, float]]) -> bool:
        """One event; whether the recording goes on."""
        match event:
            case Arrived():
                self._last_line, self._silence_reported = event.at, False
                row = self.recording.take(event.line, event.at)
                if row is not None:
                    rows.append((row, event.at))
            case Key():
                if event.sign in MARK_KEYS:
                    self._screen.say(Message("recorder.mark", mark=self.recording.mark()))
                if event.sign in BELL_KEYS:
                    self._screen.bell = not self._screen.bell
                return event.sign not in END_KEYS
            case Waiting():
                self._wait_for_port(Message("recorder.port.waiting"), event.why)
            case Gone():
                self.recording.gone(event.at, event.why)
                self._watch.pause()
                if self._dashboard is not None:
                    self._dashboard.pause()
                self._wait_for_port(Message("recorder.port.gone"), event.why)
            case Back():
                self.recording.back(event.at)
                again = self._opened and self._state is not None
                self._screen.say(Message("recorder.port.back" if again else "recorder.port.open"))
                self._opened, self._state, self._last_line = True, None, event.at
            case Ended():
                self.failure = event.failure
                return False
            case Stop():
                return False
        return True

    def _wait_for_port(self, state: Message, why: str) -> None:
        self._state = state
        self._screen.say(Message("recorder.port.because", state=state, why=why))

    def _see(self, rows: list[tuple[Row, float]]) -> None:
        """Bring the picture up to date; if that fails, only the picture stops."""
        if self._view is not None and rows:
            try:
                self._live = self._view.of([row for row, _ in rows])
                times = [at for _, at in rows]
                samples = list(self._followed(self._live.samples(times)))
                for upset in self._watch.happened(samples):
                    self._screen.say(upset, urgent=True)
                if self._dashboard is not None and self._dashboard.take(samples):
                    self._screen.ring()
                for warning in self._alarms.raised(self._live.margins):
                    self._screen.say(warning, urgent=True)
            except Exception as failure:
                self._view = self._live = None
                self._screen.say(Message("recorder.no_figures", kind=type(failure).__name__, failure=str(failure)))
        self._check_file()
        state = self._state or self._silence()
        if state is not None:  # figures of a moment ago would be taken for those of now
            self._live = None
        elapsed = self._clock() - self._began
        self._screen.show(picture(self._live, self.recording.tally, elapsed, state))
        if self._dashboard is not None:
            self._screen.see(self._dashboard.face(self._live, picture(None, self.recording.tally, elapsed, state)))

    def _followed(self, samples: Iterator[Sample]) -> Iterator[Sample]:
        """Rows far enough apart: what follows the test row by row must not keep a flood of lines from the file."""
        for sample in samples:
            if sample.time - self._last_followed >= _APART:
                self._last_followed = sample.time
                yield sample

    def _silence(self) -> Message | None:
        """What to say of a logger that does not send, nothing while it does."""
        silent = self._clock() - self._last_line
        if silent > _LONG_SILENCE and not self._silence_reported:
            self._silence_reported = True
            self._screen.say(Message("recorder.long_silence", time=silent))
        return Message("recorder.silence", time=silent) if silent > _SILENCE else None

    def _check_file(self) -> None:
        """Report, once each, that no line can be read, and that the file grows too large."""
        tally = self.recording.tally
        rate = self.recording.clocks.disagreement
        if rate is not None and rate.key != "recorder.clock.continued":
            self._say_once(rate)
        if not tally.rows and tally.unread.total() >= _MOST_UNREAD:
            why = tally.unread.most_common(1)[0][0]
            self._say_once(Message("recorder.nothing_read", count=tally.unread.total(), why=why))
        if self.recording.file.size > MOST_BYTES:
            self._say_once(Message("recorder.large_file", most=MOST_BYTES // 1_000_000))

    def _say_once(self, message: Message) -> None:
        if message.key not in self._reported:
            self._reported.add(message.key)
            self._screen.say(message)


def _batch(events: Events) -> list[object]:
    """The next event and those that came with it; none if nothing comes for a while."""
    batch: list[object] = []
    with contextlib.suppress(Empty):
        batch.append(events.get(timeout=_WAIT))
        while len(batch) < _MOST_AT_ONCE:
            batch.append(events.get_nowait())
    return batch


# ``certgen record`` from rig file to summary.


STANDARD_INPUT = "-"
CAUTION = Message("recorder.caution")
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
    language: str | None = None  # of the screen; the job's, else English, where it is left out


def record(options: RecordOptions) -> int:
    """Record until asked to stop; 0 where there are rows, 1 where nothing could be recorded.

    Raises
    ------
    CertgenError
        The rig, the job, the port or the file cannot be used; what was recorded before is safe.
    """
    loaded, logger = _loaded(options)
    port = options.port or logger.port
    if port is None:
        raise CertgenError(f"{options.rig}: the logger has no port; write 'port:' in the rig file, or give --port.")
    envelope = _envelope(loaded)
    live = LiveView(loaded, envelope)
    events: Events = SimpleQueue()
    source: Source
    if port == STANDARD_INPUT:
        source = StreamSource(standard_input(), logger.line_ending, events)
    else:
        source = SerialSource(serial_opener(port, logger), logger.line_ending, events)
    reader = LineReader(logger, loaded.rig)
    path = _target(options)
    lines = job_lines(_seen_from(path, options.job), reader.headers)
    units = _spoken(options, loaded)
    screen, dashboard = Screen(units=units), _dashboard(loaded, envelope, units)
    screen.start()
    try:
        recording = _opened(options, path, reader, lines, screen)
        screen.say(_greeting(path, port))
        if not _within_reach(path, options.job):
            screen.say(Message("recorder.out_of_reach", path=str(path), job=str(options.job)))
        session = Session(recording, live, screen, dashboard=dashboard)
        _run(session, source, events, keys=port != STANDARD_INPUT)
        screen.see(None)
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
    disagreement = recording.clocks.disagreement if any(header.own_clock for header in reader.headers) else None
    if disagreement is not None:
        lines = job_lines(_seen_from(path, options.job), reader.headers, disagreement)
    print("\n".join(("readings:", *lines)))
    return 0


def _spoken(options: RecordOptions, loaded: LoadedJob) -> Units:
    """The units and the language of the screen: the job's where there is one, a language asked for before it."""
    if options.job is None:
        return Units(SI, language=spoken(options.language or "en"))
    return Units(loaded.job.sheet.units, language=language_of(loaded, options.language))


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


def _dashboard(loaded: LoadedJob, envelope: Table | None, units: str) -> Dashboard:
    """The full screen of a rig, with the plate and the plan of a job where there is one."""
    bands = bands_of(Steady(), 0.0)
    watch = SteadyWatch(bands.hold, bands.speed, bands.torque)
    plate = loaded.job.nameplate
    at_plate = (plate.speed, plate.power / plate.speed) if plate.power and plate.speed else None
    try:
        planned = tuple(_planned(loaded, envelope, units))
    except Exception:  # a job that cannot be planned is recorded all the same
        planned = ()
    return Dashboard(planned, at_plate, watch)


def _planned(loaded: LoadedJob, envelope: Table | None, units: str) -> Iterator[PlannedLoad]:
    """The loads of the plan that the rig holds, in the order in which they are taken."""
    from certgen.planning.make import make_plan
    from certgen.sheet.plan_content import scale_figure

    if loaded.job.motor is None:
        return
    plan = make_plan(loaded.job, loaded.rig, envelope, {})
    for point in plan.points:
        if point.torque is not None and point.holds is not False:
            speed = math.nan if point.speed is None else point.speed.value
            scale = "" if point.scale is None else scale_figure(point.scale, plan, units)
            yield PlannedLoad(point.name, point.torque.value, speed, scale)


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
    about = [str(Message("recorder.made_by", version=__version__)), str(Message("recorder.use_in_job"))]
    about += ["readings:", *lines]
    now = {"monotonic": time.monotonic(), "wall": time.time()}
    if not options.append:
        return begin(path, reader, about=about, **now)
    recording, torn = go_on(path, reader, about=about, **now)
    if torn:
        screen.say(Message("recorder.torn", path=str(path)))
    return recording


def _greeting(path: Path, port: str) -> Message:
    if port == STANDARD_INPUT:
        return Message("recorder.from_standard_input", path=str(path), caution=CAUTION)
    return Message("recorder.from_port", path=str(path), port=port, caution=CAUTION)


def _run(session: Session, source: Source, events: Events, *, keys: bool) -> None:
    try:
        with _signals_into(events), keys_into(events, standard_input() if keys else -1):
            source.start()
            try:
                session.run(events)
            finally:
                source.stop()
    finally:
        session.recording.close(time.monotonic())
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
