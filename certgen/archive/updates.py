"""What was appended behind the sealed bytes: signatures without a picture, and nothing else, leave a certificate whole.

An incremental update (ISO 32000-1, 7.5.6) can replace any object of the file while the sealed bytes stay as they are.
Both revisions are therefore read and compared object by object.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from certgen.archive.bounds import TookTooLong, within
from certgen.archive.reading import opened

_MOST_SECONDS = 20.0

#: What a signature adds to the catalog and to the page.
_TO_CATALOG = {"/AcroForm", "/Extensions"}
_TO_PAGE = {"/Annots"}
_OF_FORM = {"/Fields", "/SigFlags"}


def besides_signatures(sealed: bytes, whole: bytes) -> list[str]:
    """What an update did besides signing, in words; empty where it only signed.

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
        return ["it takes too long to read"]
    except Exception as cause:  # pypdf raises whatever a broken file makes Python raise
        return [f"it cannot be read ({type(cause).__name__})"]


def _findings(before: Any, after: Any) -> Iterator[str]:
    root, page = before.trailer.raw_get("/Root"), before.pages[0].indirect_reference
    if after.xref_objStm or any(generation for generation in after.xref if generation and after.xref[generation]):
        yield "it packs objects in a way certificates do not use"
    for name in ("/Root", "/Info"):
        if _written(before.trailer.raw_get(name)) != _written(after.trailer.raw_get(name)):
            yield f"it replaces the {name[1:].lower()}"
    places = after.xref[0]
    for number, place in before.xref[0].items():
        if places.get(number) == place:
            continue
        allowed = {root.idnum: _TO_CATALOG, page.idnum: _TO_PAGE}.get(number)
        if allowed is None:
            yield f"it replaces object {number}"
        else:
            yield from _additions(_object(before, number), _object(after, number), allowed)
    yield from _form(after)


def _additions(before: Any, after: Any, allowed: set[str]) -> Iterator[str]:
    """Entries of a dictionary that changed, or came in, without leave."""
    for key in sorted(before.keys() | after.keys()):
        if key in before or key not in allowed:
            old, new = (_written(one.raw_get(key)) if key in one else b"" for one in (before, after))
            if old != new:
                yield f"it changes the entry {key[1:]}"


def _form(after: Any) -> Iterator[str]:
    """The form may hold signatures without a picture only; the page may carry these fields only."""
    root = after.trailer["/Root"]
    form = root.get("/AcroForm", {}).get_object() if "/AcroForm" in root else {}
    if set(form) - _OF_FORM:
        yield "it adds a form that is more than a signature"
    fields = [field.idnum for field in form.get("/Fields", [])]
    shown = [one.idnum for one in after.pages[0].get("/Annots", [])]
    if sorted(fields) != sorted(shown):
        yield "it adds something to the page"
    for number in fields:
        field = _object(after, number)
        if field.get("/FT") != "/Sig" or field.get("/Subtype") != "/Widget" or "/Kids" in field:
            yield "it adds a field that is no signature"
        elif any(float(edge) != 0.0 for edge in field["/Rect"]):
            yield "its signature covers a part of the page"


def _object(reader: Any, number: int) -> Any:
    from pypdf.generic import IndirectObject

    return IndirectObject(number, 0, reader).get_object()


def _written(item: Any) -> bytes:
    """An object in PDF's own syntax, references left as they are."""
    target = io.BytesIO()
    item.write_to_stream(target)
    return target.getvalue()
