"""Signatures: who put the page out, and that it is as it was then. The optional extra ``sign`` brings the library.

A signature is appended as an incremental update (ISO 32000-1, 12.8), CMS detached as ISO 19005-3, 6.4.3 allows. The
signed bytes are the whole file but the room of the signature itself.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from certgen.archive.bounds import TookTooLong, within
from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, Fact
from certgen.archive.seal import read_seal
from certgen.digest import digest
from certgen.errors import CertgenError, visible

NAME = "signature"
_MOST_SECONDS = 30.0
_MOST_SIGNATURES = 20

INSTALL = "pip install 'certgen[sign]'"


@dataclass(frozen=True)
class Signed:
    """One signature as it was found."""

    signer: str
    fingerprint: str  # SHA-256 of the certificate, hexadecimal
    said_at: str  # the signer's own clock
    trusted: bool


class _Broken(Exception):
    """A signature that does not hold; the message says why."""


def judged(data: bytes, trusted: bytes | None = None) -> Fact:
    """What the signatures of a certificate are worth.

    Parameters
    ----------
    data : bytes
        The PDF.
    trusted : bytes, optional
        A certificate (PEM or DER) that the signer's must be, or must have been issued by.
    """
    seal = read_seal(data)
    if seal is None or len(data) <= seal.length:
        return _none(trusted)
    try:
        with within(_MOST_SECONDS):
            found = list(_signatures(data, seal.length, trusted))
    except ImportError:
        return Fact(NAME, NOT_GOOD, f"there is something behind the seal, but it cannot be checked here: {INSTALL}")
    except CertgenError:
        raise
    except _Broken as cause:
        return Fact(NAME, NOT_GOOD, f"not valid: {cause}")
    except TookTooLong:
        return Fact(NAME, NOT_GOOD, "not valid: it takes too long to read")
    except Exception as cause:  # the library raises whatever a broken file makes Python raise
        return Fact(NAME, NOT_GOOD, f"not valid: it cannot be read ({type(cause).__name__})")
    return _told(found, trusted)


def _none(trusted: bytes | None) -> Fact:
    if trusted is not None:
        return Fact(NAME, NOT_GOOD, "there is none, and one was asked for")
    words = (
        "there is none: the digest shows that the file was not changed by accident, not who made it; whoever changes "
        "a page on purpose can compute a new digest"
    )
    return Fact(NAME, NOT_CHECKED, words)


def _told(found: list[Signed], trusted: bytes | None) -> Fact:
    details = tuple(f"{one.signer}, on {one.said_at} by the signer's own clock, certificate SHA-256 {one.fingerprint}"
                    for one in found)  # fmt: skip
    if trusted is None:
        words = "valid: the file is as it was signed; compare the certificate's SHA-256 with the one the shop gives you"
        return Fact(NAME, GOOD, words, details)
    if not any(one.trusted for one in found):
        return Fact(NAME, NOT_GOOD, "the signature holds, but is not by the certificate you trust", details)
    return Fact(NAME, GOOD, "valid, and by the certificate you trust", details)


def _signatures(data: bytes, sealed: int, trusted: bytes | None) -> Iterator[Signed]:
    import logging

    from pyhanko.pdf_utils.reader import PdfFileReader

    for library in ("pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(library).setLevel(logging.CRITICAL)  # what they have to say is told once, in our words
    embedded = PdfFileReader(io.BytesIO(data)).embedded_signatures
    if not embedded:
        raise _Broken("bytes were appended, but they hold no signature")
    if len(embedded) > _MOST_SIGNATURES:
        raise _Broken("there are too many signatures")
    ends = []
    for one in embedded:
        start, first, second, last = (int(part) for part in one.byte_range)
        if start != 0 or not sealed <= first <= second or second + last > len(data):
            raise _Broken("it does not cover the sealed bytes")
        _require_plain(data[first:second])
        ends.append(second + last)
        yield _checked(one, trusted)
    if max(ends) != len(data):
        raise _Broken("it does not cover the end of the file")


def _require_plain(room: bytes) -> None:
    """The room of a signature holds one CMS object in one spelling, then zeros, so that no bit of it is free."""
    from asn1crypto import cms

    spelt = room[1:-1]
    if room[:1] + room[-1:] != b"<>" or (spelt != spelt.upper() and spelt != spelt.lower()):
        raise _Broken("its bytes are not spelt as they were written")
    packed = bytes.fromhex(spelt.decode("ascii"))
    content = cms.ContentInfo.load(packed)
    if packed[len(content.dump()) :].strip(b"\0") or content.dump(force=True) != content.dump():
        raise _Broken("its bytes are not as they were written")
    signed = content["content"]
    if len(signed["signer_infos"]) != 1 or signed["signer_infos"][0]["unsigned_attrs"]:
        raise _Broken("it holds more than one signer's statement")


def _checked(embedded: Any, trusted: bytes | None) -> Signed:
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    certificate = embedded.signer_cert
    said_at = embedded.self_reported_timestamp
    context = ValidationContext(
        trust_roots=[] if trusted is None else [_certificate(trusted)], allow_fetching=False, moment=_aware(said_at)
    )
    status = validate_pdf_signature(embedded, signer_validation_context=context, skip_diff=True)
    if not status.intact:
        raise _Broken("bytes were changed after signing")
    if not status.valid:
        raise _Broken("it was not made with the key of its certificate")
    return Signed(
        signer=visible(certificate.subject.human_friendly)[:200],
        fingerprint=digest(certificate.dump()),
        said_at=f"{said_at:%Y-%m-%d %H:%M %Z}" if said_at else "an unknown day",
        trusted=bool(status.trusted),
    )


def _aware(moment: datetime | None) -> datetime | None:
    return moment if moment is not None and moment.tzinfo else None


def _certificate(data: bytes) -> Any:
    from asn1crypto import pem, x509

    try:
        return x509.Certificate.load(pem.unarmor(data)[2] if pem.detect(data) else data, strict=True)
    except (ValueError, TypeError) as cause:
        raise CertgenError(
            "the trusted certificate is neither PEM nor DER; give the shop's .crt or .pem file."
        ) from cause
