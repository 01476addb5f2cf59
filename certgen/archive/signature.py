"""Signatures: who put the page out, and that it is as it was then. The optional extra ``sign`` brings the library.

A signature is appended as an incremental update (ISO 32000-1, 12.8), CMS detached as ISO 19005-3, 6.4.3 allows. The
signed bytes are the whole file but the room of the signature itself.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, Fact
from certgen.archive.reading import TookTooLong, within
from certgen.archive.seal import read_seal
from certgen.document.source import digest
from certgen.errors import CertgenError, visible
from certgen.messages.catalogue import Message

NAME = "signature"
_MOST_SECONDS = 30.0
_MOST_SIGNATURES = 20

INSTALL = "pip install 'certgen[sign]'"


@dataclass(frozen=True)
class Signed:
    """One signature as it was found."""

    signer: str
    fingerprint: str  # SHA-256 of the certificate, hexadecimal
    signed_at: Message | str  # the signer's own clock
    trusted: bool


class _Broken(Exception):
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
        A certificate (PEM or DER) that the signer's must be, or must have been issued by.
    """
    seal = read_seal(data)
    if seal is None or len(data) <= seal.length:
        return _none(trusted)
    try:
        with within(_MOST_SECONDS):
            found = list(_signatures(data, seal.length, trusted))
    except ImportError:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.no_library", install=INSTALL))
    except CertgenError:
        raise
    except _Broken as cause:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=cause.why))
    except TookTooLong:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=Message("verify.signature.too_long")))
    except Exception as cause:  # the library raises whatever a broken file makes Python raise
        why = Message("verify.signature.unreadable", failure=type(cause).__name__)
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_valid", why=why))
    return _all_valid(found, trusted)


def _none(trusted: bytes | None) -> Fact:
    if trusted is not None:
        return Fact(NAME, NOT_GOOD, Message("verify.signature.asked_for"))
    return Fact(NAME, NOT_CHECKED, Message("verify.signature.none"))


def _all_valid(found: list[Signed], trusted: bytes | None) -> Fact:
    details = tuple(
        Message("verify.signature.signer", signer=one.signer, time=one.signed_at, fingerprint=one.fingerprint)
        for one in found
    )
    if trusted is None:
        return Fact(NAME, GOOD, Message("verify.signature.valid"), details)
    if not any(one.trusted for one in found):
        return Fact(NAME, NOT_GOOD, Message("verify.signature.not_trusted"), details)
    return Fact(NAME, GOOD, Message("verify.signature.trusted"), details, vouches=True)


def _signatures(data: bytes, sealed: int, trusted: bytes | None) -> Iterator[Signed]:
    import logging

    from pyhanko.pdf_utils.reader import PdfFileReader

    for library in ("pyhanko", "pyhanko_certvalidator"):
        logging.getLogger(library).setLevel(logging.CRITICAL)  # what they have to say is reported once, in our words
    embedded = PdfFileReader(io.BytesIO(data)).embedded_signatures
    if not embedded:
        raise _Broken(Message("verify.signature.appended"))
    if len(embedded) > _MOST_SIGNATURES:
        raise _Broken(Message("verify.signature.too_many"))
    ends = []
    for one in embedded:
        start, first, second, last = (int(part) for part in one.byte_range)
        if start != 0 or not sealed <= first <= second or second + last > len(data):
            raise _Broken(Message("verify.signature.not_sealed_bytes"))
        _require_plain(data[first:second])
        ends.append(second + last)
        yield _checked(one, trusted)
    if max(ends) != len(data):
        raise _Broken(Message("verify.signature.not_end"))


def _require_plain(room: bytes) -> None:
    """The room of a signature holds one CMS object in one spelling, then zeros, so that no bit of it is free."""
    from asn1crypto import cms

    spelt = room[1:-1]
    if room[:1] + room[-1:] != b"<>" or (spelt != spelt.upper() and spelt != spelt.lower()):
        raise _Broken(Message("verify.signature.spelling"))
    packed = bytes.fromhex(spelt.decode("ascii"))
    content = cms.ContentInfo.load(packed)
    if packed[len(content.dump()) :].strip(b"\0") or content.dump(force=True) != content.dump():
        raise _Broken(Message("verify.signature.bytes"))
    signed = content["content"]
    if len(signed["signer_infos"]) != 1 or signed["signer_infos"][0]["unsigned_attrs"]:
        raise _Broken(Message("verify.signature.statements"))


def _checked(embedded: Any, trusted: bytes | None) -> Signed:
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    certificate = embedded.signer_cert
    signed_at = embedded.self_reported_timestamp
    context = ValidationContext(
        trust_roots=[] if trusted is None else [_certificate(trusted)], allow_fetching=False, moment=_aware(signed_at)
    )
    status = validate_pdf_signature(embedded, signer_validation_context=context, skip_diff=True)
    if not status.intact:
        raise _Broken(Message("verify.signature.changed"))
    if not status.valid:
        raise _Broken(Message("verify.signature.other_key"))
    return Signed(
        signer=visible(certificate.subject.human_friendly)[:200],
        fingerprint=digest(certificate.dump()),
        signed_at=f"{signed_at:%Y-%m-%d %H:%M %Z}" if signed_at else Message("verify.signature.unknown_day"),
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


# Signing a certificate with the shop's own key, and making such a key. The optional extra ``sign`` brings the
# libraries.


#: Bits of the modulus of a key made here. NIST SP 800-57 part 1 rev. 5, table 2: 3072 bits are as strong as 128.
_KEY_BITS = 3072
_FIELD = "Signature"


@dataclass(frozen=True)
class KeyFiles:
    """A key with its certificate as files: the secret one, and the one to hand out."""

    secret: bytes  # PKCS #12
    certificate: bytes  # PEM


def signed(document: bytes, key: bytes, passphrase: bytes | None) -> bytes:
    """A sealed certificate with a signature appended; what is there stays byte for byte.

    Parameters
    ----------
    document : bytes
        The PDF.
    key : bytes
        Key and certificate: PKCS #12, or PEM with both.
    passphrase : bytes or None
        What opens the key.

    Raises
    ------
    CertgenError
        The key cannot be opened, or the libraries are not installed.
    """
    _require_libraries()
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import fields, signers

    class Appending(IncrementalPdfFileWriter):
        """Leaves metadata and document information as they were sealed."""

        def _update_meta(self) -> None:
            pass

    signer = _signer(key, passphrase)
    writer = Appending(io.BytesIO(document))
    taken = {name for name, _, _ in fields.enumerate_sig_fields(writer)}
    name = next(name for name in (_FIELD, *(f"{_FIELD}{one}" for one in range(2, 100))) if name not in taken)
    stated = signers.PdfSignatureMetadata(
        field_name=name, md_algorithm="sha256", subfilter=fields.SigSeedSubFilter.ADOBE_PKCS7_DETACHED
    )
    done = signers.sign_pdf(writer, stated, signer=signer)
    result: bytes = done.getvalue()
    return result


def _signer(key: bytes, passphrase: bytes | None) -> Any:
    from asn1crypto import keys, x509
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
    from pyhanko.sign.signers import SimpleSigner
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    private, *chain = _opened(key, passphrase)
    own, *others = (x509.Certificate.load(one.public_bytes(Encoding.DER)) for one in chain)
    store: Any = SimpleCertificateStore()  # type: ignore[no-untyped-call]
    store.register_multiple(others)
    plain = private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return SimpleSigner(signing_cert=own, signing_key=keys.PrivateKeyInfo.load(plain), cert_registry=store)


def _opened(key: bytes, passphrase: bytes | None) -> list[Any]:
    """Private key, its certificate, and further certificates of its chain."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key, pkcs12

    try:
        if b"-----BEGIN" in key[:100_000]:
            private: Any = load_pem_private_key(key, passphrase)
            chain: list[Any] = list(x509.load_pem_x509_certificates(key))
        else:
            private, own, others = pkcs12.load_key_and_certificates(key, passphrase)
            chain = [own, *others]
    except (ValueError, TypeError) as cause:
        raise CertgenError(
            "the key cannot be opened: the passphrase is wrong, or the file is neither PKCS #12 nor PEM with key and "
            "certificate."
        ) from cause
    if private is None or chain[0] is None:
        raise CertgenError("the key file lacks the key or its certificate; both must be in it.")
    return [private, *chain]


def new_key(name: str, passphrase: bytes, *, years: int) -> KeyFiles:
    """A key with a certificate that it signed itself.

    Parameters
    ----------
    name : str
        Whom the certificate names.
    passphrase : bytes
        What will open the key.
    years : int
        How long the certificate is meant to be used. [year]

    Raises
    ------
    CertgenError
        The libraries are not installed, or the name is too long.
    """
    _require_libraries()
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import rsa
    from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, pkcs12
    from cryptography.x509.oid import NameOID

    private = rsa.generate_private_key(public_exponent=65537, key_size=_KEY_BITS)
    try:
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    except ValueError as cause:
        raise CertgenError("--name: a certificate's name has from 1 to 64 signs; shorten it.") from cause
    now = datetime.now(UTC).replace(microsecond=0)
    usage = dict.fromkeys(
        ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign", "encipher_only",
         "decipher_only"), False)  # fmt: skip
    certificate = (
        x509.CertificateBuilder(subject, subject, private.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=366 * years))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(digital_signature=True, content_commitment=True, **usage), critical=True)
        .sign(private, hashes.SHA256())
    )
    secret = pkcs12.serialize_key_and_certificates(
        name.encode(), private, certificate, None, BestAvailableEncryption(passphrase)
    )
    return KeyFiles(secret, certificate.public_bytes(Encoding.PEM))


def certificate_bytes(pem: bytes) -> bytes:
    """A certificate as DER, whose SHA-256 is what people compare."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    return x509.load_pem_x509_certificate(pem).public_bytes(Encoding.DER)


def _require_libraries() -> None:
    try:
        import cryptography  # noqa: F401
        import pyhanko  # noqa: F401
    except ImportError as cause:
        raise CertgenError(f"signing needs libraries that are not installed: {INSTALL}") from cause
