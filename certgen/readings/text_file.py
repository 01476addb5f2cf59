"""A text file and its encoding; a long one is cut into pieces that end with a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.document.source import Problems, read_bounded
from certgen.readings.encoding import detect, utf_16_codec

#: A million rows of ten columns are about 100 MB.
MOST_BYTES = 256_000_000
HEAD = 1 << 18
#: Larger ones are parsed a little faster, and what is parsed at a time takes many times their room.
PIECE = 3 << 18
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Piece:
    """Whole lines of a file, and the number of the first of them."""

    data: bytes
    first: int


@dataclass
class TextFile:
    """A file read: its encoding, and its text as bytes that ``codec`` reads; a UTF-16 file stands there in UTF-8."""

    shown: str
    encoding: str
    codec: str
    data: bytes

    @property
    def head(self) -> bytes:
        """Its beginning, in which is found how it is written."""
        return self.data[:HEAD]

    @property
    def whole(self) -> bool:
        """Whether the head is everything."""
        return len(self.data) < HEAD

    def pieces(self, skip: int) -> Iterator[slice]:
        """Where the file from the byte ``skip`` on is cut into pieces of whole lines.

        A piece grows until its quotes are even, so that a cell of several lines stays in one piece.
        """
        begin, reach, size = skip, skip, len(self.data)
        while begin < size:
            reach += max(PIECE, reach - begin)
            end = size if reach >= size else self.data.rfind(b"\n", begin, reach) + 1
            if not end or (end < size and self._open_quote(begin, end)):
                continue
            yield slice(begin, end)
            begin = reach = end

    def _open_quote(self, begin: int, end: int) -> bool:
        return self.data.find(b'"', begin, end) >= 0 and self.data.count(b'"', begin, end) % 2 == 1


def read_text(path: Path, shown: str, problems: Problems, encoding: str | None) -> tuple[TextFile, bytes] | None:
    """A text file with its encoding found, and its bytes as they are; ``None`` with the problem kept."""
    data = read_bounded(path, shown, problems, MOST_BYTES)
    if data is None:
        return None
    head = data[:HEAD]
    found = encoding or detect(head, whole=len(data) < HEAD)
    if found == "utf-16":
        text = _from_utf_16(data, shown, problems)
        return None if text is None else (TextFile(shown, "utf-16", "utf-8", text.encode("utf-8")), data)
    if b"\0" in head:
        what = "the file holds zero bytes, so it is no text"
        problems.add(shown, (0, 0), what, "save it as delimited text; a workbook must be named .xlsx or .ods")
        return None
    plain = data.removeprefix(_BOM) if found == "utf-8" else data
    return TextFile(shown, found, found, plain), data


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
