"""In which encoding a text file is written."""

from __future__ import annotations

import codecs

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
