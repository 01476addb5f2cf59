"""A text file of any length, read in pieces that end with a line; its digest is taken on the way."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from certgen.document.source import Problems, read_bounded
from certgen.readings.encoding import detect, utf_16_codec

#: A million rows of ten columns are about 100 MB.
MOST_BYTES = 256_000_000
HEAD = 1 << 18
PIECE = 1 << 21
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Piece:
    """Whole lines of a file, and the number of the first of them."""

    data: bytes
    first: int


@dataclass
class TextFile:
    """An open file: its encoding, its beginning, and the pieces behind.

    ``codec`` reads the bytes of head and pieces; a UTF-16 file is passed on in UTF-8.
    """

    handle: io.BufferedIOBase
    shown: str
    encoding: str
    codec: str
    head: bytes
    whole: bool  # whether the head is everything
    taken: int
    size: int
    hashed: hashlib._Hash = field(default_factory=hashlib.sha256)

    def pieces(self, skip: int) -> Iterator[bytes]:
        """The file from the byte ``skip`` of its head in pieces of whole lines.

        A piece grows until its quotes are even, so that a cell of several lines stays in one piece.
        """
        carried = self.head[skip:]
        for data in self._read():
            carried += data
            end = carried.rfind(b"\n") + 1
            if end and (b'"' not in carried or not carried.count(b'"', 0, end) % 2):
                yield carried[:end]
                carried = carried[end:]
        if carried:
            yield carried

    def digest(self) -> str:
        """SHA-256 of all its bytes, hexadecimal."""
        for _ in self._read():
            pass
        return self.hashed.hexdigest()

    def _read(self) -> Iterator[bytes]:
        while self.taken < MOST_BYTES and (data := self.handle.read(PIECE)):
            self.taken += len(data)
            self.hashed.update(data)
            yield data


def open_text(path: Path, shown: str, problems: Problems, encoding: str | None) -> TextFile | None:
    """A text file opened with its encoding found, or ``None`` with the problem kept."""
    data = read_bounded(path, shown, problems, MOST_BYTES)
    if data is None:
        return None
    handle = io.BytesIO(data)  # the bytes are kept, as a certificate encloses what was read
    head = handle.read(HEAD)
    hashed = hashlib.sha256(head)
    whole = len(head) < HEAD
    found = encoding or detect(head, whole=whole)
    if found == "utf-16":
        rest = handle.read(MOST_BYTES)
        hashed.update(rest)
        text = _from_utf_16(head + rest, shown, problems)
        handle.close()
        if text is None:
            return None
        empty = io.BytesIO()
        return TextFile(empty, shown, "utf-16", "utf-8", text.encode("utf-8"), True, 0, 0, hashed)
    if b"\0" in head:
        what = "the file holds zero bytes, so it is no text"
        problems.add(shown, (0, 0), what, "save it as delimited text; a workbook must be named .xlsx or .ods")
        handle.close()
        return None
    plain = head.removeprefix(_BOM) if found == "utf-8" else head
    return TextFile(handle, shown, found, found, plain, whole, len(head), len(data), hashed)


def decoded(piece: Piece, file: TextFile, problems: Problems) -> str | None:
    """The text of a piece, or ``None`` with the byte that is none kept as a mistake."""
    try:
        return piece.data.decode(file.codec)
    except UnicodeDecodeError as cause:
        before = piece.data[: cause.start].decode(file.codec)
        place = (piece.first + before.count("\n"), len(before) - before.rfind("\n"))
        what = f"the byte 0x{piece.data[cause.start]:02X} is not {file.encoding.upper()} text"
        instead = "save the file as UTF-8, or write its encoding beside the file, for example 'encoding: latin-1'"
        problems.add(file.shown, place, what, instead)
        return None


def _from_utf_16(data: bytes, shown: str, problems: Problems) -> str | None:
    try:
        return data.decode(utf_16_codec(data)).removeprefix("\ufeff")
    except UnicodeDecodeError as cause:
        what = f"the byte {cause.start + 1} of the file is not UTF-16 text"
        problems.add(shown, (0, 0), what, "write its encoding beside the file, for example 'encoding: utf-8'")
        return None


def ends(data: bytes) -> int:
    """How many lines end in some bytes: line feeds, and carriage returns that stand alone."""
    alone = data.count(b"\r") - data.count(b"\r\n") if b"\r" in data else 0
    return data.count(b"\n") + alone
