"""The seal: the own length and SHA-256 of a certificate or a tag, in the second line of the file.

The digest is taken over the first ``length`` bytes of the file, the 64 digits of the seal itself counted as ``0``. A
signature is appended behind that length and leaves the sealed bytes as they are. ``docs/archive.md`` gives a recipe
that needs no program of ours.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

from certgen.sheet.pdf.container import SEAL_LINE, TAG_LINE

_DIGITS = 64
_LENGTH = 10
_EMPTY = b"0" * _DIGITS
_ROOM = b"0" * _LENGTH + b" bytes, SHA-256 " + _EMPTY + b"\n"
_FIRST = b"|".join(re.escape(line.removesuffix(_ROOM)) for line in (SEAL_LINE, TAG_LINE))
_LINE = re.compile(
    rb"%PDF-1\.[0-7]\n(?:" + _FIRST + rb")(?P<length>[0-9]{10}) bytes, SHA-256 (?P<digest>[0-9a-f]{64})\n"
)

#: What only our certificates, and our tags, begin with, seal or no seal.
MARK, TAG_MARK = b"certgen certificate", b"certgen tag"
#: What our drafts begin with, which are neither.
DRAFT_MARK = b"certgen draft"
_MARK_WITHIN = 64


@dataclass(frozen=True)
class Seal:
    """What a file's second line says, and what is true.

    Attributes
    ----------
    length : int
        Bytes sealed, from the first on. [byte]
    stated : str
        The digest the line states, 64 hexadecimal digits.
    found : str
        The digest of the file's first ``length`` bytes; empty where the file is shorter.
    """

    length: int
    stated: str
    found: str

    @property
    def whole(self) -> bool:
        """Whether the sealed bytes are as they were."""
        return self.stated == self.found


def sealed(data: bytes) -> bytes:
    """A file with the room in its second line filled in.

    Raises
    ------
    ValueError
        The file has no such line.
    """
    line = _LINE.match(data)
    if line is None:
        raise ValueError("the file has no room for a seal")
    at = line.start("length")
    data = b"%b%010d%b" % (data[:at], len(data), data[at + _LENGTH :])
    digest = hashlib.sha256(data).hexdigest().encode()
    at = line.start("digest")
    return data[:at] + digest + data[at + _DIGITS :]


def read_seal(data: bytes) -> Seal | None:
    """The seal of a file, or ``None`` where its second line is none."""
    line = _LINE.match(data)
    if line is None:
        return None
    length = int(line["length"])
    if not line.end() < length <= len(data):
        return Seal(length, line["digest"].decode(), "")
    digest = hashlib.sha256(data[: line.start("digest")])
    digest.update(_EMPTY)
    digest.update(memoryview(data)[line.end("digest") : length])
    return Seal(length, line["digest"].decode(), digest.hexdigest())


def marked(data: bytes) -> bool:
    """Whether a file begins as ours do, whatever became of it."""
    return MARK in data[:_MARK_WITHIN]


def marked_as_tag(data: bytes) -> bool:
    """Whether a file begins as our tags do, whatever became of it."""
    return TAG_MARK in data[:_MARK_WITHIN]


def marked_as_draft(data: bytes) -> bool:
    """Whether a file begins as our drafts do."""
    return DRAFT_MARK in data[:_MARK_WITHIN]
