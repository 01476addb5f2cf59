"""What verification asks of a register of issued certificates, wherever one is kept."""

from __future__ import annotations

from typing import Protocol


class RegisterEntry(Protocol):
    """One issued certificate as the register knows it."""

    @property
    def digest(self) -> str:
        """SHA-256 of the file as issued, hexadecimal; a signature appended later does not change it."""

    @property
    def state(self) -> str:
        """In words what became of it, for example 'superseded by HB-2026-0120'; empty where it stands."""


class Register(Protocol):
    """A register that can be asked."""

    def look_up(self, number: str, digest: str) -> RegisterEntry | None:
        """The entry of a number: the one of this digest where several revisions were issued, or ``None``."""
