"""What a PDF encloses, read within bounds: a stranger may have made the file.

pypdf finds the objects, in strict mode, so that a broken file is told and not mended. Streams are unpacked here, as a
small one may unpack to any size.
"""

from __future__ import annotations

import hashlib
import io
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from certgen.archive.bounds import TookTooLong, within
from certgen.archive.safe_names import MOST_BYTES, MOST_FILES

#: The largest file looked into. [byte]
MOST_PDF = 300_000_000
_MOST_SECONDS = 20.0


class Unreadable(Exception):
    """The file is no PDF that can be read; the message says why."""


@dataclass(frozen=True)
class Enclosed:
    """One enclosed file as it stands in the PDF.

    Attributes
    ----------
    name : str
        With folders.
    data : bytes
        What it holds.
    true_to_itself : bool
        Whether size and MD5 stated beside it agree with what it holds.
    """

    name: str
    data: bytes
    true_to_itself: bool


def read_enclosed(data: bytes) -> tuple[Enclosed, ...]:
    """Every file that a PDF lists as enclosed.

    Parameters
    ----------
    data : bytes
        The PDF.

    Raises
    ------
    Unreadable
        It is no PDF, a broken one, or one that asks for too much time or room.
    """
    try:
        with within(_MOST_SECONDS):
            return tuple(_enclosed(data))
    except Unreadable:
        raise
    except TookTooLong:
        raise Unreadable("reading it takes too long") from None
    except (RecursionError, MemoryError):
        raise Unreadable("its objects are nested without end") from None
    except Exception as cause:  # pypdf raises whatever a broken file makes Python raise
        raise Unreadable(f"it is a broken PDF ({type(cause).__name__})") from cause


def opened(data: bytes) -> Any:
    """pypdf's reader of a PDF."""
    import logging

    from pypdf import PdfReader

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what it has to say is told once, in our words
    if not data.startswith(b"%PDF-"):
        raise Unreadable("it is not a PDF")
    return PdfReader(io.BytesIO(data), strict=True)


def _enclosed(data: bytes) -> Iterator[Enclosed]:
    names = _resolved(opened(data).trailer["/Root"])
    for key in ("/Names", "/EmbeddedFiles", "/Names"):
        names = names.get(key)
        if names is None:
            return
        names = _resolved(names)
    if len(names) > 2 * MOST_FILES:
        raise Unreadable("it encloses too many files")
    room = MOST_BYTES
    for specification in names[1::2]:
        found = _file(_resolved(specification), room)
        room -= len(found.data)
        yield found


def _file(specification: Any, room: int) -> Enclosed:
    stream = _resolved(_resolved(specification["/EF"])["/F"])
    data = _unpacked(stream, room)
    stated = _resolved(stream.get("/Params", {}))
    checksum = hashlib.md5(data, usedforsecurity=False).digest()
    true = stated.get("/Size") == len(data) and _bytes(stated.get("/CheckSum")) == checksum
    return Enclosed(str(specification["/UF"]), data, true)


def _unpacked(stream: Any, room: int) -> bytes:
    """What a stream holds; ours are packed by zlib once and in no other way."""
    packing = _resolved(stream.get("/Filter"))
    if packing not in ("/FlateDecode", ["/FlateDecode"]) or "/DecodeParms" in stream:
        raise Unreadable("an enclosed file is packed in a way certificates do not use")
    unpacker = zlib.decompressobj()
    data = unpacker.decompress(stream._data, room)
    if not unpacker.eof:
        raise Unreadable("an enclosed file is broken off or too large")
    return data


def _bytes(text: Any) -> bytes:
    """The bytes of a PDF string, however pypdf took it."""
    return bytes(text.original_bytes) if hasattr(text, "original_bytes") else b""


def _resolved(item: Any) -> Any:
    return item.get_object() if hasattr(item, "get_object") else item
