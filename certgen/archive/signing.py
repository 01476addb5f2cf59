"""Signing a certificate with the shop's own key, and making such a key. The optional extra ``sign`` brings the libraries."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from certgen.archive.signature import INSTALL
from certgen.errors import CertgenError

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
