"""A job file and the rig file it names, read together; their mistakes are reported together."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from pathlib import Path, PurePosixPath
from typing import TypeVar

from certgen.document.build import FileReference, Reader
from certgen.document.references import find, shown_name
from certgen.document.source import MOST_BYTES, Problems, decode, digest, parse, read_bounded
from certgen.document.vocabulary import Group, key
from certgen.document.wording import nearest, short
from certgen.errors import visible
from certgen.job.consistency import check_fit, check_rig
from certgen.job.model import (
    ASSUMED_GEAR_EFFICIENCY,
    AT_MOTOR,
    AT_OUTPUT,
    INDUCTION,
    MOTOR_SHAFT,
    OUTPUT_SHAFT,
    Job,
    ReadingsSource,
)
from certgen.job.pictures import Picture, pictures_of
from certgen.job.plate_ratings import as_stated
from certgen.job.rig import Rig
from certgen.job.shop import NamedShop, read_shop, with_shop
from certgen.job.table import TableSource, table

# The plate of a geared motor, brought to its output shaft.


#: Taken where the plate gives no frequency: the higher of the two mains frequencies, so that the speed of the
#: motor is never thought impossible when it is not. [Hz]
_HIGHEST_MAINS = 60.0
#: Whose plate it is, by the shaft its speed is said to belong to.
_PLATE_BY_SPEED = {MOTOR_SHAFT: AT_MOTOR, OUTPUT_SHAFT: AT_OUTPUT}
_TORQUES = ("locked_rotor_torque", "pull_up_torque", "breakdown_torque")


def at_output_shaft(job: Job) -> Job:
    """The same job with the plate of its geared motor brought to the output shaft of the gear.

    A plate is either that of the geared motor or that of the motor inside. ``gear.plate_at``, or ``gear.speed_of``, says
    which; where both are left out and the output shaft would need a motor faster than its synchronous speed, it is the
    motor's. Otherwise it is taken as the output shaft's. Of a motor's plate the speed is divided by the ratio, power and
    efficiency are multiplied by the gear's efficiency, and torques by both.
    """
    plate = job.nameplate
    gear = plate.gear if plate is not None else None
    if plate is None or gear is None or gear.ratio is None:
        return job
    plate_at = gear.plate_at or _PLATE_BY_SPEED.get(gear.speed_of or "")
    plate_at = plate_at or (AT_MOTOR if _too_fast(job) else AT_OUTPUT)
    speed_of = gear.speed_of or (MOTOR_SHAFT if plate_at == AT_MOTOR else OUTPUT_SHAFT)
    known = replace(gear, plate_at=plate_at, speed_of=speed_of)
    if plate_at == AT_OUTPUT:
        return replace(job, nameplate=replace(plate, gear=known))
    efficiency = gear.efficiency or ASSUMED_GEAR_EFFICIENCY
    factors = {"power": efficiency, "efficiency": efficiency, "speed": 1.0 / gear.ratio}
    factors |= dict.fromkeys(_TORQUES, gear.ratio * efficiency)
    at_output = {
        name: getattr(plate, name) * factor for name, factor in factors.items() if getattr(plate, name) is not None
    }
    punched = {name: value.times(factors.get(name, 1.0)) for name, value in plate.punched.items()}
    return replace(job, nameplate=replace(plate, gear=known, punched=punched, **at_output))


def _too_fast(job: Job) -> bool:
    """Whether the plate's speed at the output shaft would drive the motor past its synchronous speed."""
    plate = job.nameplate
    several = plate.punched.get("speed")
    speed = plate.speed if several is None else max(several.values)
    if job.motor is None or job.motor.type not in INDUCTION or plate.gear is None or speed is None:
        return False
    pole_pairs = (plate.poles or 2) / 2
    synchronous = 2.0 * math.pi * (plate.frequency or _HIGHEST_MAINS) / pole_pairs
    return speed * plate.gear.ratio > synchronous


# A job file and the rig file it names, read together; their mistakes are reported together.


Built = TypeVar("Built")
JobBuilt = TypeVar("JobBuilt", bound=Job)


@dataclass(frozen=True)
class LoadedJob:
    """A job with its rig: everything written about one test except the numbers of its tables.

    ``inputs`` maps each file read so far, named as the job names it, to the SHA-256 of its bytes; of a picture, of what
    it was cleaned to. ``shop`` is the shop file that the job names, whose words the job has already taken over.
    """

    job: Job
    rig: Rig
    folder: Path
    reader: Reader
    rig_reader: Reader
    inputs: Mapping[str, str] = field(default_factory=dict)
    shop: NamedShop | None = None
    pictures: tuple[Picture, ...] = ()

    @property
    def not_evaluated(self) -> tuple[str, ...]:
        """Keys written in job or rig whose use is not built; they change no result.

        A key stands for the keys below it.
        """
        rig_keys = [f"rig: {name}" for name in _topmost(self.rig_reader.not_evaluated)]
        shop_keys = [] if self.shop is None else [f"shop: {name}" for name in _topmost(self.shop.not_evaluated)]
        return (*_topmost(self.reader.not_evaluated), *rig_keys, *shop_keys)


#: In place of a job's name: it comes from standard input, and its files stand as seen from the working folder.
STANDARD_INPUT = Path("-")
#: What such a job is called in messages and inside a page.
CALLED = "standard_input.yaml"


@cache
def standard_input() -> bytes:
    """The job on standard input, read once, and cut off behind what a job may have."""
    import sys

    return sys.stdin.buffer.read(MOST_BYTES + 1)


#: What a job may leave out while it is planned: the test has not been made yet.
_BEFORE_THE_TEST = frozenset(
    (
        "certificate",
        "certificate.tested_on",
        "certificate.tested_by",
        "certificate.number",
        "readings",
        "readings.load_test",
    )
)


def load_job(
    path: Path, problems: Problems, called: str | None = None, *, before_the_test: bool = False
) -> LoadedJob | None:
    """The job at ``path`` with its rig, or ``None`` where the job is no mapping of keys.

    ``called`` is its name in messages, where that is not the path. Before the test, readings and the certificate's
    data may be absent; they are then gaps in the model, as after a mistake.

    Every mistake found is kept in ``problems``; the caller goes on to the tables and raises them together. A rig
    that cannot be read stands as an empty one, so that the rest of the job is still checked.
    """
    shown = str(path) if called is None else called
    data: bytes | None
    if path == STANDARD_INPUT:
        shown, path = CALLED, Path(CALLED)
        data = problems.read[CALLED] = standard_input()
        if len(data) > MOST_BYTES:
            problems.add(CALLED, (0, 0), f"the file is larger than {MOST_BYTES // 1000} kB", "shorten it")
            return None
    else:
        data = read_bounded(path, shown, problems)
    if data is None:
        return None
    not_needed = _BEFORE_THE_TEST if before_the_test else frozenset[str]()
    reader = Reader(shown, path.parent, problems, not_needed=not_needed)
    inputs = {visible(path.name): digest(data)}
    job, shop = _with_its_shop(Job, data, reader, inputs)
    if job is None:
        return None
    job = at_output_shaft(as_stated(job, reader.wrong_at))
    rig, rig_reader = _read_rig(job.rig, reader, inputs)
    check_fit(job, rig, reader, rig_reader)
    pictures = pictures_of(job.pictures, reader, path.parent)
    inputs |= {one.name: digest(one.data) for one in pictures}
    return LoadedJob(job, rig, path.parent, reader, rig_reader, inputs, shop, pictures)


def _with_its_shop(
    of: type[JobBuilt], data: bytes, reader: Reader, inputs: dict[str, str]
) -> tuple[JobBuilt | None, NamedShop | None]:
    """A job with what its shop file says, and that file."""
    text = decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    if root is None:
        return None, None
    before = len(reader.problems.found)
    shop = read_shop(root, reader, inputs)
    if len(reader.problems.found) > before or (shop is not None and shop.file.rig is not None):
        reader.not_needed |= {"rig"}  # the shop file names it, or may do so once it can be read
    job = reader.group(of, root)
    if job is None or shop is None:
        return job, shop
    return with_shop(job, shop.file, reader), shop


def _read_rig(reference: FileReference | None, reader: Reader, inputs: dict[str, str]) -> tuple[Rig, Reader]:
    unread = Rig(), Reader("", reader.folder, reader.problems)
    path = None if reference is None else find(reference, reader, reader.folder, "rig")
    if reference is None or path is None:
        return unread
    shown = shown_name(reader, reference)
    data = read_bounded(path, shown, reader.problems)
    rig, rig_reader = (None, None) if data is None else _rig_of(data, shown, path.parent)
    if data is None or rig_reader is None:
        return unread
    reader.problems.found.extend(rig_reader.problems.found)
    if rig is None:
        return unread
    inputs[reference.name] = digest(data)
    places, not_evaluated = dict(rig_reader.places), list(rig_reader.not_evaluated)
    return rig, replace(rig_reader, problems=reader.problems, places=places, not_evaluated=not_evaluated)


@lru_cache(maxsize=16)
def _rig_of(data: bytes, shown: str, folder: Path) -> tuple[Rig | None, Reader]:
    """A rig with its reader, which has the mistakes of the file; many jobs were tested on one rig."""
    reader = Reader(shown, folder, Problems())
    return _build(Rig, data, reader), reader


def _topmost(paths: Iterable[str]) -> list[str]:
    """Paths of keys without those below another of them."""
    topmost: list[str] = []
    for path in paths:
        if not any(path.startswith(f"{above}.") for above in topmost):
            topmost.append(path)
    return topmost


def _build(of: type[Built], data: bytes, reader: Reader) -> Built | None:
    text = decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    return None if root is None else reader.group(of, root)


# The job of an earlier test of the same motor, named by ``compare_with``.


_KEY = "compare_with"


def load_earlier(loaded: LoadedJob, own_name: str) -> LoadedJob | None:
    """The job that ``compare_with`` names, or ``None`` where it names none or the mistake was kept.

    ``own_name`` is the file name of the job that names it. The earlier job stays within the folder above the naming
    job's own, and so do the files it names in turn. What it is itself compared with is not followed.
    """
    reference, reader = loaded.job.compare_with, loaded.reader
    if reference is None:
        return None
    path = find(reference, reader, loaded.folder, _KEY)
    if path is None:
        return None
    own, fence = loaded.folder.resolve(), loaded.folder.resolve().parent
    wrong = ""
    if path == (own / own_name).resolve():
        wrong = "is this job itself"
    elif not path.parent.parent.is_relative_to(fence):
        wrong = "stands outside any job's folder, so its own files could lie anywhere"
    if wrong:
        what = f"{_KEY}: '{short(reference.name)}' {wrong}"
        reader.problems.add(
            reader.shown, reference.place, what, "name the job of the earlier test, in a folder of its own"
        )
        return None
    return load_job(path, reader.problems, shown_name(reader, reference))


def named_from(loaded: LoadedJob, inputs: Mapping[str, str]) -> dict[str, str]:
    """Digests of an earlier job's files, each called as the naming job would call it."""
    reference = loaded.job.compare_with
    assert reference is not None  # there is an earlier job
    folder = PurePosixPath(reference.name).parent
    return {_tidied(folder / name): sha256 for name, sha256 in inputs.items()}


def _tidied(path: PurePosixPath) -> str:
    parts: list[str] = []
    for part in path.parts:
        if part == ".." and parts and parts[-1] != "..":
            parts.pop()
        else:
            parts.append(part)
    return str(PurePosixPath(*parts))


# A rig, and a job whose load test is still to be made: what is known before the motor runs.


@dataclass(frozen=True)
class ReadingsBefore(ReadingsSource):
    """Readings as far as they were taken."""

    load_test: TableSource | None = key(table(), "The load test, where it was begun.")


@dataclass(frozen=True)
class JobBefore(Job):
    """A job without its load test."""

    readings: ReadingsSource = key(Group(ReadingsBefore), "What was read.", default=ReadingsBefore())


def load_before(rig_path: Path, job_path: Path | None, problems: Problems) -> LoadedJob | None:
    """A rig with the job to be done on it, or with an empty job; ``None`` where a file holds no keys.

    Every mistake found is kept in ``problems``. A job must name this rig.
    """
    rig_reader = Reader(str(rig_path), rig_path.parent, problems)
    rig = _build_untested(Rig, rig_path, rig_reader)
    if job_path is None:
        if rig is None:
            return None
        check_rig(rig, rig_reader)
        return LoadedJob(JobBefore(), rig, rig_path.parent, rig_reader, rig_reader)
    reader = Reader(str(job_path), job_path.parent, problems)
    data = read_bounded(job_path, reader.shown, problems)
    job, shop = (None, None) if data is None else _with_its_shop(JobBefore, data, reader, {})
    if rig is None or job is None:
        return None
    named = None if job.rig is None else find(job.rig, reader, job_path.parent, "rig")
    if named is not None and named != rig_path.resolve():
        reader.wrong_at("rig", f"this is another rig than '{rig_path}'", "name one rig in both places")
    geared = at_output_shaft(as_stated(job, reader.wrong_at))
    check_fit(geared, rig, reader, rig_reader)
    return LoadedJob(geared, rig, job_path.parent, reader, rig_reader, shop=shop)


def _build_untested(of: type[Built], path: Path, reader: Reader) -> Built | None:
    data = read_bounded(path, reader.shown, reader.problems)
    text = None if data is None else decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    return None if root is None else reader.group(of, root)


# A file of the shop's own that stands where a known name could.


_YAML = (".yaml", ".yml")


def named_file(name: str, key: str, known: Iterable[str], loaded: LoadedJob) -> tuple[Path, str] | None:
    """A file of the shop's own that stands where a known name could, and how messages call it; mistakes are kept."""
    reader = loaded.reader
    place = reader.places.get(key, (1, 1))
    if not name.endswith(_YAML):
        instead = f"{nearest(name, known)}, or name a file ending in .yaml"
        reader.problems.add(reader.shown, place, f"{key}: '{name[:40]}' is not known", instead)
        return None
    reference = FileReference(name, place)
    path = find(reference, reader, loaded.folder, key)
    return None if path is None else (path, shown_name(reader, reference))
