"""A commented job and rig to start from, by kind of motor and units, or one of the examples."""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from certgen.archive.store import failure_reported, write_whole
from certgen.document.wording import nearest
from certgen.errors import CertgenError

#: File of the package -> where it goes in the new folder.
_FILES = {"job.yaml": "motor_1/job.yaml", "arm_brake.yaml": "rigs/arm_brake.yaml", "shop.yaml": "shop.yaml"}
#: Kinds of motor a start is there for; an unmarked one has an empty plate.
THREE_PHASE, SINGLE_PHASE, UNIVERSAL, UNMARKED = "three_phase", "single_phase", "universal", "unmarked"
#: A section of a job: from a key at the left margin to the next.
_SECTION = re.compile(r"^(?=[a-z_]+:)", re.MULTILINE)
_RIG = re.compile(r"^(?:rig|shop): ([\w./-]+)", re.MULTILINE)
_NAMES_FILE = re.compile(r"\b(?:file|compare_with|logo|plate|motor): ([\w./-]+)")


def make_starter(folder: Path, kind: str = THREE_PHASE, *, us: bool = False) -> tuple[Path, ...]:
    """Write the starting files into a new or empty folder and return their paths.

    Parameters
    ----------
    folder : Path
        To be made.
    kind : str
        Three-phase, single-phase, universal or unmarked.
    us : bool
        Pounds, feet and degrees Fahrenheit, 60 Hz, letter paper and the limits of NEMA MG 1.

    Raises
    ------
    CertgenError
        A file of that name exists already, or the folder cannot be written.
    """
    texts = {name: resources.files("certgen.starter").joinpath(name).read_text(encoding="utf-8") for name in _FILES}
    for name, text in texts.items():
        texts[name] = _in_kind(text, kind, us=us)
    return _written({folder / target: texts[name].encode() for name, target in _FILES.items()})


def _in_kind(text: str, kind: str, *, us: bool) -> str:
    """A starting file as its kind of motor and its units have it."""
    parts = _parts()
    of_kind = THREE_PHASE if kind == UNMARKED else kind
    sections = parts["us" if us else "metric"].get(of_kind, {})
    if kind == UNMARKED:
        sections = {**sections, "nameplate": parts["empty_plate"]}
    split = _SECTION.split(text)
    text = "".join(sections.get(section.partition(":")[0], section) for section in split)
    if of_kind in parts["types"]:
        text = text.replace("type: three-phase induction ", f"type: {parts['types'][of_kind]} ", 1)
    for lines in ((parts["us_lines"] if us else {}), parts.get(f"{kind}_lines", {})):
        for own, other in lines.items():
            text = text.replace(own, other)
    return text


def _parts() -> Mapping[str, Any]:
    import yaml

    text = resources.files("certgen.starter").joinpath("kinds.yaml").read_text(encoding="utf-8")
    found: Mapping[str, Any] = yaml.safe_load(text)
    return found


def _written(files: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """Files that must not be there yet, written whole."""
    for path in files:
        with failure_reported(path.parent.parent):
            if path.exists():
                raise CertgenError(f"{path}: this file exists and is left as it is; name another folder.")
    for path, data in files.items():
        with failure_reported(path):
            path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, data)
    return tuple(files)


# One of the examples.


def example_folder() -> Path:
    """Where the examples stand: in the package of an installed wheel, else beside it in the checkout."""
    inside = Path(str(resources.files("certgen"))) / "example_jobs"
    return inside if inside.is_dir() else inside.parent.parent / "example_jobs"


def example_names() -> tuple[str, ...]:
    """The examples there are, by name."""
    return tuple(sorted(path.parent.name for path in example_folder().glob("*/job.yaml")))


def copy_example(folder: Path, name: str) -> tuple[Path, ...]:
    """Write one of the examples with its rig and its readings into a new folder and return their paths.

    Raises
    ------
    CertgenError
        There is no example of that name, or a file exists already.
    """
    names = example_names()
    if name not in names:
        raise CertgenError(f"no example is called '{name[:40]}'; {nearest(name, names)}.")
    taken: dict[Path, bytes] = {}
    _take(example_folder() / name / "job.yaml", example_folder(), folder, taken)
    return _written(taken)


def _take(job: Path, source: Path, folder: Path, taken: dict[Path, bytes]) -> None:
    """A job with every file it names, and the job it is held against with its own."""
    target = folder / job.relative_to(source)
    if target in taken:
        return
    text = job.read_text(encoding="utf-8")
    taken[target] = job.read_bytes()
    for named in (*_RIG.findall(text), *_NAMES_FILE.findall(text)):
        path = (job.parent / named).resolve()
        if path.name == "job.yaml":
            _take(path, source.resolve(), folder, taken)
        elif path.is_file():
            taken[folder / path.relative_to(source.resolve())] = path.read_bytes()
            if path.name == "shop.yaml":  # what it names in turn
                shop = path.read_text(encoding="utf-8")
                for also in (*_RIG.findall(shop), *_NAMES_FILE.findall(shop)):
                    beside = (path.parent / also).resolve()
                    taken[folder / beside.relative_to(source.resolve())] = beside.read_bytes()
