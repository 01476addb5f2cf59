"""ISO 19005-3:2012, level B: the rules about bytes, which a reader of objects no longer sees.

Clauses and wording from the profile named in ``pdfa_rules``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator


def byte_violations(data: bytes) -> Iterator[str]:
    """Rules about the file as bytes."""
    if not re.match(rb"%PDF-1\.[0-7]\n", data):
        yield "6.1.2-1: header is not %PDF-1.n and one end of line"
    second = data[data.index(b"\n") + 1 :]
    if second[:1] != b"%" or any(byte <= 127 for byte in second[1:5]):
        yield "6.1.2-2: no comment of four bytes above 127 behind the header"
    if not re.search(rb"%%EOF[\r\n]{0,2}\Z", data) or data.endswith(b"\n\n"):
        yield "6.1.3-3: data behind the last end-of-file marker"
    for table in re.finditer(rb"(?<!start)xref(?P<gap>.{1,3}?)[0-9]+ [0-9]+", data, re.DOTALL):
        if table["gap"] not in (b"\n", b"\r", b"\r\n"):
            yield "6.1.4-2: xref and its section are not parted by one end of line"
    plain = _without_streams(data)
    for text in re.finditer(rb"(?<!<)<(?!<)([^<>]*)>(?!>)", plain):
        digits = text[1].translate(None, b" \t\r\n\f\0")
        if len(digits) % 2 or not re.fullmatch(rb"[0-9A-Fa-f]*", digits):
            yield f"6.1.6-1, -2: hexadecimal string {text[0][:20]!r}"
    for match in re.finditer(rb"\d+ \d+ obj\b", plain):
        if not re.match(rb"[\r\n]\d+ \d+ obj[\r\n]", plain[match.start() - 1 : match.end() + 1]):
            yield f"6.1.9-1: spacing of {match[0]!r}"
    for match in re.finditer(rb"endobj", plain):
        if not re.match(rb"[\r\n]endobj[\r\n]", plain[match.start() - 1 : match.end() + 1]):
            yield "6.1.9-1: spacing of endobj"


def _without_streams(data: bytes) -> bytes:
    """The file with the content of streams blanked, as it is no PDF syntax."""
    return re.sub(rb"(\bstream\r?\n).*?(\nendstream\b)", rb"\1\2", data, flags=re.DOTALL)


def stream_spacing(data: bytes) -> list[str]:
    """6.1.7-1 and -2 by the bytes: Length, and the ends of line about a stream, object by object."""
    found = []
    at = 0
    while match := re.compile(rb"\d+ 0 obj\n").search(data, at):
        head = data.index(b"endobj", match.end())
        stream = data.find(b"stream", match.end(), head)
        if stream < 0:
            at = head
            continue
        length = re.search(rb"/Length (\d+)(?! \d+ R)", data[match.end() : stream])
        if length is None or data[stream : stream + 7] != b"stream\n":
            found.append(f"6.1.7-2: {match[0]!r}")
            at = head
            continue
        end = stream + 7 + int(length[1])
        tail = data[end : end + 11]
        if tail not in (b"\nendstream\n", b"\nendstream\r"):
            found.append(f"6.1.7-1, -2: {match[0]!r} is followed by {tail!r}")
        at = end
    return found
