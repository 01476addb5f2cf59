"""Draws the pictures of the example jobs: a plate with what its job says is punched on it, and a foot-mounted motor.

Run ``python example_jobs/draw_pictures.py`` to draw them. Nothing is photographed: no real motor, no real plate.
"""

from __future__ import annotations

import io
import random
from pathlib import Path
from typing import Any

import yaml
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from certgen.sheet.pdf import fonts

EXAMPLES = Path(__file__).resolve().parent
FACE = Path(fonts.__file__).parents[1] / "fonts" / "RobotoCondensed-Bold.ttf"
#: Jobs that have pictures, each with the seed of its scratches.
JOBS = {"inspected_motor": 3}
#: Size of a picture, and how many times larger it is drawn before it is made smooth.
SIZE, FINER = (1000, 760), 2
#: The note that a camera writes for a picture held upright: turn it by a quarter (Exif 2.3, tag 0x0112, value 6).
ORIENTATION, TURNED = 0x0112, 6

Colour = tuple[int, int, int]
METAL, DARK, BRIGHT, PAINT, SHADE, LIGHT = (
    (188, 190, 188), (44, 46, 48), (226, 228, 226), (72, 102, 122), (48, 70, 86), (118, 148, 166),
)  # fmt: skip


def pictures(name: str) -> dict[Path, bytes]:
    """The pictures of one job by their files: the plate as PNG, the motor as a JPEG held sideways, as telephones do."""
    job = yaml.safe_load((EXAMPLES / name / "job.yaml").read_text(encoding="utf-8"))
    plate, motor = io.BytesIO(), io.BytesIO()
    plate_drawn(job, JOBS[name]).quantize(48).convert("RGB").save(plate, "PNG", optimize=True)
    sideways = motor_drawn(str(job["motor"].get("frame", ""))).transpose(Image.Transpose.ROTATE_90)
    notes = Image.Exif()
    notes[ORIENTATION] = TURNED
    sideways.save(motor, "JPEG", quality=80, optimize=True, exif=notes)
    return {EXAMPLES / name / "plate.png": plate.getvalue(), EXAMPLES / name / "motor.jpg": motor.getvalue()}


class Drawing:
    """A drawing in parts of its picture, made smooth at the end."""

    def __init__(self, ground: Colour) -> None:
        self.size = (SIZE[0] * FINER, SIZE[1] * FINER)
        self.picture = Image.new("RGB", self.size, ground)
        self.pen = ImageDraw.Draw(self.picture)

    def box(self, left: float, top: float, right: float, low: float, fill: Colour, *, round_by: float = 0.0) -> None:
        """A rectangle, its corners rounded by a part of the width."""
        edges = (left * self.size[0], top * self.size[1], right * self.size[0], low * self.size[1])
        self.pen.rounded_rectangle(edges, round_by * self.size[0], fill=fill)

    def dot(self, x: float, y: float, radius: float, fill: Colour) -> None:
        """A disc."""
        across, down, far = x * self.size[0], y * self.size[1], radius * self.size[0]
        self.pen.ellipse((across - far, down - far, across + far, down + far), fill=fill)

    def line(self, start: tuple[float, float], end: tuple[float, float], fill: Colour, weight: float) -> None:
        """A straight line."""
        (x, y), (to_x, to_y) = start, end
        ends = (x * self.size[0], y * self.size[1], to_x * self.size[0], to_y * self.size[1])
        self.pen.line(ends, fill=fill, width=max(1, round(weight * self.size[0])))

    def text(self, x: float, y: float, text: str, height: float, fill: Colour = DARK) -> None:
        """A text from its left, its height a part of the width."""
        face = ImageFont.truetype(str(FACE), round(height * self.size[0]))
        self.pen.text((x * self.size[0], y * self.size[1]), text, fill, face)

    def done(self, blur: float = 0.0) -> Image.Image:
        """The picture."""
        smooth = self.picture.filter(ImageFilter.GaussianBlur(blur * FINER)) if blur else self.picture
        return smooth.resize(SIZE, Image.Resampling.LANCZOS)


def plate_drawn(job: dict[str, Any], seed: int) -> Image.Image:
    """A riveted plate with the maker, the serial number and everything declared on it; worn."""
    drawing = Drawing(SHADE)
    drawing.box(0.05, 0.07, 0.95, 0.93, METAL, round_by=0.03)
    for x, y in ((0.09, 0.125), (0.91, 0.125), (0.09, 0.875), (0.91, 0.875)):
        drawing.dot(x, y, 0.018, BRIGHT)
        drawing.dot(x, y, 0.008, DARK)
    motor, plate = job["motor"], job["nameplate"]
    drawing.text(0.14, 0.115, str(motor["maker"]).upper(), 0.062)
    drawing.line((0.09, 0.235), (0.91, 0.235), DARK, 0.004)
    cells = [("TYPE", motor["model"]), ("No", motor["serial"])]
    cells += [(str(name).replace("_", " ").upper(), value) for name, value in plate.items()]
    if "enclosure" in motor:
        cells.append(("PROTECTION", motor["enclosure"]))
    for index, (name, value) in enumerate(cells[:12]):
        x, y = 0.09 + 0.42 * (index % 2), 0.26 + 0.107 * (index // 2)
        drawing.text(x, y, name, 0.017)
        drawing.text(x, y + 0.024, str(value).replace("deg", "°"), 0.041)
        drawing.line((x, y + 0.09), (x + 0.38, y + 0.09), DARK, 0.0015)
    _scratch(drawing, seed)
    return drawing.done(0.5)


def _scratch(drawing: Drawing, seed: int) -> None:
    """Scratches and a few spots of rust."""
    chance = random.Random(seed)
    for _ in range(26):
        x, y = chance.uniform(0.08, 0.9), chance.uniform(0.1, 0.9)
        to_x, to_y = x + chance.uniform(-0.06, 0.06), y + chance.uniform(-0.03, 0.03)
        drawing.line((x, y), (min(to_x, 0.93), to_y), chance.choice((BRIGHT, (150, 152, 150))), 0.0012)
    for _ in range(9):
        drawing.dot(chance.uniform(0.08, 0.92), chance.uniform(0.88, 0.92), chance.uniform(0.002, 0.006), (142, 96, 62))


def motor_drawn(frame: str) -> Image.Image:
    """A finned, foot-mounted motor from its side, its cowl on the left, its shaft on the right."""
    drawing = Drawing((214, 212, 206))
    drawing.box(0.0, 0.82, 1.0, 1.0, (164, 152, 134))  # the bench
    for left in (0.30, 0.62):
        drawing.box(left, 0.74, left + 0.13, 0.83, SHADE, round_by=0.008)  # feet
        drawing.dot(left + 0.065, 0.80, 0.012, METAL)
    drawing.box(0.26, 0.27, 0.80, 0.76, PAINT, round_by=0.02)  # frame with its fins
    for index in range(9):
        drawing.line((0.27, 0.315 + 0.05 * index), (0.79, 0.315 + 0.05 * index), SHADE, 0.006)
        drawing.line((0.27, 0.325 + 0.05 * index), (0.79, 0.325 + 0.05 * index), LIGHT, 0.003)
    drawing.box(0.10, 0.25, 0.27, 0.78, SHADE, round_by=0.03)  # cowl
    for index in range(6):
        drawing.line((0.125, 0.34 + 0.07 * index), (0.20, 0.34 + 0.07 * index), DARK, 0.008)
    drawing.pen.line([(0.215 * drawing.size[0], 0.26 * drawing.size[1]), (0.235 * drawing.size[0], 0.36 * drawing.size[1]),
                      (0.222 * drawing.size[0], 0.44 * drawing.size[1]), (0.24 * drawing.size[0], 0.53 * drawing.size[1])],
                     fill=(16, 18, 20), width=5 * FINER)  # fmt: skip
    drawing.box(0.79, 0.30, 0.84, 0.73, SHADE, round_by=0.012)  # end shield
    drawing.box(0.84, 0.485, 0.95, 0.545, METAL, round_by=0.004)  # shaft and its key
    drawing.box(0.86, 0.478, 0.94, 0.494, DARK)
    drawing.box(0.42, 0.14, 0.66, 0.28, SHADE, round_by=0.012)  # terminal box
    drawing.box(0.435, 0.155, 0.645, 0.245, PAINT, round_by=0.008)
    for x in (0.447, 0.633):
        drawing.dot(x, 0.17, 0.007, METAL)
        drawing.dot(x, 0.23, 0.007, METAL)
    drawing.box(0.46, 0.44, 0.62, 0.58, METAL, round_by=0.006)  # plate
    for index in range(4):
        y = 0.47 + 0.026 * index
        drawing.line((0.475, y), (0.60 - 0.02 * (index % 2), y), DARK, 0.003)
    drawing.text(0.04, 0.90, frame, 0.03)
    return drawing.done(0.6)


def main() -> None:
    """Draw every picture."""
    for name in JOBS:
        for path, data in pictures(name).items():
            path.write_bytes(data)
            print(f"{path.relative_to(EXAMPLES)} {len(data)} bytes")


if __name__ == "__main__":
    main()
