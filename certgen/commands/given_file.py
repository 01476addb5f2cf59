"""A file given on the command line, read within a bound."""

from __future__ import annotations

from pathlib import Path

from certgen.errors import CertgenError


def read_given(path: Path, most: int) -> bytes:
    """The bytes of an ordinary file; nothing that may never end is begun.

    Raises
    ------
    CertgenError
        It is absent, no ordinary file, larger than ``most`` bytes, or may not be read. The message begins with what is
        wrong: whoever tells it names the file.
    """
    try:
        if path.exists() and not path.is_file():
            raise CertgenError("this is not an ordinary file; give the name of a file.")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as cause:
        raise CertgenError(f"cannot be read ({cause.strerror or cause}); check its name and permissions.") from cause
    if len(data) > most:
        raise CertgenError(f"larger than {most // 1_000_000} MB, which no such file is; give the right one.")
    return data
