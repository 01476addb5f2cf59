"""The colour profile against the published curve and an independent colour engine."""

from __future__ import annotations

import hashlib
import io

import pytest
from PIL import Image, ImageCms

from certgen.sheet.pdf.container import profile

RELATIVE = ImageCms.Intent.RELATIVE_COLORIMETRIC


def opened() -> ImageCms.ImageCmsProfile:
    return ImageCms.ImageCmsProfile(io.BytesIO(profile()))


def test_an_independent_engine_reads_it() -> None:
    read = opened().profile
    assert read.version == pytest.approx(4.2)
    assert (read.device_class, read.xcolor_space.strip(), read.connection_space.strip()) == ("mntr", "RGB", "XYZ")
    assert read.profile_description == "sRGB IEC61966-2.1"
    assert len(profile()) == int.from_bytes(profile()[:4], "big")


@pytest.mark.parametrize(
    ("name", "published"),
    [
        # Colorants of sRGB adapted to D50, as printed in the profile "sRGB_v4_ICC" and in common tables; from memory.
        ("red_colorant", (0.4361, 0.2225, 0.0139)),
        ("green_colorant", (0.3851, 0.7169, 0.0971)),
        ("blue_colorant", (0.1431, 0.0606, 0.7141)),
    ],
)
def test_primaries(name: str, published: tuple[float, ...]) -> None:
    assert getattr(opened().profile, name)[0] == pytest.approx(published, abs=0.0002)  # tables round the white


def test_primaries_add_up_to_the_white_of_the_connection_space() -> None:
    """ICC.1:2004-10, 7.2.16: D50 is 0.9642, 1.0, 0.8249."""
    read = opened().profile
    colorants = (read.red_colorant[0], read.green_colorant[0], read.blue_colorant[0])
    total = [sum(one[axis] for one in colorants) for axis in range(3)]
    assert total == pytest.approx([0.9642, 1.0, 0.8249], abs=0.00005)


def test_colours_are_those_of_another_srgb_profile() -> None:
    """LittleCMS's own sRGB profile gives the same colours: identity to one step of 255."""
    steps = range(0, 256, 15)
    picture = Image.new("RGB", (len(steps) ** 2, len(steps)))
    picture.putdata([(red, green, blue) for red in steps for green in steps for blue in steps])
    through = ImageCms.buildTransform(opened(), ImageCms.createProfile("sRGB"), "RGB", "RGB", renderingIntent=RELATIVE)
    apart = [
        abs(one - other)
        for one, other in zip(picture.tobytes(), ImageCms.applyTransform(picture, through).tobytes(), strict=True)
    ]
    assert max(apart) <= 1


def test_the_bytes_tell_no_time() -> None:
    """Changed numbers or a clock in the bytes would change every certificate."""
    profile.cache_clear()
    assert hashlib.sha256(profile()).hexdigest() == DIGEST


DIGEST = "ffaddd20e40dd8648171fe3a13025b4428f25c9b97806ee054b73ebc0933f8ef"
