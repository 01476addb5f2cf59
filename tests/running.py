"""The real command in a process of its own, in whatever surroundings a test makes for it."""

from __future__ import annotations

import ctypes
import os
import resource
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

REPOSITORY = Path(__file__).parent.parent
#: A hang guard, far above what any command takes. [s]
PATIENCE = 300.0

#: Which processor the linear algebra takes the machine to have; the last digits of its sums go by that.
_OF_THE_MACHINE = "OPENBLAS_"

_DROP_FROM_BOUNDING_SET = 24  # prctl(2), PR_CAPBSET_DROP
_PASSES_PERMISSIONS = (1, 2)  # capabilities(7), CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH


@dataclass(frozen=True)
class Surroundings:
    """Where a command runs: its environment (little else is set), what happens before it starts, its streams."""

    environment: Mapping[str, str] = field(default_factory=dict)
    before: Callable[[], object] | None = None
    closed: tuple[int, ...] = ()  # descriptors
    code: str = ""  # runs instead of the command, in the interpreter, with its arguments

    def run(self, *arguments: str, given: str | None = None) -> subprocess.CompletedProcess[str]:
        """Run ``certgen`` with these arguments."""
        return subprocess.run(
            self.command(*arguments),
            env=self.all,
            preexec_fn=self._prepare,
            input=given,
            stdin=subprocess.DEVNULL if given is None else None,
            capture_output=True,
            encoding="utf-8",
            errors="replace",
            timeout=PATIENCE,
            check=False,
        )

    def command(self, *arguments: str) -> list[str]:
        """The words of the command."""
        start = ["-c", self.code] if self.code else ["-m", "certgen"]
        return [sys.executable, *start, *arguments]

    @property
    def all(self) -> dict[str, str]:
        """The whole environment."""
        machine = {name: value for name, value in os.environ.items() if name.startswith(_OF_THE_MACHINE)}
        return {"PYTHONPATH": str(REPOSITORY), "PYTHONDONTWRITEBYTECODE": "1", **machine, **self.environment}

    def _prepare(self) -> None:
        if self.before is not None:
            self.before()
        for descriptor in self.closed:
            os.close(descriptor)


def bound_by_permissions() -> None:
    """Let permissions bind the superuser too."""
    if os.geteuid() == 0:
        library = ctypes.CDLL(None, use_errno=True)
        for capability in _PASSES_PERMISSIONS:
            if library.prctl(_DROP_FROM_BOUNDING_SET, capability, 0, 0, 0) != 0:
                raise OSError(ctypes.get_errno(), "prctl")


def no_file_larger_than(size: int) -> Callable[[], None]:
    """Let every write beyond a size fail, as on a full disk. [byte]"""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


def told_in_a_paragraph(done: subprocess.CompletedProcess[str]) -> str:
    """What a command that could not do its work said: one line on standard error, exit status 2."""
    assert done.returncode == 2, done
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.endswith(".\n")
    told = done.stderr.removesuffix("\n")
    assert told.isprintable(), done.stderr
    assert ": " in told
    assert "; " in told
    return told


def files_below(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
