"""The digest by which a file is known again, whatever it is called and wherever it lies."""

from __future__ import annotations

import hashlib


def digest(data: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()
