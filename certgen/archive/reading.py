"""What a PDF encloses, read within bounds: a stranger may have made the file.

pypdf finds the objects, in strict mode, so that a broken file is reported and not mended. Streams are unpacked here, as a
small one may unpack to any size.
"""

from __future__ import annotations

import hashlib
import io
import signal
import threading
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType
from typing import Any

from certgen.archive.enclosures import MOST_BYTES, MOST_FILES
from certgen.messages.catalogue import Message

# A bound on the time that reading a stranger's file may take.


class TookTooLong(BaseException):
    """The time allowed is over; no ``except Exception`` of a library on the way may take it for a fault of the file."""


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Raise :class:`TookTooLong` in the block once the time is over.

    Systems without an interval timer, and threads other than the main one, are bounded by the sizes of what is read
    alone.
    """
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(number: int, frame: FrameType | None) -> None:
        raise TookTooLong

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


# What a PDF encloses, read within bounds: a stranger may have made the file.
#
# pypdf finds the objects, in strict mode, so that a broken file is reported and not mended. Streams are unpacked here, as
# a small one may unpack to any size.


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

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what it has to say is reported once, in our words
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


# What was appended behind the sealed bytes: signatures without a picture, and nothing else, leave a certificate
# whole.
#
# An incremental update (ISO 32000-1, 7.5.6) can replace any object of the file while the sealed bytes stay as they
# are. Both revisions are therefore read and compared object by object.


#: What a signature adds to the catalog and to the page.
_TO_CATALOG = {"/AcroForm", "/Extensions"}
_TO_PAGE = {"/Annots"}
_OF_FORM = {"/Fields", "/SigFlags"}


def besides_signatures(sealed: bytes, whole: bytes) -> list[Message]:
    """What an update did besides signing; empty where it only signed.

    Parameters
    ----------
    sealed : bytes
        The file as far as its seal reaches.
    whole : bytes
        The file with all that was appended.
    """
    try:
        with within(_MOST_SECONDS):
            return list(_findings(opened(sealed), opened(whole)))
    except TookTooLong:
        return [Message("verify.update.too_long")]
    except Exception as cause:  # pypdf raises whatever a broken file makes Python raise
        return [Message("verify.update.unreadable", failure=type(cause).__name__)]


def _findings(before: Any, after: Any) -> Iterator[Message]:
    root, page = before.trailer.raw_get("/Root"), before.pages[0].indirect_reference
    if after.xref_objStm or any(generation for generation in after.xref if generation and after.xref[generation]):
        yield Message("verify.update.packed")
    for name in ("/Root", "/Info"):
        if _written(before.trailer.raw_get(name)) != _written(after.trailer.raw_get(name)):
            yield Message("verify.update.replaces_entry", entry=name[1:].lower())
    places = after.xref[0]
    for number, place in before.xref[0].items():
        if places.get(number) == place:
            continue
        allowed = {root.idnum: _TO_CATALOG, page.idnum: _TO_PAGE}.get(number)
        if allowed is None:
            yield Message("verify.update.replaces_object", number=number)
        else:
            yield from _additions(_object(before, number), _object(after, number), allowed)
    yield from _form(after)


def _additions(before: Any, after: Any, allowed: set[str]) -> Iterator[Message]:
    """Entries of a dictionary that changed, or came in, without leave."""
    for key in sorted(before.keys() | after.keys()):
        if key in before or key not in allowed:
            old, new = (_written(item.raw_get(key)) if key in item else b"" for item in (before, after))
            if old != new:
                yield Message("verify.update.changes_entry", entry=key[1:])


def _form(after: Any) -> Iterator[Message]:
    """The form may hold signatures without a picture only; the page may carry these fields only."""
    root = after.trailer["/Root"]
    form = root.get("/AcroForm", {}).get_object() if "/AcroForm" in root else {}
    if set(form) - _OF_FORM:
        yield Message("verify.update.form")
    fields = [field.idnum for field in form.get("/Fields", [])]
    shown = [one.idnum for one in after.pages[0].get("/Annots", [])]
    if sorted(fields) != sorted(shown):
        yield Message("verify.update.page")
    for number in fields:
        field = _object(after, number)
        if field.get("/FT") != "/Sig" or field.get("/Subtype") != "/Widget" or "/Kids" in field:
            yield Message("verify.update.field")
        elif any(float(edge) != 0.0 for edge in field["/Rect"]):
            yield Message("verify.update.covers")


def _object(reader: Any, number: int) -> Any:
    from pypdf.generic import IndirectObject

    return IndirectObject(number, 0, reader).get_object()


def _written(item: Any) -> bytes:
    """An object in PDF's own syntax, references left as they are."""
    target = io.BytesIO()
    item.write_to_stream(target)
    return target.getvalue()
