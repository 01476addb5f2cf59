"""The shop file: what a shop says every time, written once; a job names it, and the job's own words win."""

from __future__ import annotations

import os
import posixpath
import re
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

import yaml

from certgen.document.build import FileReference, Reader
from certgen.document.references import find, resolve, shown_name
from certgen.document.source import Problems, decode, digest, parse, place_of, read_bounded
from certgen.document.vocabulary import Choice, Custom, Each, Group, Reference, Text, key
from certgen.job.model import DECISION_RULES, SHEET_PAPERS, SHEET_UNITS, Job, SheetChoice, Shop

_YAML = (".yaml", ".yml")
JobBuilt = TypeVar("JobBuilt", bound=Job)
_FINGERPRINT = re.compile(r"[0-9a-f]{64}")


def _read_fingerprint(node: yaml.Node, reader: Reader, path: str) -> str | None:
    """The SHA-256 of a certificate in 64 small hexadecimal digits; colons and spaces between them are dropped."""
    text = reader.scalar(node, path, "write the 64 digits that 'certgen key' printed")
    if text is None:
        return None
    plain = re.sub(r"[:\s]", "", text).lower()
    if _FINGERPRINT.fullmatch(plain) is None:
        what = f"'{text[:40]}' is not the SHA-256 of a certificate"
        reader.wrong(node, path, what, "write the 64 digits that 'certgen key' printed, between quotes")
        return None
    return plain


FINGERPRINT = Custom(
    _read_fingerprint,
    lambda: {"type": "string", "pattern": "^[0-9a-fA-F]{2}([: ]?[0-9a-fA-F]{2}){31}$"},
    "the SHA-256 of a certificate, 64 hexadecimal digits between quotes",
)


@dataclass(frozen=True)
class ShopSheet:
    """How the shop's sheets are drawn where the job does not say."""

    layout: str | None = key(Text(200, "certificate"), "Name of a layout, or a layout file of the shop's own.")
    paper: str | None = key(Choice(SHEET_PAPERS), "Paper.")
    units: str | None = key(Choice(SHEET_UNITS), "Units printed.")
    language: str | None = key(Text(200, "de"), "Language of the page: en, de, es, fr, or a file of the shop's own.")
    record: str | None = key(Choice(("true", "false")), "Whether the test record follows the certificate in its PDF.")


@dataclass(frozen=True)
class ShopFile(Shop):
    """The shop, and what all its jobs have in common."""

    logo: FileReference | None = key(
        Reference("logo.png"), "Logo for the heading: a PNG of at most 3000 pixels a side or a plain SVG."
    )
    authorised_by: str | None = key(Text(80, "R. Tanner"), "Who answers for the certificates.")
    function: str | None = key(Text(80, "bench lead"), "Function of who authorises.")
    rig: FileReference | None = key(Reference("rigs/arm_brake.yaml"), "The rig of jobs that name none.")
    criteria: str | None = key(Text(200, "iec-60034-1"), "A criteria set, or a file of the shop's own.")
    decision_rule: str | None = key(Choice(DECISION_RULES), "How uncertainty enters the outcome.")
    sheet: ShopSheet = key(Group(ShopSheet), "How its sheets are drawn.", default=ShopSheet())
    archive: FileReference | None = key(
        Reference("certificates"),
        "Folder of the archive that 'certgen issue' enters certificates into where neither --out, --archive nor "
        "CERTGEN_ARCHIVE names another.",
    )
    numbers: str | None = key(
        Text(50, "HB-{year}-{serial:04}"), "Pattern of the numbers that a new register of the archive gives."
    )
    signing_keys: tuple[str, ...] = key(
        Each(FINGERPRINT, 20),
        "The SHA-256 of each certificate the shop signs with; verify names a signature by any other.",
    )
    fonts: tuple[FileReference, ...] = key(
        Each(Reference("fonts/Ours-Regular.ttf"), 8),
        "TrueType files of the shop's own, for characters that the program's typeface does not have; a part of them is "
        "embedded in the page.",
    )

    def __post_init__(self) -> None:
        """A list left out is an empty one."""
        for name in ("address", "signing_keys", "fonts"):
            if getattr(self, name) is None:
                object.__setattr__(self, name, ())

    @property
    def as_printed(self) -> Shop:
        """What stands in the heading."""
        return Shop(self.name, self.address, self.contact, self.url)


# A shop file read from a job, its files named as the job would name them.


@dataclass(frozen=True)
class NamedShop:
    """A shop file with its folder.

    Every file it names is called as the job would call it; ``archive`` is the folder it means. ``not_evaluated`` are keys
    written in it that change no result.
    """

    file: ShopFile
    archive: Path | None = None
    not_evaluated: tuple[str, ...] = ()


def read_shop(root: yaml.MappingNode, reader: Reader, inputs: dict[str, str]) -> NamedShop | None:
    """The shop file that a job names at its key ``shop``; ``None`` where it names none or the mistake was kept.

    ``inputs`` gets its digest under its name.
    """
    node = next((value for at, value in root.value if getattr(at, "value", None) == "shop"), None)
    if not isinstance(node, yaml.ScalarNode) or not node.value:
        return None  # left out, or reported where the job is built
    reference = FileReference(str(node.value), place_of(node))
    path = find(reference, reader, reader.folder, "shop")
    if path is None:
        return None
    shown = shown_name(reader, reference)
    data = read_bounded(path, shown, reader.problems)
    if data is None:
        return None
    shop, shop_reader = _shop_of(data, shown, path.parent)
    reader.problems.found.extend(shop_reader.problems.found)
    if shop is None:
        return None
    inputs[reference.name] = digest(data)
    mine = replace(shop_reader, problems=reader.problems)
    return _seen_from_job(shop, mine, reader, reference)


@lru_cache(maxsize=4)
def _shop_of(data: bytes, shown: str, folder: Path) -> tuple[ShopFile | None, Reader]:
    """A shop file with its reader, which has the mistakes of the file; many jobs are one shop's."""
    reader = Reader(shown, folder, Problems())
    return built_shop(data, reader), reader


def built_shop(data: bytes, reader: Reader) -> ShopFile | None:
    """A shop file read by itself; mistakes are kept."""
    text = decode(data, reader.shown, reader.problems)
    root = None if text is None else parse(text, reader.shown, reader.problems)
    shop = None if root is None else reader.group(ShopFile, root)
    if shop is not None and shop.function and not shop.authorised_by:
        reader.wrong_at("function", "nobody is named whose function this is", "write 'authorised_by:' too")
    return shop


def _seen_from_job(shop: ShopFile, mine: Reader, reader: Reader, at: FileReference) -> NamedShop:
    """The same with every file it names called as the job would call it; what is not there is a mistake of this file."""
    folder = posixpath.dirname(at.name)

    def called(reference: FileReference | None, path: str) -> FileReference | None:
        if reference is None or find(reference, mine, reader.folder, path) is None:
            return None
        return FileReference(posixpath.normpath(posixpath.join(folder, reference.name)), at.place)

    def named(text: str | None, path: str) -> str | None:
        if text is None or not text.endswith(_YAML):
            return text
        found = called(FileReference(text, mine.place_above(path)), path)
        return None if found is None else found.name

    sheet = replace(
        shop.sheet,
        layout=named(shop.sheet.layout, "sheet.layout"),
        language=named(shop.sheet.language, "sheet.language"),
    )
    # They travel with no certificate, so whether they are there is asked where a page is drawn.
    fonts = (font for font in shop.fonts if resolve(font, mine, reader.folder, "fonts") is not None)
    seen = replace(
        shop,
        logo=called(shop.logo, "logo"),
        rig=called(shop.rig, "rig"),
        criteria=named(shop.criteria, "criteria"),
        sheet=sheet,
        fonts=tuple(FileReference(posixpath.normpath(posixpath.join(folder, font.name)), at.place) for font in fonts),
    )
    within = shop.archive is not None and resolve(shop.archive, mine, reader.folder, "archive") is not None
    archive = reader.folder / folder / shop.archive.name if within and shop.archive is not None else None
    return NamedShop(seen, None if archive is None else Path(os.path.normpath(archive)), tuple(mine.not_evaluated))


def with_shop(job: JobBuilt, shop: ShopFile, reader: Reader) -> JobBuilt:
    """A job with everything from its shop file that it does not say itself.

    The shop for the heading is taken whole or not at all, and so is who authorises with the function.
    """
    places = reader.places
    at = reader.place_above("shop")

    def lent(path: str, own: Any, others: Any) -> Any:
        if path in places or others is None:
            return own
        places[path] = at
        return others

    certificate = job.certificate
    if certificate is not None:
        who, function = certificate.authorised_by, certificate.function
        if who is None and function is None:
            who, function = shop.authorised_by, shop.function
        heading = lent("certificate.shop", certificate.shop, shop.as_printed)
        certificate = replace(certificate, shop=heading, authorised_by=who, function=function)
    choice = job.sheet or SheetChoice()
    lent_sheet = {f.name: getattr(shop.sheet, f.name, None) for f in fields(choice)} | {"logo": shop.logo}
    sheet = {name: lent(f"sheet.{name}", getattr(choice, name), value) for name, value in lent_sheet.items()}
    return replace(
        job,
        certificate=certificate,
        rig=lent("rig", job.rig, shop.rig),
        criteria=lent("criteria", job.criteria, shop.criteria),
        decision_rule=lent("decision_rule", job.decision_rule, shop.decision_rule),
        sheet=replace(choice, **sheet),
    )


def fingerprints(path: Path) -> Iterator[str]:
    """The signing keys a shop file pins, each as 64 hexadecimal digits.

    Raises
    ------
    InputError
        The file has mistakes, or names no key.
    """
    from certgen.errors import InputError

    reader = Reader(str(path), path.parent, Problems())
    data = read_bounded(path, reader.shown, reader.problems)
    shop = None if data is None else built_shop(data, reader)
    if shop is not None and not reader.problems.found and not shop.signing_keys:
        reader.wrong_at("signing_keys", "this shop file names no key", "write the SHA-256 that 'certgen key' printed")
    if shop is None or reader.problems.found:
        raise InputError(reader.problems.found)
    yield from shop.signing_keys
