"""Pictures of a motor and its plate from untrusted files: bounded before they are decoded, cleaned of all but the picture.

A picture is kept as it will stand on the page: upright, no larger than its place there is printed, without place, time,
camera or any other note that a file may carry. What is clean already stays as it is to the last byte, so that a picture
taken out of a certificate gives the same certificate again.
"""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from certgen.document.build import FileReference, Reader
from certgen.document.references import find, shown_name
from certgen.document.source import read_bounded
from certgen.document.vocabulary import Reference, key

if TYPE_CHECKING:
    from pathlib import Path

    from PIL import Image

#: What a picture may be of, in the order they are shown.
PLATE, MOTOR = "plate", "motor"

#: Bounds on the file and on the picture in it: a telephone takes up to 50 million pixels.
MOST_BYTES = 20_000_000
MOST_PIXELS = 51_000_000
#: A side shorter than this shows nothing. [pixel]
LEAST_SIDE = 32

#: The largest place of a picture on a sheet [mm], and how fine it is printed there [1/inch].
PLACE = (91.0, 70.0)
DPI = 200
_MOST_SIDES = tuple(round(side / 25.4 * DPI) for side in PLACE)
#: A clean picture of that size is no larger. [byte]
_MOST_CLEAN = 2_000_000
#: A JPEG may be drawn in passes, each over the whole picture; ten are usual.
_SCAN_BEGINS, _MOST_SCANS = b"\xff\xda", 100
#: Quality of JPEG, and colours as fine as the light: letters of a plate stay sharp.
_QUALITY, _NO_SUBSAMPLING = 85, 0

JPEG, PNG = "JPEG", "PNG"
_ENDINGS = {JPEG: (".jpg", ".jpeg"), PNG: (".png",)}
_BEGINS = {JPEG: b"\xff\xd8\xff", PNG: b"\x89PNG\r\n\x1a\n"}
_TAKE_ANOTHER = "take another picture, or save this one anew"
_SHOWS_MORE = "take a picture that shows something"


@dataclass(frozen=True)
class Pictures:
    """Pictures of the motor as found."""

    plate: FileReference | None = key(
        Reference("plate.jpg"),
        "Of its nameplate: a PNG or JPEG in the job's own folder; only the picture is kept of it.",
    )
    motor: FileReference | None = key(Reference("motor.jpg"), "Of the motor: a PNG or JPEG in the job's own folder.")


@dataclass(frozen=True)
class Picture:
    """One picture as it is enclosed and drawn: the bytes of a clean PNG or JPEG, and its size in pixels."""

    of: str  # plate or motor
    name: str  # of its file, as the job names it
    kind: str  # JPEG or PNG
    width: int
    height: int
    data: bytes = field(repr=False)

    @property
    def ratio(self) -> float:
        """Width to height."""
        return self.width / self.height


class PictureRefused(ValueError):
    """The file cannot be used as a picture: what is wrong, and what to do instead."""

    def __init__(self, what: str, instead: str) -> None:
        self.what, self.instead = what, instead
        super().__init__(f"{what}; {instead}")


def pictures_of(pictures: Pictures, reader: Reader, folder: Path) -> tuple[Picture, ...]:
    """The pictures a job names, cleaned; the mistakes of those that cannot be used are kept.

    What the reader keeps of the files is what they were cleaned to: that is what a certificate encloses.
    """
    named = ((PLATE, pictures.plate), (MOTOR, pictures.motor))
    found = [_picture(of, reference, reader, folder) for of, reference in named if reference is not None]
    return tuple(one for one in found if one is not None)


def _picture(of: str, reference: FileReference, reader: Reader, folder: Path) -> Picture | None:
    path, problems = find(reference, reader, folder, f"pictures.{of}"), reader.problems
    if path is None:
        return None
    shown = shown_name(reader, reference)
    try:
        if not path.is_relative_to(folder.resolve()):
            raise PictureRefused("it stands outside the job's own folder", "put the picture beside the job")
        data = read_bounded(path, shown, problems, MOST_BYTES)
        if data is None:
            return None
        kind = kind_of(data)
        if path.suffix.lower() not in _ENDINGS[kind]:
            raise PictureRefused(f"it holds a {kind} picture", f"let its name end in {_ENDINGS[kind][0]}")
        clean, (width, height) = cleaned(data)
    except PictureRefused as refused:
        problems.read.pop(shown, None)
        what = f"pictures.{of}: '{reference.name}' cannot be used: {refused.what}"
        problems.add(reader.shown, reference.place, what, refused.instead)
        return None
    problems.read[shown] = clean
    return Picture(of, reference.name, kind, width, height, clean)


def kind_of(data: bytes) -> str:
    """Whether a file begins as a PNG or a JPEG.

    Raises
    ------
    PictureRefused
        It begins as neither.
    """
    for kind, begins in _BEGINS.items():
        if data.startswith(begins):
            return kind
    raise PictureRefused("it is neither a PNG nor a JPEG picture", "save it as JPEG, which every telephone can")


def cleaned(data: bytes) -> tuple[bytes, tuple[int, int]]:
    """A picture with nothing but itself in it, and its width and height. [pixel]

    Parameters
    ----------
    data : bytes
        A PNG or JPEG of a stranger.

    Returns
    -------
    bytes
        The very same where it is clean and small enough; else made anew: upright as its orientation says (Exif 2.3,
        tag 0x0112), on white, at most as large as its place is printed, as the same kind of file.
    tuple of int
        Width and height.

    Raises
    ------
    PictureRefused
        It is neither kind, damaged, too small to show anything, or too large.
    """
    from PIL import Image

    kind = kind_of(data)
    with _damage_refused():
        if data.count(_SCAN_BEGINS) > _MOST_SCANS:
            raise PictureRefused("it is drawn in too many passes", _TAKE_ANOTHER)
        picture = Image.open(io.BytesIO(data), formats=[kind])
        _check_size(*picture.size)
        if _fits(picture.size) and len(data) <= _MOST_CLEAN and _is_clean(data, kind):
            picture.load()
            return data, picture.size
        plain = _resampled(picture)
        if min(plain.size) < LEAST_SIDE:  # else it would be refused where the certificate is made again
            width, height = picture.size
            raise PictureRefused(f"{width} by {height} pixels are too narrow a strip to be printed", _SHOWS_MORE)
        made = io.BytesIO()
        if kind == JPEG:
            plain.save(made, JPEG, quality=_QUALITY, subsampling=_NO_SUBSAMPLING, optimize=True)
        else:
            plain.save(made, PNG, compress_level=9)
    return made.getvalue(), plain.size


@contextmanager
def _damage_refused() -> Iterator[None]:
    """Whatever the decoder raises on a damaged file, as one refusal."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of notes in the file, which are thrown away
            yield
    except PictureRefused:
        raise
    except Image.DecompressionBombError as cause:
        raise PictureRefused("it has too many pixels", _smaller()) from cause
    except (
        UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, ArithmeticError,
        AttributeError, MemoryError, struct.error, zlib.error,
    ) as cause:  # fmt: skip
        raise PictureRefused("the picture is damaged", _TAKE_ANOTHER) from cause


def _check_size(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise PictureRefused(f"it has {width} by {height} pixels", _smaller())
    if min(width, height) < LEAST_SIDE:
        raise PictureRefused(f"it has only {width} by {height} pixels", _SHOWS_MORE)


def _fits(size: tuple[int, int]) -> bool:
    return size[0] <= _MOST_SIDES[0] and size[1] <= _MOST_SIDES[1]


def _smaller() -> str:
    return f"save it with at most {MOST_PIXELS // 1_000_000} million"


def _resampled(picture: Image.Image) -> Image.Image:
    """Upright, red, green and blue on white, no larger than its place."""
    from PIL import Image, ImageOps

    most = 2 * max(_MOST_SIDES)
    picture.draft("RGB", (most, most))  # lets a JPEG be decoded smaller, so that a large one takes little memory
    upright = ImageOps.exif_transpose(picture)
    if upright.mode.startswith("I"):  # 16 bit a pixel
        upright = upright.convert("I").point(lambda level: level / 256).convert("L")
    if upright.mode in ("LA", "PA", "RGBA", "RGBa", "La") or "transparency" in upright.info:
        upright = Image.alpha_composite(Image.new("RGBA", upright.size, "white"), upright.convert("RGBA"))
    plain = upright.convert("RGB")
    plain.thumbnail((_MOST_SIDES[0], _MOST_SIDES[1]), Image.Resampling.LANCZOS)
    return Image.frombytes("RGB", plain.size, plain.tobytes())  # without what the file said beside the picture


# Whether a file holds a picture and nothing else.


#: Segments of a JPEG before its end that belong to the picture: tables, frames of one component a colour, scans.
#: ITU-T T.81, table B.1.
_JPEG_PARTS = frozenset((0xDB, 0xC0, 0xC1, 0xC2, 0xC4, 0xDD, 0xDA))
_FRAMES, _SCAN, _END = (0xC0, 0xC1, 0xC2), 0xDA, b"\xff\xd9"
#: The one note that stays: how colours are meant (JFIF 1.02, without a small copy of the picture in it).
_JFIF_HEAD, _JFIF = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00", 20
#: Chunks of a PNG of plain pixels. ISO/IEC 15948:2004, 11.2.
_PNG_PARTS = (b"IHDR", b"IDAT", b"IEND")
#: 8 bit a colour; red, green and blue; the one packing and filter; not interlaced.
_PNG_PLAIN = bytes((8, 2, 0, 0, 0))


def _is_clean(data: bytes, kind: str) -> bool:
    try:
        return _is_clean_jpeg(data) if kind == JPEG else _is_clean_png(data)
    except (IndexError, struct.error):
        return False


def _is_clean_jpeg(data: bytes) -> bool:
    """Whether a JPEG is a picture of three colours with nothing before, in between or behind it."""
    if not data.startswith(_JFIF_HEAD) or data[18:20] != b"\0\0":
        return False
    at, frames = _JFIF, 0
    while data[at : at + 2] != _END:
        sign, marker = data[at], data[at + 1]
        if sign != 0xFF or marker not in _JPEG_PARTS:
            return False
        (length,) = struct.unpack_from(">H", data, at + 2)
        if marker in _FRAMES:
            frames += 1
            if data[at + 4] != 8 or data[at + 9] != 3:
                return False
        at += 2 + length
        if marker == _SCAN:
            at = _after_scan(data, at)
    return frames == 1 and at + 2 == len(data)


def _after_scan(data: bytes, at: int) -> int:
    """Where the next segment begins: at 0xFF with neither a zero nor the number of a restart behind it."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0:
            raise IndexError("no end")
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7:
            return at
        at += 2


def _is_clean_png(data: bytes) -> bool:
    """Whether a PNG is plain pixels with nothing before, in between or behind them."""
    at, names = len(_BEGINS[PNG]), []
    while at < len(data):
        length, name = struct.unpack_from(">I4s", data, at)
        if name not in _PNG_PARTS or (name == b"IHDR" and data[at + 16 : at + 21] != _PNG_PLAIN):
            return False
        names.append(name)
        at += length + 12
    return names[0] == b"IHDR" and names[-1] == b"IEND" and names.count(b"IHDR") == names.count(b"IEND") == 1
