"""Every kind of forgery of a failed motor's certificate: is one of them called sound?

    python tests/studies/forgeries.py [--job NAME]

Each kind of tests/archive/forgeries.py is tried twice: sealed again, and signed besides with a stranger's key that names
the same shop. Prints what each was told by; exit status 1 if any is called sound. About five minutes.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from archive.forgeries import FORGERIES

from certgen.archive.facts import GOOD, NOT_CHECKED
from certgen.archive.signature import judged
from certgen.archive.signing import new_key, signed
from certgen.archive.verify import verify
from certgen.commands.verify import _make
from certgen.errors import CertgenError
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions

EXAMPLES = Path(__file__).parent.parent.parent / "example_jobs"
_PASSPHRASE = b"a stranger's passphrase"


def told_by(document: bytes) -> list[str]:
    """The facts that say something is wrong, or that the page was not drawn again; empty where it is called sound."""
    try:
        found = verify(document, _make, judged)
    except CertgenError as error:
        return [str(error)]
    if found.good:
        return []
    return [one.name for one in found.facts if one.state not in (GOOD, NOT_CHECKED)] or [str(found.headline)]


def main() -> int:
    """Forge, print, and say by the exit status whether all were told."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--job", default="worn_rotor")
    options = parser.parse_args()
    issued = draw_job(EXAMPLES / options.job / "job.yaml", SheetOptions()).document
    assert not told_by(issued), "the certificate itself must be sound"
    stranger = new_key("A bench", _PASSPHRASE, years=1)
    called_sound = 0
    for name, forge in FORGERIES.items():
        forged = forge(issued)
        assert forged != issued, name
        for how, document in (("sealed", forged), ("signed", _signed(forged, stranger.secret))):
            told = ["could not be signed"] if document is None else told_by(document)
            called_sound += not told
            print(f"{how}  {'told' if told else 'CALLED SOUND'}  {name}: {', '.join(told)}", flush=True)
    print(f"{len(FORGERIES)} kinds, each sealed again and signed: {called_sound} called sound")
    return 1 if called_sound else 0


def _signed(document: bytes, key: bytes) -> bytes | None:
    """The same with a signature appended; ``None`` where the library finds no PDF in it."""
    try:
        return signed(document, key, _PASSPHRASE)
    except Exception:  # whatever a broken file makes the library raise
        return None


if __name__ == "__main__":
    sys.exit(main())
