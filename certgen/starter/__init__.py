"""A commented job and rig to start from."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from certgen.archive.store import failure_reported, write_whole
from certgen.errors import CertgenError

#: File of the package -> where it goes in the new folder.
_FILES = {"job.yaml": "motor_1/job.yaml", "arm_brake.yaml": "rigs/arm_brake.yaml"}


def make_starter(folder: Path) -> tuple[Path, ...]:
    """Write the starting files into a new or empty folder and return their paths.

    Raises
    ------
    CertgenError
        A file of that name exists already, or the folder cannot be written.
    """
    targets = {folder / target: name for name, target in _FILES.items()}
    with failure_reported(folder):
        taken = [path for path in targets if path.exists()]
    if taken:
        raise CertgenError(f"{taken[0]}: this file exists and is left as it is; name another folder.")
    for path, name in targets.items():
        with failure_reported(path):
            path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, resources.files("certgen.starter").joinpath(name).read_bytes())
    return tuple(targets)
