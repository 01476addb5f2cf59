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


#: What a signature adds to the catalog and to the page; validation material for later is in the catalog too (ISO 32000-2,
#: 12.8.4.3), and so is the version of PDF that has it.
_TO_CATALOG = {"/AcroForm", "/Extensions", "/DSS", "/Version"}
_TO_PAGE = {"/Annots"}
_TO_KEEP = {"/DSS", "/Extensions"}  # of these, what validation material alone adds
_OF_FORM = {"/Fields", "/SigFlags"}
_OF_TRAILER = {"/Size", "/Root", "/Info", "/ID", "/Prev"}
#: A signature's field and the signature itself hold these entries; an action, a picture, a rule of their own is not there.
_OF_FIELD = {"/FT", "/T", "/TU", "/Type", "/Subtype", "/F", "/Rect", "/P", "/V"}
_OF_SIGNATURE = {"/Type", "/Filter", "/SubFilter", "/Contents", "/ByteRange", "/M", "/Name", "/Reason", "/Location",
                 "/ContactInfo", "/Prop_Build"}  # fmt: skip
_OF_MATERIAL = {"/Type", "/Certs", "/CRLs", "/OCSPs", "/VRI"}


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
            return list(_findings(opened(sealed), opened(whole), _TO_CATALOG, _TO_PAGE))
    except TookTooLong:
        return [Message("verify.update.too_long")]
    except Exception as cause:  # pypdf raises whatever a broken file makes Python raise
        return [Message("verify.update.unreadable", failure=type(cause).__name__)]


def besides_material(covered: bytes, whole: bytes) -> bool:
    """Whether what follows the last signature does more than enclose validation material.

    Parameters
    ----------
    covered : bytes
        The file as far as a signature or a time stamp covers it.
    whole : bytes
        The file with all that was appended.
    """
    return any(_findings(opened(covered), opened(whole), _TO_KEEP, set()))


def _findings(before: Any, after: Any, to_catalog: set[str], to_page: set[str]) -> Iterator[Message]:
    root, page = before.trailer.raw_get("/Root"), before.pages[0].indirect_reference
    if after.xref_objStm or any(generation for generation in after.xref if generation and after.xref[generation]):
        yield Message("verify.update.packed")
    if set(after.trailer) - _OF_TRAILER:
        yield Message("verify.update.packed")
    for name in ("/Root", "/Info"):
        if _written(before.trailer.raw_get(name)) != _written(after.trailer.raw_get(name)):
            yield Message("verify.update.replaces_entry", entry=name[1:].lower())
    places, store = after.xref[0], _store(before)
    for number, place in before.xref[0].items():
        if places.get(number) == place or number == store:
            continue
        allowed = {root.idnum: to_catalog, page.idnum: to_page}.get(number)
        if allowed is None:
            yield Message("verify.update.replaces_object", number=number)
        else:
            yield from _additions(_object(before, number), _object(after, number), allowed)
    yield from _form(after)
    yield from _unused(before, after, to_catalog)


def _store(reader: Any) -> int | None:
    """The object that lists validation material, where it is one of its own; material added later is added to it."""
    root = reader.trailer["/Root"]
    return getattr(root.raw_get("/DSS"), "idnum", None) if "/DSS" in root else None


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
        if any(float(edge) != 0.0 for edge in field["/Rect"]):
            yield Message("verify.update.covers")
        elif not _is_signature(field):
            yield Message("verify.update.field")


def _is_signature(field: Any) -> bool:
    """Whether a field is a signature's and holds nothing else."""
    if field.get("/FT") != "/Sig" or field.get("/Subtype") != "/Widget" or set(field) - _OF_FIELD:
        return False
    return not set(_resolved(field.get("/V", {}))) - _OF_SIGNATURE


def _unused(before: Any, after: Any, to_catalog: set[str]) -> Iterator[Message]:
    """Objects an update brought that neither a signature nor its validation material has."""
    root: Any = after.trailer["/Root"]
    material = _resolved(root.get("/DSS", {}))
    if set(material) - _OF_MATERIAL:
        yield Message("verify.update.material")
    met = set[int]()
    waiting = [root.raw_get(name) for name in to_catalog if name in root]
    while waiting:
        item = waiting.pop()
        if hasattr(item, "idnum"):
            if item.idnum in met or (item.idnum in before.xref[0] and item.idnum != _store(before)):
                continue
            met.add(item.idnum)
            item = item.get_object()
        if isinstance(item, dict):
            entries: Any = item
            waiting += [entries.raw_get(name) for name in entries]
        elif isinstance(item, list):
            waiting += list(item)
    page: Any = after.pages[0]
    if "/Annots" in page and hasattr(page.raw_get("/Annots"), "idnum"):
        met.add(page.raw_get("/Annots").idnum)
    if set(after.xref[0]) - set(before.xref[0]) - met:
        yield Message("verify.update.unused")


def _object(reader: Any, number: int) -> Any:
    from pypdf.generic import IndirectObject

    return IndirectObject(number, 0, reader).get_object()


def _written(item: Any) -> bytes:
    """An object in PDF's own syntax, references left as they are."""
    target = io.BytesIO()
    item.write_to_stream(target)
    return target.getvalue()
