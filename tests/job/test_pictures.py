"""Pictures of a motor: what is left of a file, and what is refused."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import pytest
from bench import Bench
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from certgen.errors import InputError
from certgen.job.pictures import DPI, LEAST_SIDE, MOST_PIXELS, PLACE, PictureRefused, cleaned
from certgen.pipeline import assess_job

#: Width and height of its place on a sheet. [pixel]
MOST = tuple(round(side / 25.4 * DPI) for side in PLACE)

pytestmark = pytest.mark.slow

RED, BLUE = (220, 30, 30), (30, 30, 220)
SECRET = b"54 Elm Row, 51.2 N, on a Tuesday"


def halves(size: tuple[int, int]) -> Image.Image:
    """Red above, blue below."""
    picture = Image.new("RGB", size, BLUE)
    picture.paste(RED, (0, 0, size[0], size[1] // 2))
    return picture


def stored(picture: Image.Image, kind: str, **how: object) -> bytes:
    made = io.BytesIO()
    picture.save(made, kind, **how)
    return made.getvalue()


def jpeg_with_notes(size: tuple[int, int], orientation: int = 1) -> bytes:
    """A JPEG as a telephone writes it: Exif with orientation, place and camera, a comment, a profile of its colours."""
    notes = Image.Exif()
    notes[0x0112], notes[0x010E], notes[0x010F] = orientation, SECRET.decode(), "a camera"
    return stored(halves(size), "JPEG", exif=notes, comment=SECRET, icc_profile=SECRET * 9, quality=90)


#: Where red is to be seen in the upright picture, by the value of the tag. Exif 2.3, 4.6.4 A, Orientation: what of the
#: scene the first row and the first column of the stored picture are (1: top and left; 6: right and top).
SIDES = {1: "top", 2: "top", 3: "bottom", 4: "bottom", 5: "left", 6: "right", 7: "right", 8: "left"}


@pytest.mark.parametrize(("orientation", "side"), SIDES.items())
def test_a_picture_stands_upright_as_its_orientation_says(orientation: int, side: str) -> None:
    data, (width, height) = cleaned(jpeg_with_notes((300, 200), orientation))
    picture = Image.open(io.BytesIO(data))
    assert (width, height) == picture.size == ((200, 300) if orientation >= 5 else (300, 200))
    places = {"top": (0.5, 0.1), "bottom": (0.5, 0.9), "left": (0.1, 0.5), "right": (0.9, 0.5)}
    red = {
        name
        for name, (x, y) in places.items()
        if picture.getpixel((int(x * width), int(y * height)))[0] > 150  # type: ignore[index]
    }
    assert side in red
    opposite = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}[side]
    assert opposite not in red


def test_nothing_but_the_picture_is_left_of_a_file() -> None:
    told = PngInfo()
    told.add_text("Place", SECRET.decode())
    for data in (jpeg_with_notes((300, 200)), stored(halves((300, 200)), "PNG", pnginfo=told) + SECRET):
        assert SECRET in data
        clean, _ = cleaned(data)
        assert SECRET not in clean
        picture = Image.open(io.BytesIO(clean))
        picture.load()
        assert not picture.getexif()
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_a_picture_is_as_fine_as_its_place_is_printed() -> None:
    _, (width, height) = cleaned(jpeg_with_notes((4000, 3000)))
    assert width == MOST[0]
    assert height == pytest.approx(width * 3 / 4, abs=1)
    _, (width, height) = cleaned(stored(halves((3000, 400)), "PNG"))
    assert width == MOST[0]
    assert cleaned(stored(halves((300, 200)), "PNG"))[1] == (300, 200)


KINDS = st.sampled_from((("JPEG", "RGB"), ("JPEG", "L"), ("JPEG", "CMYK"), ("PNG", "RGB"), ("PNG", "RGBA"), ("PNG", "P"),
                         ("PNG", "L"), ("PNG", "LA"), ("PNG", "1"), ("PNG", "I;16")))  # fmt: skip


@given(kind=KINDS, width=st.integers(32, 900), height=st.integers(32, 900))
@settings(max_examples=40, deadline=None)
def test_what_is_clean_stays_as_it_is(kind: tuple[str, str], width: int, height: int) -> None:
    """A picture taken out of a certificate gives the same certificate again."""
    form, mode = kind
    assume(min(width, height) * min(1.0, MOST[0] / width, MOST[1] / height) >= LEAST_SIDE + 1)
    clean, size = cleaned(stored(Image.new(mode, (width, height)), form))
    assert cleaned(clean) == (clean, size)
    assert Image.open(io.BytesIO(clean)).mode == "RGB"


@pytest.mark.parametrize("size", [(32, 900), (3000, 60)])
def test_a_strip_that_would_be_printed_too_narrow_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(PictureRefused, match=f"{size[0]} by {size[1]} pixels are too narrow a strip"):
        cleaned(stored(Image.new("RGB", size), "PNG"))


def test_sixteen_bits_and_transparency_keep_their_look() -> None:
    grey = Image.new("I;16", (40, 40), 256 * 128)
    assert Image.open(io.BytesIO(cleaned(stored(grey, "PNG"))[0])).getpixel((5, 5)) == (128, 128, 128)
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert Image.open(io.BytesIO(cleaned(stored(clear, "PNG"))[0])).getpixel((5, 5)) == (255, 255, 255)


def claiming(width: int, height: int) -> bytes:
    """A small PNG that claims to be large. ISO/IEC 15948:2004, 5.3 and 11.2.2."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


def jpeg_claiming(width: int, height: int) -> bytes:
    """A small JPEG that claims to be large: other numbers in its frame. ITU-T T.81, B.2.2."""
    data = stored(halves((64, 64)), "JPEG")
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (claiming(60_000, 60_000), "too many pixels"),
        (claiming(9_000, 9_000), "it has 9000 by 9000 pixels"),
        (jpeg_claiming(60_000, 60_000), "too many pixels"),
        (jpeg_claiming(9_000, 9_000), "it has 9000 by 9000 pixels"),
        (claiming(20, 400), "only 20 by 400 pixels"),
        (claiming(400, 400), "damaged"),
        (stored(halves((300, 200)), "JPEG")[:900], "damaged"),
        (stored(halves((300, 200)), "JPEG", progressive=True).replace(b"\xff\xd9", b"\xff\xda" * 200), "too many passes"),
        (stored(halves((300, 200)), "GIF"), "neither a PNG nor a JPEG"),
        (b"", "neither a PNG nor a JPEG"),
    ],
    ids=["png bomb", "large png", "jpeg bomb", "large jpeg", "strip", "no pixels", "cut", "passes", "gif", "empty"],
)  # fmt: skip
def test_what_cannot_be_used_is_refused_before_it_takes_room(data: bytes, words: str) -> None:
    with pytest.raises(PictureRefused) as refused:
        cleaned(data)
    assert words in str(refused.value)
    assert MOST_PIXELS < 9_000 * 9_000


@pytest.mark.parametrize(
    ("named", "words"),
    [
        ("plate.jpg", "pictures.plate: 'plate.jpg' cannot be used: it holds a PNG picture; let its name end in .png"),
        ("../plate.png", "it stands outside the job's own folder; put the picture beside the job"),
        ("there/plate.png", "pictures.plate: 'there/plate.png' does not exist"),
        ("linked.png", "it stands outside the job's own folder"),
        ("/plate.png", "is an absolute name"),
    ],
)
def test_a_job_is_told_of_a_picture_it_cannot_have(tmp_path: Path, named: str, words: str) -> None:
    job = Bench(tmp_path).edit("job", {"criteria:": f"pictures: {{plate: {named}}}\ncriteria:"}).write()
    for path in (job.parent / "plate.jpg", tmp_path / "plate.png"):
        path.write_bytes(stored(halves((300, 200)), "PNG"))
    (job.parent / "linked.png").symlink_to(tmp_path / "plate.png")
    with pytest.raises(InputError) as refused:
        assess_job(job)
    assert words in str(refused.value)
