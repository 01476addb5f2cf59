"""A text file and its encoding; a long one is cut into pieces that end with a line."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.document.source import Problems, read_bounded

# In which encoding a text file is written.


_UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_ODD_IN_LATIN = frozenset(range(0x80, 0xA0))


def detect(head: bytes, *, whole: bool) -> str:
    """The encoding of a text by its beginning: UTF-16 by its mark or its zeros, UTF-8 where it is that, else Latin.

    Of the Latin encodings ``cp1252`` is the one with signs from 0x80 to 0x9F.
    """
    if head.startswith(_UTF_16) or _alternating(head) is not None:
        return "utf-16"
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head, final=whole)
        return "utf-8"
    except UnicodeDecodeError:
        return latin(head)


def latin(data: bytes) -> str:
    """Which of the Latin encodings fits bytes that are not UTF-8."""
    if _ODD_IN_LATIN.isdisjoint(data):
        return "latin-1"
    try:
        data.decode("cp1252")
        return "cp1252"
    except UnicodeDecodeError:
        return "latin-1"


def utf_16_codec(data: bytes) -> str:
    """The codec of a UTF-16 text, by its mark, else by where its zeros are."""
    return "utf-16" if data.startswith(_UTF_16) else (_alternating(data) or "utf-16-le")


def _alternating(data: bytes) -> str | None:
    """UTF-16 without a mark: nearly every other byte of a Latin text is zero."""
    sample = data[:2000]
    if len(sample) < 4 or b"\0" not in sample:
        return None
    odd, even = sample[1::2].count(0), sample[::2].count(0)
    if odd > 0.8 * len(sample) / 2 and even == 0:
        return "utf-16-le"
    return "utf-16-be" if even > 0.8 * len(sample) / 2 and odd == 0 else None


# A text file and its encoding; a long one is cut into pieces that end with a line.


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
    used = encoding or detect(head, whole=len(data) < HEAD)
    if used == "utf-16":
        text = _from_utf_16(data, shown, problems)
        return None if text is None else (TextFile(shown, "utf-16", "utf-8", text.encode("utf-8")), data)
    if b"\0" in head:
        what = "the file holds zero bytes, so it is no text"
        problems.add(shown, (0, 0), what, "save it as delimited text; a workbook must be named .xlsx or .ods")
        return None
    plain = data.removeprefix(_BOM) if used == "utf-8" else data
    return TextFile(shown, used, used, plain), data


#: Lines in a row in which nothing stands, so many that it is worth to pass over them at once.
_BLANK_LINES = re.compile(rb"(?:[ \t,;|]*+\r?\n){200,}+")


def without_blank_lines(piece: Piece) -> Iterator[Piece]:
    """The parts of a piece between long runs of lines in which nothing stands, each with its first line."""
    data, begin, first = piece.data, 0, piece.first
    for run in _BLANK_LINES.finditer(data):
        start = data.rfind(b"\n", begin, run.start()) + 1 if run.start() else 0
        start = max(start, begin)
        if start != run.start() or data.count(b'"', begin, start) % 2:
            continue  # it begins with the end of a row, or stands within a cell
        if start > begin:
            yield Piece(data[begin:start], first)
        first += ends(data[begin : run.end()])
        begin = run.end()
    if begin < len(data):
        yield Piece(data[begin:], first)


def without_last_lines(data: bytes, count: int) -> bytes:
    """A file without its last lines; blank ones behind them do not count."""
    end = len(data)
    for _ in range(count):
        end = len(data[:end].rstrip(b" \t\r\n")) if end == len(data) else end
        end = data.rfind(b"\n", 0, max(end - 1, 0)) + 1
    return data[:end]


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
