"""A zip archive of XML looked at before anything in it is unpacked, and unpacked within bounds."""

from __future__ import annotations

import io
import re
import zipfile
import zlib

#: A workbook of 200,000 rows by six columns unpacks to about 60 MB of XML, some 10 to 20 times its size.
MOST_PARTS = 2000
MOST_UNPACKED = 200_000_000
MOST_RATIO = 200
#: Below this size nothing is a bomb: a short sheet of equal cells packs well.
_HARMLESS = 2_000_000

_PIECE = 1 << 20
_NEEDED = (".xml", ".rels", "mimetype")
#: Parts that no reading needs: programs, and links to other files.
_LEFT_OUT = re.compile(r"vbaProject|externalLink|/embeddings/|/media/|Basic/|Scripts/|Object ", re.IGNORECASE)
_ENTITY = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)


class BadArchive(ValueError):
    """The archive is refused; the message says why, in words for the user."""


def unpacked(data: bytes) -> dict[str, bytes]:
    """The XML parts of an archive by name.

    Raises
    ------
    BadArchive
        Broken, encrypted, too large when unpacked (by its directory or in fact), or with XML that declares entities.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_directory(infos)
            return _parts(archive, infos)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError, RuntimeError, ValueError) as cause:
        if isinstance(cause, BadArchive):
            raise
        raise BadArchive("the file is broken and cannot be unpacked") from cause


def _check_directory(infos: list[zipfile.ZipInfo]) -> None:
    if len(infos) > MOST_PARTS:
        raise BadArchive(f"the file holds {len(infos)} parts, more than a workbook has")
    if any(one.flag_bits & 0x1 for one in infos):
        raise BadArchive("the file is locked with a password")
    _check_size(sum(one.file_size for one in infos), sum(one.compress_size for one in infos))


def _check_size(unpacked_size: int, packed: int) -> None:
    if unpacked_size > MOST_UNPACKED:
        raise BadArchive(f"the file unpacks to more than {MOST_UNPACKED // 1_000_000} MB")
    if unpacked_size > _HARMLESS and unpacked_size > MOST_RATIO * max(packed, 1):
        raise BadArchive(f"the file unpacks to more than {MOST_RATIO} times its size")


def _parts(archive: zipfile.ZipFile, infos: list[zipfile.ZipInfo]) -> dict[str, bytes]:
    """Every needed part; what really comes out counts, not what the directory says."""
    found: dict[str, bytes] = {}
    total = packed = 0
    for info in infos:
        if not info.filename.endswith(_NEEDED) or _LEFT_OUT.search(info.filename):
            continue
        if info.filename in found:
            raise BadArchive(f"the part '{info.filename[:60]}' stands twice in the file")
        packed += info.compress_size
        pieces = []
        with archive.open(info) as part:
            while piece := part.read(_PIECE):
                total += len(piece)
                _check_size(total, packed)
                pieces.append(piece)
        found[info.filename] = b"".join(pieces)
        if _ENTITY.search(found[info.filename][:4096]):
            raise BadArchive(f"the part '{info.filename[:60]}' declares entities, which no workbook needs")
    return found


def packed_again(parts: dict[str, bytes]) -> bytes:
    """An archive of the parts given and no others, so that whoever reads it meets only what was looked at."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as archive:
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name), data)
    return target.getvalue()
