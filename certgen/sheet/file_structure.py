"""Numbered objects as one PDF file: header with room for a seal, body, cross-reference table, trailer.

ISO 32000-1:2008, 7.5. What PDF/A asks of it: ISO 19005-3, 6.1.2 to 6.1.4.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

#: Second line of the file: signs above 127, so that nobody takes it for text (ISO 19005-3, 6.1.2), and room for a seal.
SEAL_LINE = b"%\xe2\xe3\xcf\xd3 certgen certificate, 0000000000 bytes, SHA-256 " + b"0" * 64 + b"\n"

#: The same without room for a seal: of sheets that are no certificates.
PLAIN_LINE = b"%\xe2\xe3\xcf\xd3\n"

_HEADER = b"%PDF-1.7\n"


def written(objects: Sequence[bytes], root: int, information: int, *, with_seal: bool = True) -> bytes:
    """The file that holds these objects, numbered from 1; ``root`` and ``information`` are two of them.

    The identifier in the trailer comes from the objects, so that the same objects are the same file.
    """
    parts = [_HEADER, SEAL_LINE if with_seal else PLAIN_LINE]
    length = sum(map(len, parts))
    offsets = []
    for number, body in enumerate(objects, 1):
        offsets.append(length)
        parts.append(b"%d 0 obj\n%s\nendobj\n" % (number, body.rstrip(b"\n")))
        length += len(parts[-1])
    identifier = hashlib.sha256(b"".join(parts)).hexdigest()[:32].encode()
    table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(objects) + 1, table))
    parts.append(
        b"trailer\n<< /Size %d /Root %d 0 R /Info %d 0 R /ID [<%s> <%s>] >>\nstartxref\n%d\n%%%%EOF\n"
        % (len(objects) + 1, root, information, identifier, identifier, length)
    )
    return b"".join(parts)
