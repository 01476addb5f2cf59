"""``certgen sign``: append the shop's signature to certificates."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.commands.each_job import add_language, place_for, terminal_units
from certgen.commands.key import add_passphrase, passphrase_from
from certgen.commands.verify import read_given
from certgen.errors import CertgenError

HELP = "append the shop's signature to certificates (optional extra 'sign')"


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("pages", nargs="+", metavar="PDF", type=Path, help="certificate")
    command.add_argument(
        "--key", required=True, type=Path, metavar="FILE", help="key with its certificate: PKCS #12 (.p12) or PEM"
    )
    add_passphrase(command)
    add_language(command, "en")
    command.add_argument(
        "--timestamp",
        metavar="URL",
        help="let the time stamp authority there (RFC 3161) state when it saw the signature",
    )
    command.add_argument(
        "--out",
        metavar="PATH",
        help="the signed PDF, or a folder for it: NAME/ makes one (default: NAME-signed.pdf beside it)",
    )


def run(options: argparse.Namespace) -> int:
    """Sign every certificate into a file of its own."""
    from certgen.archive.reading import MOST_PDF
    from certgen.archive.seal import read_seal
    from certgen.archive.signing import is_locked, signed
    from certgen.archive.store import write_once
    from certgen.messages.catalogue import Message, text_of

    options.out = place_for("--out", options.out)
    if len(options.pages) > 1 and options.out is not None and not options.out.is_dir():
        raise CertgenError(f"--out {options.out}: with several certificates this must be an existing folder.")
    key = _key(options.key)
    passphrase = passphrase_from(options, f"Passphrase of {options.key}: ") if is_locked(key) else None
    units, status = terminal_units(options), 0
    for page in options.pages:
        document = _read(page, MOST_PDF)
        seal = read_seal(document)
        if seal is None or not seal.whole:
            print(text_of(Message("terminal.not_signed", page=str(page)), units=units), file=sys.stderr)
            status = 2
            continue
        target = _target(page, options.out)
        if not write_once(target, signed(document, key, passphrase, timestamp=options.timestamp)):
            raise CertgenError(f"{target}: this file exists, and nothing is overwritten; name another with --out.")
        print(target)
    return status


def _target(page: Path, out: Path | None) -> Path:
    if out is None:
        return page.with_name(f"{page.stem}-signed.pdf")
    return out / page.name if out.is_dir() else out


def _key(path: Path) -> bytes:
    """The bytes of a key that is its owner's alone."""
    import os
    import stat

    key = _read(path, 1_000_000)
    if os.name == "posix" and path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise CertgenError(
            f"{path}: others on this machine can read or change this key; take it back with 'chmod 600', and make "
            "a new key if anyone may have copied it."
        )
    return key


def _read(path: Path, most: int) -> bytes:
    try:
        return read_given(path, most)
    except CertgenError as error:
        raise CertgenError(f"{path}: {error}") from error
