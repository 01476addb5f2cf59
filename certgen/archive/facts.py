"""What verification finds: separate facts, each with its message."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from certgen.messages.catalogue import Message

GOOD, NOT_GOOD, NOT_CHECKED = "good", "not good", "not checked"


@dataclass(frozen=True)
class Fact:
    """One thing looked at.

    Attributes
    ----------
    name : str
        What was looked at.
    state : str
        ``GOOD``, ``NOT_GOOD`` or ``NOT_CHECKED``.
    words : Message
        What was found.
    details : tuple of Message or str
        One line each: what differs, and by how much.
    """

    name: str
    state: str
    words: Message
    details: tuple[Message | str, ...] = ()


@dataclass(frozen=True)
class Verification:
    """Everything found about one certificate.

    Attributes
    ----------
    number, verdict : str
        As the certificate states them; empty where it cannot be read.
    facts : tuple of Fact
        Container, data, register, recomputation, signature.
    """

    number: str
    verdict: str
    facts: tuple[Fact, ...]

    @property
    def good(self) -> bool:
        """Whether nothing that was looked at is other than it should be."""
        return all(fact.state != NOT_GOOD for fact in self.facts)


# What verification asks of a register of issued certificates, wherever one is kept.


class RegisterEntry(Protocol):
    """One issued certificate as the register knows it."""

    @property
    def digest(self) -> str:
        """SHA-256 of the file as issued, hexadecimal; a signature appended later does not change it."""

    @property
    def state(self) -> Message | None:
        """What became of it, for example superseded by HB-2026-0120; ``None`` where it stands."""


class Register(Protocol):
    """A register that can be asked."""

    def look_up(self, number: str, digest: str) -> RegisterEntry | None:
        """The entry of a number: the one of this digest where several revisions were issued, or ``None``."""
