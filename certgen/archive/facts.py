"""What verification finds: separate facts, each in plain words."""

from __future__ import annotations

from dataclasses import dataclass

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
    words : str
        What was found.
    details : tuple of str
        One line each: what differs, and by how much.
    """

    name: str
    state: str
    words: str
    details: tuple[str, ...] = ()


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
