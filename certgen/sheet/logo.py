"""A shop's own logo from an untrusted file: a PNG, bounded before it is decoded and opaque afterwards, or an SVG."""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from dataclasses import dataclass

from certgen.document.references import find, shown_name
from certgen.document.source import read_bounded
from certgen.errors import InputError
from certgen.job.load import LoadedJob
from certgen.sheet.logo_refused import MOST_RATIO, LogoRefused
from certgen.sheet.svg_logo import DrawnLogo, read_svg

#: Bounds on the file and the picture. A logo of 30 mm at 600 dots an inch has 709 pixels across.
MOST_BYTES = 512_000
MOST_SIDE = 3000
MOST_PIXELS = 4_000_000

_PNG = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True)
class Logo:
    """A picture in red, green and blue, row by row, a byte each."""

    width: int
    height: int
    pixels: bytes

    @property
    def ratio(self) -> float:
        """Width to height."""
        return self.width / self.height


def logo_of(loaded: LoadedJob) -> Logo | DrawnLogo | None:
    """The shop's logo, where the job names one.

    Raises
    ------
    InputError
        The file is absent, or cannot be used as a logo.
    """
    reference, problems = loaded.job.sheet.logo, loaded.reader.problems
    if reference is None:
        return None
    path = find(reference, loaded.reader, loaded.folder, "sheet.logo")
    shown = shown_name(loaded.reader, reference)
    try:
        if path is not None and path.is_file() and path.stat().st_size > MOST_BYTES:
            raise LogoRefused(f"the file is larger than {MOST_BYTES // 1000} kB")
        data = None if path is None else read_bounded(path, shown, problems)
        logo = None if data is None else read_logo(data)
    except LogoRefused as refused:
        problems.add(shown, (0, 0), f"sheet.logo: {refused.what}", refused.instead)
        logo = None
    if logo is None:
        raise InputError(problems.found)
    return logo


def read_logo(data: bytes) -> Logo | DrawnLogo:
    """A PNG as a picture on white, an SVG as plain shapes.

    Raises
    ------
    LogoRefused
        It is neither, too large, out of proportion, or damaged.
    """
    if len(data) > MOST_BYTES:
        raise LogoRefused(f"the file is larger than {MOST_BYTES // 1000} kB")
    if not data.startswith(_PNG):
        if b"<svg" not in data.lower():
            raise LogoRefused("this is neither a PNG picture nor an SVG drawing")
        return read_svg(data)
    if len(data) < 33 or data[12:16] != b"IHDR":
        raise LogoRefused("the picture is damaged at its beginning")
    width, height = struct.unpack(">II", data[16:24])
    _check_size(width, height)
    return _decoded(data)


def _check_size(width: int, height: int) -> None:
    if not (0 < width <= MOST_SIDE and 0 < height <= MOST_SIDE and width * height <= MOST_PIXELS):
        raise LogoRefused(f"the picture has {width} by {height} pixels", f"make it at most {MOST_SIDE} a side")
    if max(width / height, height / width) > MOST_RATIO:
        what = f"the picture has {width} by {height} pixels, too narrow a strip"
        raise LogoRefused(what, f"keep its sides within 1 to {MOST_RATIO:g}")


def _decoded(data: bytes) -> Logo:
    """The whole picture decoded, its transparent parts white."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            Image.open(io.BytesIO(data), formats=["PNG"]).verify()
            picture = Image.open(io.BytesIO(data), formats=["PNG"]).convert("RGBA")
            on_white = Image.new("RGBA", picture.size, "white")
            on_white.alpha_composite(picture)
            plain = on_white.convert("RGB")
    except (
        UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError, EOFError, IndexError,
        KeyError, TypeError, OverflowError, MemoryError, struct.error, zlib.error, Warning,
    ) as cause:  # fmt: skip
        raise LogoRefused("the picture is damaged") from cause
    return Logo(plain.width, plain.height, plain.tobytes())
