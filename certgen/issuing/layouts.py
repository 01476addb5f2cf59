"""The layout that a job or the command line names: a shipped one, or a file of the shop's own."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.document.source import Problems
from certgen.document.wording import nearest
from certgen.errors import CertgenError, InputError
from certgen.issuing.characters import in_fonts_of, require_showable_layout
from certgen.job.load import LoadedJob, named_file
from certgen.messages.languages import Language, languages, shipped

if TYPE_CHECKING:
    from certgen.sheet.engine.layout import Layout


_YAML = (".yaml", ".yml")
#: The usual layout, which is no tag.
_CERTIFICATE = "certificate"


def layout_of(loaded: LoadedJob, override: str | None, language: str | None = None) -> Layout:
    """The layout that the command line names, or the job; one about a test, in the language of either.

    Raises
    ------
    InputError, CertgenError
        There is none of this name, it has mistakes, or it is about something else.
    """
    from certgen.sheet.engine.layout import (
        find_layout,
        in_language,
        load_layout,
        missing_of_certificate,
        shipped_layouts,
    )
    from certgen.sheet.engine.subjects import TEST

    name = override or loaded.job.sheet.layout
    problems = loaded.reader.problems
    shipped = find_layout(name)
    if shipped is not None:
        found: tuple[Path, str] | None = (shipped, shipped.name)
    elif override is not None and override.endswith(_YAML):
        found = (Path(override), override)
    elif override is not None:
        raise CertgenError(f"--sheet {override}: there is no such layout; {nearest(override, shipped_layouts())}.")
    else:
        found = named_file(name, "sheet.layout", shipped_layouts(), loaded)
    layout = None if found is None else load_layout(*found, problems)
    if layout is None or problems.found:
        raise InputError(problems.found)
    layout = in_language(layout, language_of(loaded, language))
    with in_fonts_of(loaded):
        require_showable_layout(layout, name)
    if layout.subject != TEST:
        raise CertgenError(f"{name}: this layout is about a {layout.subject}; name one with 'subject: {TEST}'.")
    missing = missing_of_certificate(layout)
    if not missing:
        _require_title(layout, name)
    if missing:
        raise CertgenError(
            f"{name}: no certificate without {'; '.join(missing)}. Add what is missing to the layout, on every page and "
            f"without 'when' or 'drop', or give it 'purpose: record' or 'purpose: tag'."
        )
    return layout


def _require_title(layout: Layout, name: str) -> None:
    from certgen.sheet.engine.layout import untitled

    heading = untitled(layout)
    if heading:
        raise CertgenError(
            f"{name}: no sheet without a title for '{heading}'. Add the block to the rows, and to the blocks "
            f"'{heading}: {{title: ..}}'."
        )


def language_of(loaded: LoadedJob, override: str | None = None) -> Language:
    """The language that the command line names, or the job: a shipped one, or a file of the shop's own.

    Raises
    ------
    InputError, CertgenError
        There is none of this name, or its file has mistakes.
    """
    name, problems = override or loaded.job.sheet.language, loaded.reader.problems
    if name in languages():
        return shipped(name)
    if override is not None and override.endswith(_YAML):
        raise CertgenError(
            f"--language {override}: name a language of the shop's own in the job (sheet.language), so that it travels in "
            "the certificate."
        )
    if override is not None:
        return spoken(override)
    found = named_file(name, "sheet.language", languages(), loaded)
    return _own_language(found, problems)


def spoken(name: str) -> Language:
    """A language by its tag or its file, as the command line names it.

    Raises
    ------
    InputError, CertgenError
        There is none of this name, or its file has mistakes.
    """
    if name in languages():
        return shipped(name)
    if not name.endswith(_YAML):
        raise CertgenError(f"--language {name}: no such language; {nearest(name, languages())}, or name a file.")
    return _own_language((Path(name), name), Problems())


def _own_language(found: tuple[Path, str] | None, problems: Problems) -> Language:
    from certgen.sheet.language_file import load_language

    language = None if found is None else load_language(*found, problems)
    if language is None or problems.found:
        raise InputError(problems.found)
    return language


def record_of(loaded: LoadedJob, asked: bool, language: str | None = None) -> Layout | None:
    """The layout of the record that follows the certificate; ``None`` where neither command line nor job asks for one."""
    from certgen.sheet.engine.layout import in_language

    if not asked and loaded.job.sheet.record != "true":
        return None
    return in_language(layout_about("test", "record"), language_of(loaded, language))


def is_tag(loaded: LoadedJob, override: str | None) -> bool:
    """Whether the layout named makes a tag."""
    name = override or loaded.job.sheet.layout
    return name != _CERTIFICATE and layout_of(loaded, override).purpose == "tag"


def layout_about(subject: str, name: str) -> Layout:
    """A layout by its shipped name or its file, which must be about this subject.

    Raises
    ------
    InputError, CertgenError
        There is none of this name, it has mistakes, or it is about something else.
    """
    from certgen.sheet.engine.layout import find_layout, load_layout, shipped_layouts

    shipped = find_layout(name)
    if shipped is None and not name.endswith(_YAML):
        raise CertgenError(f"--sheet {name}: there is no such layout; {nearest(name, shipped_layouts())}.")
    problems = Problems()
    found = (Path(name), name) if shipped is None else (shipped, shipped.name)
    layout = load_layout(*found, problems)
    if layout is None or problems.found:
        raise InputError(problems.found)
    if layout.subject != subject:
        raise CertgenError(
            f"--sheet {name}: this layout is about a {layout.subject}; name one with 'subject: {subject}'."
        )
    _require_title(layout, name)
    return layout


# What the command line says of a sheet.


@dataclass(frozen=True)
class SheetOptions:
    """What the command line says of the sheet; ``None`` leaves the job's own choice."""

    layout: str | None = None
    paper: str | None = None
    units: str | None = None
    language: str | None = None
    record: bool = False  # whether the record follows the certificate, besides what the job says
