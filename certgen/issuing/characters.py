"""Characters that no font of the page can show: each is a mistake, named with its key before anything is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING

from certgen.document.build import FileReference, Reader
from certgen.errors import CertgenError, InputError
from certgen.job.load import LoadedJob

if TYPE_CHECKING:
    from certgen.sheet.engine.layout import Layout

#: Of the readings only remarks are printed, and those are checked as part of the job's own rows.
_NOT_PRINTED = ("readings", "criteria", "sheet")
_INSTEAD = "write it in characters that the page's fonts have; scripts written from right to left are not set here"


def require_showable(loaded: LoadedJob) -> None:
    """Keep to texts that the page can show.

    Raises
    ------
    InputError
        A text of the job or its rig holds a character that no font of the page has, or one written from right to left.
    """
    _keep(loaded.job, loaded.reader, _NOT_PRINTED)
    _keep(loaded.rig, loaded.rig_reader, ())
    if loaded.reader.problems.found:
        raise InputError(loaded.reader.problems.found)


def require_showable_layout(layout: Layout, name: str) -> None:
    """Keep to titles, texts and sentences of the language that the page can show.

    Raises
    ------
    CertgenError
        One of them holds a character that no font of the page has.
    """
    sentences = {**layout.spoken.sentences, **(layout.texts or {}), **(layout.phrases or {})}
    titles = {f"blocks.{path}": text for path, text in _texts(layout.blocks, "")}
    rows = {path: text for index, row in enumerate(layout.rows, 1) for path, text in _texts(row, f"rows[{index}]")}
    for key, text in (*titles.items(), *rows.items(), *sentences.items()):
        if missing := _unshowable(text):
            raise CertgenError(f"{name}: {key}: no font of the page shows {missing}; {_INSTEAD}.")


def _keep(of: object, reader: Reader, left_out: tuple[str, ...]) -> None:
    for path, text in _texts(of, ""):
        if path.partition(".")[0] not in left_out and (missing := _unshowable(text)):
            reader.wrong_at(path, f"no font of the page shows {missing}", _INSTEAD)


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


def _unshowable(text: str) -> str:
    """The characters that cannot be shown, each with its number, or nothing."""
    from certgen.sheet.pdf.fonts import unshowable

    return ", ".join(f"'{sign}' (U+{ord(sign):04X})" for sign in unshowable(text))
