"""Certificates altered the way a careless or a cunning hand would."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Mapping
from typing import Any

import pikepdf
from pypdf import PdfReader, PdfWriter

from certgen.archive.enclosures import CONTENTS
from certgen.archive.reading import read_enclosed
from certgen.archive.seal import sealed
from certgen.document.source import digest
from certgen.sheet.pdf.container import SEAL_LINE


def enclosed(document: bytes) -> dict[str, bytes]:
    return {one.name: one.data for one in read_enclosed(document)}


def resealed(document: bytes) -> bytes:
    """Any PDF with a seal of its own, computed as the handbook says: nothing secret is needed."""
    with pikepdf.open(io.BytesIO(document)) as file:
        target = io.BytesIO()
        file.save(target, static_id=True, object_stream_mode=pikepdf.ObjectStreamMode.disable, linearize=False)
    data = target.getvalue()
    body = data[data.index(b"\n", data.index(b"\n") + 1) + 1 :]
    start = data.rindex(b"startxref")
    shift = 9 + len(SEAL_LINE) - (len(data) - len(body))
    head, table = data[:start], data[start:]
    xref = int(table.split()[1])
    lines = head[xref:].split(b"\n")
    moved = [b"%010d%b" % (int(line[:10]) + shift, line[10:]) if line[10:17] == b" 00000 " else line for line in lines]
    body = head[len(data) - len(body) : xref] + b"\n".join(moved) + b"startxref\n%d\n%%%%EOF\n" % (xref + shift)
    return sealed(b"%PDF-1.7\n" + SEAL_LINE + body)


def with_files(document: bytes, files: Mapping[str, bytes], *, listed: bool) -> bytes:
    """The same page with other files in it; ``listed`` says whether the list is brought in line."""
    files = dict(files)
    if listed:
        contents = json.loads(files[CONTENTS])
        contents["files"] = {name: digest(data) for name, data in files.items() if name != CONTENTS}
        files[CONTENTS] = json.dumps(contents).encode()
    with pikepdf.open(io.BytesIO(document)) as file:
        for one in file.Root.AF:
            stream, name = one.EF.F, str(one.UF)
            if name in files and stream.read_bytes() != files[name]:
                _replace(stream, files[name])
        target = io.BytesIO()
        file.save(target)
    return resealed(target.getvalue())


def _replace(stream: Any, data: bytes) -> None:
    import hashlib
    import zlib

    stream.write(zlib.compress(data), filter=pikepdf.Name.FlateDecode)
    stream.Params.Size = len(data)
    stream.Params.CheckSum = pikepdf.String(hashlib.md5(data).digest())


def with_page(document: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """Another page over the same files, sealed again."""
    with pikepdf.open(io.BytesIO(document)) as file:
        page = file.pages[0].obj
        page.Contents = file.make_stream(change(page.Contents.read_bytes()))
        target = io.BytesIO()
        file.save(target)
    return resealed(target.getvalue())


def updated(document: bytes, change: Callable[[PdfWriter], object]) -> bytes:
    """An incremental update by pypdf: everything issued stays, objects are replaced behind it."""
    writer = PdfWriter(io.BytesIO(document), incremental=True)
    change(writer)
    target = io.BytesIO()
    writer.write(target)
    data = target.getvalue()
    assert data.startswith(document)
    assert len(PdfReader(io.BytesIO(data)).pages) >= 1
    return data
