"""``certgen key``: a signing key with a certificate that vouches for itself."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.errors import CertgenError

# A passphrase by prompt or from a file, never on the command line, where others can read it.


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


# ``certgen key``: a signing key with a certificate that vouches for itself.


HELP = "make a signing key with a certificate of its own (optional extra 'sign')"

_WARNING = """\
Nobody but you vouches for this certificate. It shows that pages signed with it come from whoever holds the key and were
not changed since; it shows who that is only to people to whom you gave the certificate, or its SHA-256, in another way.
Keep the .p12 file and its passphrase to yourself and in two places; hand out the .crt file."""

_SHORTEST = 8


def add(command: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    command.add_argument("file", type=Path, metavar="FILE", help="the key to make, ending in .p12; NAME.crt beside it")
    command.add_argument("--name", required=True, help="whom the certificate names, for example the shop")
    command.add_argument("--years", type=int, default=10, help="how many years it is valid (default: 10)")
    add_passphrase(command)


def run(options: argparse.Namespace) -> int:
    """Make the two files and say what they are worth."""
    from certgen.archive.signing import certificate_bytes, new_key
    from certgen.archive.store import write_once
    from certgen.document.source import digest

    if options.file.suffix != ".p12":
        raise CertgenError(f"{options.file}: let the name of the key end in .p12.")
    if not 1 <= options.years <= 30:
        raise CertgenError(f"--years {options.years}: from 1 to 30.")
    public = options.file.with_suffix(".crt")
    for path in (options.file, public):
        if path.exists():
            raise CertgenError(f"{path}: this file exists, and nothing is overwritten; name another.")
    passphrase = _new_passphrase(options)
    made = new_key(options.name, passphrase, years=options.years)
    for path, data in ((options.file, made.secret), (public, made.certificate)):
        if not write_once(path, data, secret=path == options.file):
            raise CertgenError(f"{path}: this file appeared meanwhile, and nothing is overwritten.")
        print(path)
    print(f"SHA-256 of the certificate: {digest(certificate_bytes(made.certificate))}")
    print(_WARNING, file=sys.stderr)
    return 0


def _new_passphrase(options: argparse.Namespace) -> bytes:
    passphrase = passphrase_from(options, "Passphrase for the new key: ")
    if len(passphrase) < _SHORTEST:
        raise CertgenError(f"the passphrase has fewer than {_SHORTEST} characters; take a longer one.")
    if options.passphrase_file is None and passphrase_from(options, "Once more: ") != passphrase:
        raise CertgenError("the two passphrases differ; nothing was made.")
    return passphrase
