"""What verification finds: separate facts, each with its message."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from certgen.archive.seal import Seal
from certgen.messages.catalogue import Message

GOOD, NOT_GOOD, NOT_CHECKED, REPLACED = "good", "not good", "not checked", "replaced"

#: The facts that say whether a file is as it was issued, and whether a certificate's own data gives its page.
CONTAINER, PAGE = "container", "page"


@dataclass(frozen=True)
class Fact:
    """One thing looked at.

    Attributes
    ----------
    name : str
        What was looked at.
    state : str
        ``GOOD``, ``NOT_GOOD``, ``NOT_CHECKED``, or ``REPLACED`` where another certificate stands in its place.
    words : Message
        What was found.
    details : tuple of Message or str
        One line each: what differs, and by how much.
    vouches : bool
        Whether it proves, from outside the file, that the shop issued these very bytes.
    """

    name: str
    state: str
    words: Message
    details: tuple[Message | str, ...] = ()
    vouches: bool = False


def whole_or_fact(data: bytes, seal: Seal | None) -> Seal | Fact:
    """The seal of a file that holds every byte it was issued with, or the fact that it does not."""
    if seal is None:
        return Fact(CONTAINER, NOT_GOOD, Message("verify.container.no_seal"))
    if seal.length > len(data):
        cut = Message("verify.container.cut", absent=seal.length - len(data), length=seal.length)
        return Fact(CONTAINER, NOT_GOOD, cut)
    return seal if seal.whole else Fact(CONTAINER, NOT_GOOD, Message("verify.container.changed"))


@dataclass(frozen=True)
class Verification:
    """Everything found about one certificate.

    Attributes
    ----------
    number, verdict : str
        As the certificate states them; empty where it cannot be read.
    facts : tuple of Fact
        Container, data, register, recomputation, signature.
    earlier : str
        The version that issued it, where its page could not be drawn again by this one; else empty.
    replaced_by : str
        The certificate that stands in its place; empty where it stands itself.
    """

    number: str
    verdict: str
    facts: tuple[Fact, ...]
    earlier: str = ""
    replaced_by: str = ""

    @property
    def whole(self) -> bool:
        """Whether nothing that was looked at is other than it should be."""
        return all(fact.state not in (NOT_GOOD, REPLACED) for fact in self.facts)

    @property
    def headline(self) -> Message:
        """What is said of it first."""
        if any(fact.state == NOT_GOOD for fact in self.facts):
            return Message("terminal.verify.not_sound")
        if self.replaced_by:
            return Message("terminal.verify.replaced", by=self.replaced_by)
        if self.earlier:
            return Message("terminal.verify.earlier", version=self.earlier)
        return Message("terminal.verify.sound" if self.drawn_again else "terminal.verify.not_drawn")

    @property
    def drawn_again(self) -> bool:
        """Whether its own data was seen to give this very page."""
        return any(fact.name == PAGE and fact.state == GOOD for fact in self.facts)

    @property
    def good(self) -> bool:
        """Whether it is whole, and either its data gives this page or somebody who is trusted answers for it."""
        return self.whole and (self.drawn_again or any(fact.vouches for fact in self.facts))


# What verification asks of a register of issued certificates, wherever one is kept.


class RegisterEntry(Protocol):
    """One issued certificate as the register knows it."""

    @property
    def digest(self) -> str:
        """SHA-256 of the file as issued, hexadecimal; a signature appended later does not change it."""

    @property
    def state(self) -> Message | None:
        """What became of it, for example superseded by HB-2026-0120; ``None`` where it stands."""

    @property
    def replaced_by(self) -> str:
        """The certificate that stands in its place; empty where it stands itself."""


class Register(Protocol):
    """A register that can be asked."""

    def look_up(self, number: str, digest: str) -> RegisterEntry | None:
        """The entry of a number: the one of this digest where several revisions were issued, or ``None``."""
