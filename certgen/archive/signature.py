"""Signatures: who put the page out, and that it is as it was then. The optional extra ``sign`` brings the library.

A signature is appended as an incremental update (ISO 32000-1, 12.8), CMS detached as ISO 19005-3, 6.4.3 allows. The
signed bytes are the whole file but the room of the signature itself.
"""

from __future__ import annotations

import hashlib
import io
import posixpath
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from certgen.archive.enclosures import CONTENTS, read_contents
from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, Fact
from certgen.archive.reading import TookTooLong, Unreadable, besides_material, read_enclosed, within
from certgen.archive.seal import read_seal
from certgen.archive.signing import INSTALL, SHORTEST_EC, SHORTEST_RSA
from certgen.document.build import Reader
from certgen.document.source import Problems, decode, digest, parse
from certgen.errors import CertgenError, visible
from certgen.job.shop import built_shop
from certgen.messages.catalogue import Message

NAME = "signature"
_MOST_SECONDS = 30.0
_MOST_SIGNATURES = 20
_MATERIAL = {"certificates": "/Certs", "lists": "/CRLs", "answers": "/OCSPs"}


@dataclass(frozen=True)
class Signed:
    """One signature as it was found."""

    signer: str
    fingerprint: str  # SHA-256 of the certificate, hexadecimal
    signed_at: Message | str  # the signer's own clock
    trusted: bool
    stamp: Message | None = None  # what a time stamp authority says, where one was asked


class Broken(Exception):
    """A signature that does not hold, and why."""

    def __init__(self, why: Message) -> None:
        super().__init__(str(why))
        self.why = why


def judged(data: bytes, trusted: bytes | None = None) -> Fact:
    """What the signatures of a certificate are worth.

    Parameters
    ----------
    data : bytes
        The PDF.
    trusted : bytes, optional
        A certificate (PEM or DER) that the signer's must be, or must have been issued by; or the SHA-256 of the
        signer's, 64 hexadecimal digits, or several of them, one a line. Left out: the keys that the shop file inside
        pins, if any; they vouch for nothing, as they came with the page, but a signature by another is not good.
    """
    seal = read_seal(data)
    if seal is None or len(data) <= seal.length:
        return _none(trusted)
    try:
        with within(_MOST_SECONDS):
            found, further = _signatures(data, seal.length, trusted)
    except ImportError:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.no_library", install=INSTALL))
    except CertgenError:
        raise
    except Broken as cause:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=cause.why))
    except TookTooLong:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=Message("verify.signature.too_long")))
    except Exception as cause:  # the library raises whatever a broken file makes Python raise
        why = Message("verify.signature.unreadable", failure=type(cause).__name__)
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=why))
    details = (*(line for one in found for line in _details(one)), *further)
    own = keys_of_shop_inside(data) if trusted is None else frozenset()
    if own and not any(one.fingerprint in own for one in found):
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_the_shops"), details)
    return _all_valid(found, details, trusted)


def keys_of_shop_inside(data: bytes) -> frozenset[str]:
    """The signing keys that the enclosed shop file pins, as SHA-256 in hexadecimal digits; none where none does."""
    try:
        files = {one.name: one.data for one in read_enclosed(data)}
    except Unreadable:
        return frozenset()
    contents = read_contents(files.get(CONTENTS, b""))
    return frozenset() if contents is None else _keys_pinned(contents.job, files)


def _keys_pinned(job: str, files: Mapping[str, bytes]) -> frozenset[str]:
    problems = Problems()
    text = decode(files.get(job, b""), job, problems)
    root = None if text is None else parse(text, job, problems)
    named = (
        {} if root is None else {getattr(at, "value", None): getattr(value, "value", None) for at, value in root.value}
    )
    shop_named = named.get("shop")
    if not isinstance(shop_named, str):
        return frozenset()
    name = posixpath.normpath(posixpath.join(posixpath.dirname(job), shop_named))
    shop = built_shop(files.get(name, b""), Reader(name, Path(), problems))
    return frozenset() if shop is None else frozenset(shop.signing_keys)


def _none(trusted: bytes | None) -> Fact:
    if trusted is not None:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.asked_for"))
    return Fact(NAME, NOT_CHECKED, Message("verify.signature.none"))


def _all_valid(found: list[Signed], details: tuple[Message, ...], trusted: bytes | None) -> Fact:
    if trusted is None:
        return Fact(NAME, GOOD, Message("verify.signature.valid"), details)
    if not any(one.trusted for one in found):
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_trusted"), details)
    return Fact(NAME, GOOD, Message("verify.signature.trusted"), details, vouches=True)


def _details(one: Signed) -> Iterator[Message]:
    yield Message("verify.signature.signer", signer=one.signer, time=one.signed_at, fingerprint=one.fingerprint)
    if one.stamp is not None:
        yield one.stamp


def _signatures(data: bytes, sealed: int, trusted: bytes | None) -> tuple[list[Signed], list[Message]]:
    """The signatures, and what time stamps over the whole file and material for later say."""
    import logging

    from pyhanko.pdf_utils.reader import PdfFileReader

    for library in ("pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(library).setLevel(logging.CRITICAL)  # what they have to say is reported once, in our words
    reader = PdfFileReader(io.BytesIO(data))
    signatures, stamps = reader.embedded_regular_signatures, reader.embedded_timestamp_signatures
    if not signatures:
        raise Broken(Message("verify.signature.appended"))
    if len(signatures) + len(stamps) > _MOST_SIGNATURES:
        raise Broken(Message("verify.signature.too_many"))
    ends = [_end(one, data, sealed, stamp=False) for one in signatures]
    ends += [_end(one, data, sealed, stamp=True) for one in stamps]
    found = [_checked(one, trusted) for one in signatures]
    further = [_stamp_of_file(one) for one in stamps] + list(_material(reader.root))
    if max(ends) != len(data):
        further.append(_behind(data, max(ends)))
    return found, further


def _behind(data: bytes, end: int) -> Message:
    """What stands behind the last signature: validation material at most."""
    if not data[end:].strip(b"\r\n"):
        raise Broken(Message("verify.signature.line_end"))
    if besides_material(data[:end], data):
        raise Broken(Message("verify.signature.not_end"))
    return Message("verify.signature.material_behind")


def _end(embedded: Any, data: bytes, sealed: int, *, stamp: bool) -> int:
    """Where the bytes that a signature covers end."""
    start, first, second, last = (int(part) for part in embedded.byte_range)
    if start != 0 or not sealed <= first <= second or second + last > len(data):
        raise Broken(Message("verify.signature.not_sealed_bytes"))
    require_every_bit(data[first:second], stamp=stamp)
    return second + last


def _material(catalog: Any) -> Iterator[Message]:
    """What is enclosed to check the signatures when their authorities are gone. Source: ETSI EN 319 142-1, 5.4."""
    if "/DSS" in catalog:
        store = catalog["/DSS"]
        counts = {name: len(store[key]) if key in store else 0 for name, key in _MATERIAL.items()}
        yield Message("verify.signature.material", **counts)


def _checked(embedded: Any, trusted: bytes | None) -> Signed:
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    certificate = embedded.signer_cert
    signed_at = embedded.self_reported_timestamp
    pinned = _pinned(trusted)
    roots = [] if trusted is None or pinned else [_certificate(trusted)]
    context = ValidationContext(trust_roots=roots, allow_fetching=False, moment=_aware(signed_at))
    status = validate_pdf_signature(embedded, signer_validation_context=context, skip_diff=True)
    if not status.intact:
        raise Broken(Message("verify.signature.changed"))
    if not status.valid:
        raise Broken(Message("verify.signature.other_key"))
    stamp = status.timestamp_validity
    _require_valid_then(certificate, stamp.timestamp if stamp is not None else _aware(signed_at))
    fingerprint = digest(certificate.dump())
    return Signed(
        signer=_name(certificate),
        fingerprint=fingerprint,
        signed_at=f"{signed_at:%Y-%m-%d %H:%M %Z}" if signed_at else Message("verify.signature.unknown_day"),
        trusted=fingerprint in pinned if pinned else bool(status.trusted),
        stamp=None if stamp is None else _stamp(stamp),
    )


def _name(certificate: Any) -> str:
    return visible(certificate.subject.human_friendly)[:200]


def _pinned(trusted: bytes | None) -> frozenset[str]:
    """The fingerprints that are trusted in place of a certificate; none where that is what was given."""
    lines = b"" if trusted is None else trusted.replace(b":", b"").replace(b" ", b"").lower()
    found = lines.split()
    whole = all(re.fullmatch(rb"[0-9a-f]{64}", line) for line in found)
    return frozenset(line.decode() for line in found) if whole else frozenset()


def _require_valid_then(certificate: Any, moment: datetime | None) -> None:
    """A certificate signs in its own time only; without a day nobody can tell."""
    first, last = certificate.not_valid_before, certificate.not_valid_after
    if moment is None:
        raise Broken(Message("verify.signature.no_day"))
    if not first <= moment <= last:
        days = [f"{day:%Y-%m-%d}" for day in (first, last, moment)]
        raise Broken(Message("verify.signature.out_of_time", first=days[0], last=days[1], moment=days[2]))


def _stamp(status: Any) -> Message:
    """What a time stamp says, which must hold. Source: RFC 3161."""
    if not (status.intact and status.valid):
        raise Broken(Message("verify.signature.stamp_broken"))
    return Message(
        "verify.signature.stamped",
        authority=_name(status.signing_cert),
        time=f"{status.timestamp:%Y-%m-%d %H:%M:%S %Z}",
        fingerprint=digest(status.signing_cert.dump()),
    )


def _stamp_of_file(embedded: Any) -> Message:
    """A time stamp over the whole file, as long-term validation has them. Source: ETSI EN 319 142-1, 5.4.3."""
    from pyhanko.sign.validation import validate_pdf_timestamp
    from pyhanko_certvalidator import ValidationContext

    status = validate_pdf_timestamp(embedded, ValidationContext(trust_roots=[], allow_fetching=False), skip_diff=True)
    return _stamp(status)


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


# Every bit of a signature's container. CMS (RFC 5652) leaves much of it out of what is signed.

#: Digests a signature may rest on. MD5 and SHA-1 may not: two files can be made alike in them. Sources: RFC 6151; NIST
#: SP 800-131A rev. 2, table 8.
_DIGESTS = frozenset({"sha256", "sha384", "sha512"})
_STAMP = "signature_time_stamp_token"
#: What a signature and a time stamp hold, as object identifiers. Source: RFC 5652, 4; RFC 3161, 2.4.2.
_DATA, _STAMPED = "1.2.840.113549.1.7.1", "1.2.840.113549.1.9.16.1.4"


def require_every_bit(room: bytes, *, stamp: bool = False) -> None:
    """The room of a signature holds one CMS object in one spelling, then zeros; no bit of it is free to change.

    Parameters
    ----------
    room : bytes
        What stands between the two parts that are signed, with its angle brackets.
    stamp : bool
        Whether it is a time stamp over the file.
    """
    spelt = room[1:-1]
    if room[:1] + room[-1:] != b"<>" or (spelt != spelt.upper() and spelt != spelt.lower()):
        raise Broken(Message("verify.signature.spelling"))
    packed = bytes.fromhex(spelt.decode("ascii"))
    _require_plain(packed, stamp=stamp)


def _require_plain(packed: bytes, *, stamp: bool = False) -> None:
    from asn1crypto import cms

    content = cms.ContentInfo.load(packed)
    signed = content["content"]
    if content["content_type"].native != "signed_data" or len(signed["signer_infos"]) != 1:
        raise Broken(Message("verify.signature.statements"))
    signer = signed["signer_infos"][0]
    _require_algorithms(signer)
    _require_certificates(signed, signer)
    unsigned = list(signer["unsigned_attrs"] or ())
    if stamp and unsigned:
        raise Broken(Message("verify.signature.statements"))
    tokens = []
    for attribute in unsigned:
        if len(unsigned) > 1 or attribute["type"].native != _STAMP or len(attribute["values"]) != 1:
            raise Broken(Message("verify.signature.statements"))
        tokens.append(attribute["values"][0].dump())
        _require_plain(tokens[0], stamp=True)
    written = _written_anew(signed, signer, tokens, stamp=stamp)
    if not packed.startswith(written) or packed[len(written) :].strip(b"\0"):
        raise Broken(Message("verify.signature.bytes"))


#: Tags of DER. Source: ITU-T X.690, 8.1.2.
_OCTETS, _SEQUENCE, _SET, _FIRST, _SECOND = 0x04, 0x30, 0x31, 0xA0, 0xA1


def _der(tag: int, *parts: bytes) -> bytes:
    """An element of DER. Source: ITU-T X.690, 10.1 (the shortest form of the length)."""
    content = b"".join(parts)
    count = len(content)
    if count < 128:
        return bytes([tag, count]) + content
    length = count.to_bytes((count.bit_length() + 7) // 8, "big")
    return bytes([tag, 0x80 + len(length)]) + length + content


def _written_anew(signed: Any, signer: Any, tokens: list[bytes], *, stamp: bool) -> bytes:
    """A signature in the one spelling it may have for one signer. Source: RFC 5652, 3 and 5.

    Taken over byte for byte are only its parts that are signed themselves, or that were held against what they may be.
    """
    from asn1crypto import cms
    from asn1crypto.core import ObjectIdentifier

    body = signed["encap_content_info"]["content"]
    kind = ObjectIdentifier(_STAMPED if stamp else _DATA).dump()  # the library's table of names may lack a stamp's
    content = (kind, _der(_FIRST, _der(_OCTETS, body.contents))) if stamp else (kind,)
    algorithm = signer["digest_algorithm"].dump()
    unsigned = [_der(_SECOND, _der(_SEQUENCE, cms.CMSAttributeType(_STAMP).dump(), _der(_SET, *tokens)))]
    statement = _der(
        _SEQUENCE,
        cms.CMSVersion("v1").dump(),
        signer["sid"].dump(),
        algorithm,
        _der(_FIRST, signer["signed_attrs"].contents),
        signer["signature_algorithm"].dump(),
        _der(_OCTETS, signer["signature"].native),
        *(unsigned if tokens else ()),
    )
    whole = _der(
        _SEQUENCE,
        cms.CMSVersion("v3" if stamp else "v1").dump(),
        _der(_SET, algorithm),
        _der(_SEQUENCE, *content),
        _der(_FIRST, *(one.dump() for one in signed["certificates"])),
        _der(_SET, statement),
    )
    return _der(_SEQUENCE, cms.ContentType("signed_data").dump(), _der(_FIRST, whole))


def _require_algorithms(signer: Any) -> None:
    """A strong digest, and the algorithm that goes with it and with the signer's key, each in a known spelling."""
    from asn1crypto import algos
    from asn1crypto.core import Null

    name, kind = signer["digest_algorithm"]["algorithm"].native, signer["signature_algorithm"]["algorithm"].native
    for stated in (name, kind.partition("_")[0]):
        if stated in ("md2", "md5", "sha1"):
            raise Broken(Message("verify.signature.weak_digest", digest=stated.upper()))
    if name not in _DIGESTS:
        raise Broken(Message("verify.signature.bytes"))
    empty: tuple[dict[str, Any], ...] = ({}, {"parameters": Null()})
    if signer["digest_algorithm"].dump() not in [
        algos.DigestAlgorithm({"algorithm": name, **one}).dump() for one in empty
    ]:
        raise Broken(Message("verify.signature.bytes"))
    known = ("rsassa_pkcs1v15", f"{name}_rsa", f"{name}_ecdsa", "ed25519")
    spellings = [algos.SignedDigestAlgorithm({"algorithm": one, **more}).dump() for one in known for more in empty]
    if signer["signature_algorithm"].dump() not in spellings:
        raise Broken(Message("verify.signature.bytes"))


def _require_certificates(signed: Any, signer: Any) -> None:
    """The signer's certificate is the one named under the signature; what else is there vouches for it, in turn."""
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    chosen = {one.dump() for one in signed["certificates"] or ()}
    own = [one for one in chosen if _is_named(signer, one)]
    if len(own) != 1 or len(chosen) != len(signed["certificates"]):
        raise Broken(Message("verify.signature.no_certificate"))
    current = x509.load_der_x509_certificate(own[0])
    if signer["sid"].dump() != _identity(own[0]):
        raise Broken(Message("verify.signature.no_certificate"))
    _require_long(current.public_key())
    chosen -= {own[0]}
    while chosen:
        for one in chosen:
            try:
                issuer = x509.load_der_x509_certificate(one)
                current.verify_directly_issued_by(issuer)
            except (ValueError, TypeError, InvalidSignature):
                continue
            break
        else:
            raise Broken(Message("verify.signature.no_certificate"))
        chosen -= {one}
        current = issuer
    if current.issuer == current.subject:
        _require_own_signature(current)


def _require_long(key: Any) -> None:
    from cryptography.hazmat.primitives.asymmetric import ec, rsa

    for name, kind, least in (("RSA", rsa.RSAPublicKey, SHORTEST_RSA), ("EC", ec.EllipticCurvePublicKey, SHORTEST_EC)):
        if isinstance(key, kind) and key.key_size < least:
            raise Broken(Message("verify.signature.short_key", kind=name, size=key.key_size, least=least))


def _require_own_signature(root: Any) -> None:
    from cryptography.exceptions import InvalidSignature

    try:
        root.verify_directly_issued_by(root)
    except (ValueError, TypeError, InvalidSignature) as cause:
        raise Broken(Message("verify.signature.no_certificate")) from cause


def _is_named(signer: Any, certificate: bytes) -> bool:
    """Whether a certificate is the one whose digest stands under the signature. RFC 5035, 4."""
    for attribute in signer["signed_attrs"]:
        if attribute["type"].native in ("signing_certificate_v2", "signing_certificate"):
            first = attribute["values"][0]["certs"][0]
            kind = first["hash_algorithm"]["algorithm"].native if "hash_algorithm" in first else "sha1"
            return bool(hashlib.new(kind, certificate).digest() == first["cert_hash"].native)
    return False


def _identity(certificate: bytes) -> bytes:
    from asn1crypto import cms, x509

    own = x509.Certificate.load(certificate)
    named = cms.IssuerAndSerialNumber({"issuer": own.issuer, "serial_number": own.serial_number})
    return bytes(cms.SignerIdentifier({"issuer_and_serial_number": named}).dump())
