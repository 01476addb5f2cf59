"""Characters that no font of the page can show: each is a mistake, named with its key before anything is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.document.build import FileReference, Reader
from certgen.document.references import find, resolve, shown_name
from certgen.document.source import Problems, digest, read_bounded
from certgen.document.wording import short
from certgen.errors import CertgenError, InputError, visible
from certgen.job.load import LoadedJob, load_job
from certgen.messages.languages import catalogue, languages

if TYPE_CHECKING:
    from certgen.results.model import Results
    from certgen.sheet.engine.layout import Layout
    from certgen.sheet.engine.place import PlacedPage
    from certgen.sheet.pdf.shop_fonts import ShopFont

#: Of the readings only the remarks of load points are printed, and those are looked at in the results.
_NOT_PRINTED = ("readings", "criteria", "sheet")
_FONT_ADVICE = "name a TrueType font that has it under 'fonts' in the shop file, or write it in other characters"
_SCRIPT_ADVICE = "write it in a script that is set from left to right, letter by letter"


# The fonts of the shop.


def fonts_of(loaded: LoadedJob) -> tuple[ShopFont, ...]:
    """The fonts that the shop file of a job names, checked.

    Raises
    ------
    InputError
        One of them is not there, is no TrueType font, or may not be embedded.
    """
    named = () if loaded.shop is None else loaded.shop.file.fonts
    problems = Problems()
    reader = replace(loaded.reader, problems=problems)
    found = [read_named(one, reader, loaded.folder) for one in named]
    if problems.found:
        raise InputError(problems.found)
    return tuple(font for font in found if font is not None)


def font_files(loaded: LoadedJob) -> tuple[Path, ...]:
    """Where the fonts lie that the shop file of a job names; one that is not there is left out."""
    named = () if loaded.shop is None else loaded.shop.file.fonts
    reader = replace(loaded.reader, problems=Problems())
    places = (resolve(one, reader, loaded.folder, "fonts") for one in named)
    return tuple(place for place in places if place is not None and place.is_file())


def font_files_of(shop: Path) -> tuple[Path, ...]:
    """Where the fonts lie that a shop file names.

    Raises
    ------
    InputError
        The file has mistakes.
    """
    from certgen.job.shop import built_shop

    reader = Reader(str(shop), shop.parent, Problems())
    data = read_bounded(shop, reader.shown, reader.problems)
    own = None if data is None else built_shop(data, reader)
    if own is None or reader.problems.found:
        raise InputError(reader.problems.found)
    return tuple(shop.parent / font.name for font in own.fonts)


def fonts_in(files: Iterable[Path]) -> tuple[ShopFont, ...]:
    """The fonts in some files, each once, for a sheet about many jobs; what cannot be used is left out."""
    from certgen.sheet.pdf.shop_fonts import MOST_BYTES, FontRefused, read_font

    found: dict[str, ShopFont] = {}
    for path in dict.fromkeys(files):
        data = read_bounded(path, str(path), Problems(), MOST_BYTES)
        with suppress(FontRefused):
            if data is not None:
                font = read_font(data)
                found[font.sha256] = font
    return tuple(found.values())


def read_named(reference: FileReference, reader: Reader, job_folder: Path) -> ShopFont | None:
    """A font by its name in a file, or ``None`` with the mistake kept. It is no input of the results, and not enclosed."""
    from certgen.sheet.pdf.shop_fonts import MOST_BYTES, FontRefused, read_font

    path = find(reference, reader, job_folder, "fonts")
    if path is None:
        return None
    data = read_bounded(path, shown_name(reader, reference), reader.problems, MOST_BYTES)
    if data is None:
        return None
    try:
        return read_font(data)
    except FontRefused as refused:
        what = f"fonts: '{short(reference.name)}' {refused.what}"
        reader.problems.add(reader.shown, reference.place, what, refused.instead)
        return None


def lend_fonts(job: Path, stated: Sequence[str], shop: Path) -> None:
    """Put the fonts a certificate states beside its job, which was taken out of it, as far as a shop file names them.

    Parameters
    ----------
    job : Path
        The job file among the files of the certificate, in a folder that may be written to.
    stated : sequence of str
        SHA-256 of each font of the job's shop file, in its order.
    shop : Path
        The shop file of whoever verifies.
    """
    from certgen.job.shop import built_shop
    from certgen.sheet.pdf.shop_fonts import MOST_BYTES

    problems = Problems()
    data, loaded = read_bounded(shop, str(shop), problems), load_job(job, problems)
    own = None if data is None else built_shop(data, Reader(str(shop), shop.parent, problems))
    if own is None or loaded is None or loaded.shop is None:
        return
    files = (read_bounded(shop.parent / font.name, font.name, problems, MOST_BYTES) for font in own.fonts)
    known = {digest(file): file for file in files if file is not None}
    for reference, sha256 in zip(loaded.shop.file.fonts, stated, strict=False):
        place = resolve(reference, loaded.reader, loaded.folder, "fonts")
        if place is not None and sha256 in known and not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(known[sha256])


@contextmanager
def in_fonts_of(loaded: LoadedJob, layout: Layout | None = None) -> Iterator[None]:
    """Measure and draw with the fonts of a job's shop besides the page's own; before them where the layout says so.

    Raises
    ------
    InputError
        As :func:`fonts_of`.
    """
    from certgen.sheet.engine.layout import OF_THE_SHOP
    from certgen.sheet.pdf.fonts import shown_with

    with shown_with(fonts_of(loaded), first=layout is not None and layout.typeface == OF_THE_SHOP):
        yield


# What no font shows.


def require_showable(loaded: LoadedJob, results: Results | None = None) -> None:
    """Keep to texts that the page can show.

    Raises
    ------
    InputError
        A text of the job or its rig, or a remark printed with the results, holds a character that no font of page or shop
        has, or one that takes shaping.
    """
    with in_fonts_of(loaded):
        _keep(loaded.job, loaded.reader, _NOT_PRINTED)
        _keep(loaded.rig, loaded.rig_reader, ())
        for row, point in enumerate(() if results is None else results.points, 1):
            if wrong := _unshowable(point.remark):
                loaded.reader.wrong_at("readings.load_test", f"remark of load point {row}: {wrong[0]}", wrong[1])
    if loaded.reader.problems.found:
        raise InputError(loaded.reader.problems.found)


def require_showable_page(page: PlacedPage) -> None:
    """Keep to pages whose every text can be shown: what came from a name of a file or an earlier test among them.

    Raises
    ------
    CertgenError
        A text holds a character that no font of page or shop has, or one that takes shaping.
    """
    from certgen.sheet.engine.setting import TextMark

    for one in page.pages:
        for box in one.boxes:
            for mark in box.setting.marks:
                if isinstance(mark, TextMark) and (wrong := _unshowable(mark.text)):
                    raise CertgenError(f"'{visible(mark.text[:60])}' on the page: {wrong[0]}; {wrong[1]}.")


def require_showable_layout(layout: Layout, name: str) -> None:
    """Keep to titles, texts and sentences of the language that the page can show.

    Raises
    ------
    CertgenError
        One of them holds a character that no font of the page has.
    """
    # Of the languages that come with the program the tests show it, once for all.
    spoken = layout.spoken
    comes_along = spoken.tag in languages() and spoken.sentences is catalogue(spoken.tag)
    own = {} if comes_along else spoken.sentences
    sentences = {**own, **(layout.texts or {}), **(layout.phrases or {})}
    titles = {f"blocks.{path}": text for path, text in _texts(layout.blocks, "")}
    rows = {path: text for index, row in enumerate(layout.rows, 1) for path, text in _texts(row, f"rows[{index}]")}
    for key, text in (*titles.items(), *rows.items(), *sentences.items()):
        if wrong := _unshowable(text):
            raise CertgenError(f"{name}: {key}: {wrong[0]}; {wrong[1]}.")


def _keep(of: object, reader: Reader, left_out: tuple[str, ...]) -> None:
    for path, text in _texts(of, ""):
        if path.partition(".")[0] not in left_out and (wrong := _unshowable(text)):
            reader.wrong_at(path, *wrong)


def _texts(of: object, path: str) -> Iterator[tuple[str, str]]:
    """Every text of a model with its key, at whatever depth; names of files are none."""
    if isinstance(of, str):
        yield path, of
    elif isinstance(of, (tuple, list)):
        for index, one in enumerate(of, 1):
            yield from _texts(one, f"{path}[{index}]")
    elif is_dataclass(of) and not isinstance(of, FileReference):
        for one in fields(of):
            yield from _texts(getattr(of, one.name), f"{path}.{one.name}".lstrip("."))


def _unshowable(text: str) -> tuple[str, str] | None:
    """What is wrong with a text that cannot be shown, its characters with their numbers, and what to do instead."""
    if text.isascii():
        return None
    from certgen.sheet.pdf.fonts import unshaped, unshowable

    if missing := unshowable(text):
        return f"no font of the page shows {_listed(missing)}", _FONT_ADVICE
    if joined := unshaped(text):
        return (
            f"the page cannot set {_listed(joined)}, whose script is joined or runs from right to left",
            _SCRIPT_ADVICE,
        )
    return None


def _listed(signs: str) -> str:
    return ", ".join(f"'{sign}' (U+{ord(sign):04X})" for sign in signs)
