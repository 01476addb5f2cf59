"""Every byte of a certificate changed, one at a time: is each change noticed?

    python tests/studies/changed_bytes.py [--job NAME] [--every N]

Of the issued bytes every bit is turned. Behind them, in the signature that is appended, one bit of every Nth byte. Prints
how many changes were tried and which were not noticed; exit status 1 if there are any. A minute for the issued bytes, a
tenth of a second for each byte of the signature.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from certgen.archive.facts import NOT_GOOD
from certgen.archive.reading import besides_signatures
from certgen.archive.seal import read_seal
from certgen.archive.signature import judged
from certgen.archive.signing import new_key, signed
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions

EXAMPLES = Path(__file__).parent.parent.parent / "example_jobs"


def issued_bytes(document: bytes) -> tuple[int, list[int]]:
    """Changes tried, and the places of those not noticed."""
    data, missed = bytearray(document), []
    for at in range(len(data)):
        for bit in range(8):
            data[at] ^= 1 << bit
            seal = read_seal(bytes(data))
            if seal is not None and seal.whole:
                missed.append(at)
            data[at] ^= 1 << bit
    return 8 * len(data), missed


def signature_bytes(document: bytes, start: int, every: int) -> tuple[int, list[int]]:
    """The same behind the issued bytes, by signature and comparison of revisions."""
    data, missed, tried = bytearray(document), [], 0
    for at in range(start, len(data), every):
        bit = 1 << at % 8
        data[at] ^= bit
        changed = bytes(data)
        if judged(changed).state != NOT_GOOD and not besides_signatures(changed[:start], changed):
            missed.append(at)
        data[at] ^= bit
        tried += 1
    return tried, missed


def main() -> int:
    """Try, print, and say by the exit status whether all were noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--job", default="one_point_test")
    parser.add_argument("--every", type=int, default=1)
    options = parser.parse_args()
    issued = draw_job(EXAMPLES / options.job / "job.yaml", SheetOptions()).document
    key = new_key("A bench", b"a passphrase", years=1)
    document = signed(issued, key.secret, b"a passphrase")
    found = {
        "issued bytes": issued_bytes(issued),
        "signature": signature_bytes(document, len(issued), options.every),
    }
    for name, (tried, missed) in found.items():
        print(f"{name}: {tried} changes tried, {len(missed)} not noticed {missed[:20] or ''}")
    return 1 if any(missed for _, missed in found.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
