"""A tag held against the certificate it belongs to: it carries no data of its own, and proves nothing by itself."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from html import unescape

from certgen import __version__
from certgen.archive.drawn_again import Versions, differences
from certgen.archive.facts import (
    CONTAINER,
    GOOD,
    NOT_CHECKED,
    NOT_GOOD,
    PAGE,
    REPLACED,
    Fact,
    Register,
    Verification,
    whole_or_fact,
)
from certgen.archive.objects import OtherForm, read_objects
from certgen.archive.reading import TookTooLong, within
from certgen.archive.reissue_check import MOST_LISTED, PROGRAM
from certgen.archive.seal import read_seal
from certgen.errors import CertgenError
from certgen.messages.catalogue import Message
from certgen.messages.languages import languages

_MOST_SECONDS = 120.0

_IDENTIFIER = re.compile(rb"<dc:identifier>([^<]{1,400})</dc:identifier>")
_SOURCE = re.compile(rb"<dc:source>([0-9a-f]{64})</dc:source>")
_PRODUCER = re.compile(rb"<pdf:Producer>([^<]{1,80})</pdf:Producer>")
_DRAWN_AS = re.compile(
    rb"<pdf:Keywords>tag [^<]*, ([^<,/]{1,200})/([\w.-]+)/(si|us|both)(?:/([A-Za-z-]{2,35}))?</pdf:Keywords>"
)


_REVISION = re.compile(r" revision [0-9]+$")


@dataclass(frozen=True)
class DrawnAs:
    """What a tag says of itself: the number on it, the digest its code names, how it was asked for, and by which version."""

    number: str
    digest: str
    layout: str
    paper: str
    units: str
    program: str
    language: str = "en"


def drawn_as(layout: str, paper: str, units: str, language: str = "en") -> str:
    """How a tag was asked for, as it stands in its file; a language of the shop's own comes with the job."""
    shipped = language in languages() and language != "en"
    return f"{layout}/{paper}/{units}/{language}" if shipped else f"{layout}/{paper}/{units}"


def read_tag(data: bytes) -> DrawnAs | None:
    """What a tag says of itself; ``None`` where it does not."""
    number, source, producer, asked = (one.search(data) for one in (_IDENTIFIER, _SOURCE, _PRODUCER, _DRAWN_AS))
    if number is None or source is None or producer is None or asked is None:
        return None
    texts = [
        unescape(text.decode("utf-8", "replace")) for text in (number[1], asked[1], asked[2], asked[3], producer[1])
    ]
    shown, layout, paper, units, program = texts
    language = asked[4].decode() if asked[4] else "en"
    return DrawnAs(_REVISION.sub("", shown), source[1].decode(), layout, paper, units, program, language)


#: Draws a tag again from the certificate of a digest, given the number on it; raises CertgenError where it cannot.
Draw = Callable[[DrawnAs], bytes]


def verify_tag(data: bytes, draw: Draw | None, *, register: Register | None = None) -> Verification:
    """Look at one tag: whether it is unchanged, whether its certificate stands, and whether that gives this tag.

    Parameters
    ----------
    data : bytes
        The PDF.
    draw : callable, optional
        Draws the tag again from its certificate, where an archive is at hand.
    register : Register, optional
        The register of issued certificates, where one is at hand.
    """
    tag, container = read_tag(data), _container(data)
    if tag is None:
        unread = Fact("register", NOT_CHECKED, Message("verify.register.no_number"))
        return Verification("", "", (container, unread))
    registered = _registered(tag, register)
    drawable = registered.state in (GOOD, REPLACED) and container.state == GOOD and draw is not None
    page = (
        _page(data, tag, draw)
        if drawable and draw is not None
        else Fact(PAGE, NOT_CHECKED, Message("verify.tag.needs_archive"))
    )
    entry = None if register is None else register.look_up(tag.number, tag.digest)
    return Verification(tag.number, "", (container, registered, page), replaced_by=entry.replaced_by if entry else "")


def _container(data: bytes) -> Fact:
    seal = whole_or_fact(data, read_seal(data))
    if isinstance(seal, Fact):
        return seal
    if len(data) > seal.length:
        return Fact(CONTAINER, NOT_GOOD, Message("verify.container.appended", count=len(data) - seal.length))
    return Fact(CONTAINER, GOOD, Message("verify.container.whole", length=seal.length, digest=seal.stated))


def _registered(tag: DrawnAs, register: Register | None) -> Fact:
    name = "register"
    if register is None:
        return Fact(name, NOT_CHECKED, Message("verify.register.none"))
    entry = register.look_up(tag.number, tag.digest)
    if entry is None:
        return Fact(name, NOT_GOOD, Message("verify.register.absent", number=tag.number))
    if entry.digest != tag.digest:
        return Fact(name, NOT_GOOD, Message("verify.tag.other_certificate", number=tag.number))
    if entry.state is not None:
        return Fact(name, REPLACED, entry.state)
    return Fact(name, GOOD, Message("verify.tag.certificate", number=tag.number))


def _page(data: bytes, tag: DrawnAs, draw: Draw) -> Fact:
    """The tag drawn again from its certificate, held against this one object by object."""
    versions = Versions(tag.program, f"{PROGRAM} {__version__}")
    try:
        with within(_MOST_SECONDS):
            again = draw(tag)
            if again == data:
                return Fact(PAGE, GOOD, Message("verify.tag.same"))
            differing = differences(read_objects(data), read_objects(again), versions)
    except (CertgenError, OtherForm) as cause:
        return Fact(PAGE, NOT_CHECKED, Message("verify.page.not_drawn", cause=str(cause).partition("\n")[0]))
    except TookTooLong:
        return Fact(PAGE, NOT_GOOD, Message("verify.page.too_long"))
    if not differing:
        return Fact(PAGE, GOOD, Message("verify.tag.same"))
    if not versions.same:
        return Fact(PAGE, NOT_CHECKED, Message("verify.page.other_version", version=versions.now))
    return Fact(PAGE, NOT_GOOD, Message("verify.tag.other"), tuple(differing[:MOST_LISTED]))
