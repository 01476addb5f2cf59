"""A passphrase by prompt or from a file, never on the command line, where others can read it."""

from __future__ import annotations

import argparse
from pathlib import Path

from certgen.errors import CertgenError


def add_passphrase(command: argparse.ArgumentParser) -> None:
    """Declare ``--passphrase-file``."""
    command.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="file whose first line opens the key (default: asked for)"
    )


def passphrase_from(options: argparse.Namespace, question: str) -> bytes:
    """The passphrase, asked for where no file holds it."""
    if options.passphrase_file is None:
        import getpass
        import warnings

        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", getpass.GetPassWarning)  # no terminal: what is typed could be seen
                return getpass.getpass(question).encode()
        except (EOFError, getpass.GetPassWarning):
            what = "there is no terminal to ask for the passphrase"
            raise CertgenError(f"{what}; write it into a file and name that with --passphrase-file.") from None
    try:
        with options.passphrase_file.open(encoding="utf-8") as file:
            line: str = file.readline(10_000)
    except (OSError, UnicodeDecodeError) as cause:
        raise CertgenError(f"{options.passphrase_file}: the passphrase cannot be read; check the file.") from cause
    return line.rstrip("\r\n").encode()
