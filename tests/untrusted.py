"""Every reader of files from outside as a function of bytes, which ends in a result or in mistakes that are told.

Anything else is a fault of the program and is raised: another exception, or a mistake that is not one short line.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from bench import ARM_RIG, BENCHES, CRITERIA, CSV, FILES, ROPE_RIG, Bench
from workbooks import in_a_workbook, sheets

from certgen.archive.enclosures import Contents
from certgen.archive.reissue_check import MadeAgain
from certgen.archive.signature import judged
from certgen.archive.verify import NotACertificate, enclosed_files, verify
from certgen.document.build import Reader
from certgen.document.source import Problems, decode, parse
from certgen.errors import CertgenError, InputError
from certgen.issuing.certificate import draw_job
from certgen.issuing.layouts import SheetOptions
from certgen.issuing.run_sheet import plan_job
from certgen.job.consistency import check_rig
from certgen.job.load import load_job
from certgen.job.pictures import PictureRefused, cleaned
from certgen.job.rig import Rig
from certgen.pipeline import assess_job
from certgen.readings.read import read_readings
from certgen.readings.recording.port import LineCutter
from certgen.readings.recording.rows import LineReader, Unreadable
from certgen.sheet.content import Content
from certgen.sheet.engine.layout import Layout, load_layout
from certgen.sheet.engine.page import units_of
from certgen.sheet.engine.place import compose_content
from certgen.sheet.engine.subjects import PLAN, TEST
from certgen.sheet.pdf.logo import LogoRefused, read_logo
from certgen.sheet.plan_content import PlanContent
from certgen.standards.criteria import read_criteria

LONGEST_MISTAKE = 1500
EXAMPLES = Path(__file__).parent.parent / "example_jobs"
LAYOUTS = Path(__file__).parent.parent / "layouts"

#: A logger of each way of cutting a line into cells.
LOGGERS = tuple(
    f"{{{how}, columns: [{{name: speed, unit: rpm}}, {{name: scale, unit: kg}}, {{name: current, unit: A}}]}}"
    for how in ("separator: comma", "separator: semicolon, decimal: comma", "separator: blanks", "separator: '::'")
)


_ONE_FILE = BENCHES["file"]["job"].partition("  load_test:\n")[2].partition("criteria:")[0]
_JOINED = """\
    files:
      - {file: brake.csv, columns: {time: s, speed: rpm, scale: kg}}
      - {file: meter.csv, columns: {time: s, voltage: V, current: A, input_power: W}}
    join: {by: nearest, within: 0.5 s}
"""
OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"


def told_well(error: CertgenError | Problems) -> None:
    """Every mistake is one short line that a terminal shows as it is."""
    mistakes = [str(one) for one in error.found] if isinstance(error, Problems) else str(error).split("\n")
    for told in mistakes:
        if not told.isprintable() or len(told) > LONGEST_MISTAKE or not told.strip():
            raise AssertionError(f"not told in a short line: {told[:200]!r}")


@dataclass
class Untrusted:
    """The readers, each working in a bench of its own below a folder."""

    folder: Path
    made: dict[Any, Any] = field(default_factory=dict)

    def job(self, data: bytes) -> None:
        """A job file, with the tables and files it names."""
        problems = Problems()
        loaded = load_job(self._spoilt("full", "job", data), problems)
        if loaded is not None:
            read_readings(loaded)
        told_well(problems)

    def rig(self, data: bytes) -> None:
        """A rig file under a good job."""
        problems = Problems()
        load_job(self._spoilt("full", "rig", data), problems)
        told_well(problems)

    def criteria(self, data: bytes) -> None:
        """A shop's own limits, and a motor judged by them."""
        problems = Problems()
        text = decode(data, "limits.yaml", problems)
        found = None if text is None else read_criteria(text, Reader("limits.yaml", self.folder, problems))
        told_well(problems)
        if found is not None and not problems.found:
            with _refusals():
                assess_job(self._spoilt("criteria", "criteria", data))

    def layout(self, data: bytes) -> None:
        """A shop's own layout, and a page of a test or a plan set by it."""
        path = self.folder / "sheet.yaml"
        path.write_bytes(data)
        problems = Problems()
        layout = load_layout(path, "sheet.yaml", problems)
        told_well(problems)
        if layout is not None and not problems.found and layout.subject in (TEST, PLAN):
            with _refusals():
                compose_content(self._content(layout), layout, "a4")

    def text(self, data: bytes) -> None:
        """Readings as delimited text."""
        self._readings({"load_test.csv": data})

    def workbook(self, data: bytes) -> None:
        """Readings in a workbook: a whole one, or the XML of a sheet that is put into a good one."""
        book = in_a_workbook(data)
        self._readings({"load_test.ods" if OPEN_DOCUMENT in book[:200] else "load_test.xlsx": book})

    def joined(self, data: bytes) -> None:
        """Two logs joined on time; the sign RS stands between them."""
        brake, _, meter = data.partition(b"\x1e")
        self._readings({"brake.csv": brake, "meter.csv": meter}, _JOINED)

    def logger(self, data: bytes) -> None:
        """What a serial logger sends; the first byte chooses how its lines are cut."""
        reader = self._line_reader(data[0] % len(LOGGERS) if data else 0)
        cutter = LineCutter("any", opened_midway=False)
        middle = len(data) // 2
        for line in (*cutter.feed(data[1:middle]), *cutter.feed(data[middle:]), *cutter.broken_off()):
            try:
                reader.read(line.data, 0.0)
            except Unreadable as why:
                told_well(CertgenError(str(why)))

    def verify(self, data: bytes) -> None:
        """A certificate to be verified; what it encloses is read as any job is, and not computed again here."""
        try:
            found = verify(data, _not_made, judged)
            enclosed_files(data)
        except NotACertificate as error:
            told_well(error)
        else:
            assert found.facts

    def logo(self, data: bytes) -> None:
        """A shop's logo."""
        try:
            logo = read_logo(data)
        except LogoRefused as why:
            told_well(CertgenError(str(why)))
        else:
            assert len(logo.pixels) == 3 * logo.width * logo.height

    def picture(self, data: bytes) -> None:
        """A picture of a motor; what it is cleaned to stays as it is."""
        try:
            clean, size = cleaned(data)
        except PictureRefused as why:
            told_well(CertgenError(str(why)))
        else:
            assert cleaned(clean) == (clean, size)

    def _spoilt(self, bench: str, name: str, data: bytes) -> Path:
        """A good bench in which one file holds other bytes."""
        shop = self.folder / f"{bench} with another {name}"
        if shop not in self.made:
            self.made[shop] = Bench(shop).start(bench).write()
        (shop / FILES[name]).write_bytes(data)
        return shop / FILES["job"]

    def _readings(self, files: dict[str, bytes], declared: str = "") -> None:
        first = next(iter(files))
        shop = self.folder / f"with {first}"
        if shop not in self.made:
            edits = {_ONE_FILE: declared} if declared else {"file: load_test.csv": f"file: {first}"}
            self.made[shop] = Bench(shop).start("file").edit("job", edits).write()
        for name, data in files.items():
            (shop / "motor" / name).write_bytes(data)
        problems = Problems()
        loaded = load_job(self.made[shop], problems)
        assert loaded is not None
        assert not problems.found, problems.found
        read_readings(loaded)
        told_well(problems)

    def _content(self, layout: Layout) -> Content | PlanContent:
        """What a sheet of the layout's subject shows."""
        if "results" not in self.made:
            job = Bench(self.folder / "shop").start("full").write()
            self.made["results"], self.made["plan"] = assess_job(job).results, plan_job(job).plan
        units = units_of(layout, "si")
        if layout.subject == PLAN:
            return PlanContent(self.made["plan"], units, layout.words)
        return Content(self.made["results"], units, layout.words)

    def _line_reader(self, which: int) -> LineReader:
        if ("logger", which) not in self.made:
            text = f"{ARM_RIG}logger: {LOGGERS[which]}\n"
            problems = Problems()
            reader = Reader("rig.yaml", self.folder, problems)
            root = parse(text, "rig.yaml", problems)
            rig = None if root is None else reader.group(Rig, root)
            assert rig is not None
            check_rig(rig, reader)
            assert rig.logger is not None
            assert not problems.found
            self.made["logger", which] = LineReader(rig.logger, rig)
        return self.made["logger", which]


def _not_made(job: Path, contents: Contents) -> MadeAgain:
    raise CertgenError("not made again")


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except InputError as error:
        told_well(error)
    except CertgenError as error:
        told_well(error)


#: Readers by the name of the files they read.
READERS: dict[str, Callable[[Untrusted, bytes], None]] = {
    "job": Untrusted.job,
    "rig": Untrusted.rig,
    "criteria": Untrusted.criteria,
    "layout": Untrusted.layout,
    "text": Untrusted.text,
    "workbook": Untrusted.workbook,
    "joined": Untrusted.joined,
    "logger": Untrusted.logger,
    "logo": Untrusted.logo,
    "picture": Untrusted.picture,
    "verify": Untrusted.verify,
}


def seeds(reader: str) -> list[bytes]:
    """Good files to begin with."""
    if reader == "job":
        texts = [texts["job"] for texts in BENCHES.values()]
        return [*(text.encode() for text in texts), *(path.read_bytes() for path in EXAMPLES.glob("*/job.yaml"))]
    if reader == "rig":
        return [
            ARM_RIG.encode(),
            ROPE_RIG.encode(),
            *(path.read_bytes() for path in (EXAMPLES / "rigs").glob("*.yaml")),
        ]
    if reader == "criteria":
        return [CRITERIA.encode()]
    if reader == "layout":
        return [path.read_bytes() for path in LAYOUTS.glob("*.yaml")]
    if reader == "text":
        return [CSV.encode(), CSV.replace(",", ";").encode(), *(path.read_bytes() for path in EXAMPLES.glob("*/*.csv"))]
    if reader == "workbook":
        return [*sheets(), *(in_a_workbook(sheet) for sheet in sheets())]
    if reader == "joined":
        return [
            b"time,speed,scale\n0,1492,0\n1,1450,1\n2,1420,2\n\x1etime,voltage,current,input_power\n0.1,400,2,160\n1,400,3,900\n"
        ]
    if reader == "verify":
        return list(_certificates())
    if reader == "logo":
        return list(_logos())
    if reader == "picture":
        return list(_pictures())
    lines = (
        b"\x001420,2.06,3.4\n1419,2.06,3.4\n",
        b"\x011420;2,06;3,4\r\n",
        b"\x02 1420 2.06 3.4\r",
        b"\x031420::2.06::3.4\n",
    )
    return list(lines)


@cache
def _certificates() -> tuple[bytes, ...]:
    """A certificate, and a file that encloses one as certificates do and is little else, where damage meets structure."""
    with TemporaryDirectory() as folder:
        document = draw_job(Bench(Path(folder)).start("arm").write(), SheetOptions()).document
    return document, _enclosing_one_file()


def _enclosing_one_file() -> bytes:
    from pypdf import PdfWriter

    writer = PdfWriter()
    writer.add_blank_page(72, 72)
    writer.add_attachment("contents.json", b"{}")
    target = io.BytesIO()
    writer.write(target)
    return b"%PDF-1.7\n%certgen certificate\n" + target.getvalue().partition(b"\n")[2]


def _pictures() -> Iterator[bytes]:
    """Small pictures as cameras and drawing programs write them, clean ones and ones with notes."""
    from PIL import Image

    notes = Image.Exif()
    notes[0x0112], notes[0x010F] = 6, "a camera"
    for mode, kind, how in (
        ("RGB", "PNG", {}), ("P", "PNG", {}), ("I;16", "PNG", {}), ("RGBA", "PNG", {"dpi": (72, 72)}),
        ("RGB", "JPEG", {}), ("L", "JPEG", {}), ("CMYK", "JPEG", {}), ("RGB", "JPEG", {"exif": notes, "progressive": True}),
    ):  # fmt: skip
        target = io.BytesIO()
        Image.new(mode, (48, 40)).save(target, kind, **how)  # type: ignore[arg-type]
        yield target.getvalue()


def _logos() -> Iterator[bytes]:
    """Small pictures of each kind that a PNG can be."""
    from PIL import Image

    for mode in ("1", "L", "LA", "P", "RGB", "RGBA", "I;16"):
        target = io.BytesIO()
        Image.new(mode, (6, 4)).save(target, "PNG")
        yield target.getvalue()
