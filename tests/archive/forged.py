"""Certificates altered the way a careless or a cunning hand would."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Mapping
from typing import Any

import pikepdf
from pypdf import PdfReader, PdfWriter

from certgen.archive.enclosures import CONTENTS
from certgen.archive.reading import read_enclosed
from certgen.archive.seal import sealed
from certgen.document.source import digest
from certgen.sheet.pdf.container import written


def enclosed(document: bytes) -> dict[str, bytes]:
    return {one.name: one.data for one in read_enclosed(document)}


def resealed(document: bytes) -> bytes:
    """Any PDF in this program's own form with a seal of its own, as the handbook says: nothing secret is needed."""
    with pikepdf.open(io.BytesIO(document)) as file:
        target = io.BytesIO()
        file.save(
            target,
            static_id=True,
            fix_metadata_version=False,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            linearize=False,
        )
    data = target.getvalue()
    table = int(data[data.rindex(b"startxref") :].split()[1])
    count, *places = re.findall(rb"^(?:0 (\d+)$|(\d{10}) 00000 n $)", data[table:], re.MULTILINE)
    starts = [int(place) for _, place in places]
    assert len(starts) == int(count[0]) - 1
    root, info = (int(re.search(rb"/%b (\d+) 0 R" % name, data[table:])[1]) for name in (b"Root", b"Info"))  # type: ignore[index]
    bodies = [
        data[start:stop].split(b" obj\n", 1)[1].rsplit(b"endobj", 1)[0].rstrip(b"\n")
        for start, stop in zip(starts, [*starts[1:], table], strict=True)
    ]
    return sealed(written(bodies, root, info))


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
        file.save(target, fix_metadata_version=False)
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
        file.save(target, fix_metadata_version=False)
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
