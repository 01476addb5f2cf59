"""Keys of every kind with certificates of every age, and signatures as other programs would make them."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, ed448, ed25519, rsa
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

#: Kinds of key by name, each as what makes one.
KINDS: dict[str, Any] = {
    "RSA 1024": lambda: rsa.generate_private_key(65537, 1024),
    "RSA 2048": lambda: rsa.generate_private_key(65537, 2048),
    "P-192": lambda: ec.generate_private_key(ec.SECP192R1()),
    "P-256": lambda: ec.generate_private_key(ec.SECP256R1()),
    "P-384": lambda: ec.generate_private_key(ec.SECP384R1()),
    "P-521": lambda: ec.generate_private_key(ec.SECP521R1()),
    "secp256k1": lambda: ec.generate_private_key(ec.SECP256K1()),
    "Ed25519": ed25519.Ed25519PrivateKey.generate,
    "Ed448": ed448.Ed448PrivateKey.generate,
}


def certified(
    private: Any, name: str, *, days: tuple[float, float] = (-1.0, 30.0), stamps: bool = False
) -> x509.Certificate:
    """A certificate that a key signs for itself, valid from and to so many days from now."""
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    first, last = (datetime.now(UTC) + timedelta(days=one) for one in days)
    builder = x509.CertificateBuilder(subject, subject, private.public_key(), x509.random_serial_number(), first, last)
    if stamps:  # RFC 3161, 2.3: for nothing else, and critical
        builder = builder.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
    edwards = isinstance(private, ed25519.Ed25519PrivateKey | ed448.Ed448PrivateKey)
    return builder.sign(private, None if edwards else hashes.SHA256())


def pem(private: Any, *certificates: x509.Certificate) -> bytes:
    """A key without a passphrase and its certificates in one PEM file."""
    plain: bytes = private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return plain + b"".join(one.public_bytes(Encoding.PEM) for one in certificates)


def signed_elsewhere(document: bytes, private: Any, own: x509.Certificate, digest: str = "sha256") -> bytes:
    """A signature by the library alone: it asks neither for a strong digest nor for a certificate of today."""
    from asn1crypto import keys
    from asn1crypto import x509 as asn1
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import signers
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    class Appending(IncrementalPdfFileWriter):
        def _update_meta(self) -> None:
            pass

    signer = signers.SimpleSigner(
        signing_cert=asn1.Certificate.load(own.public_bytes(Encoding.DER)),
        signing_key=keys.PrivateKeyInfo.load(private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())),
        cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
    )
    stated = signers.PdfSignatureMetadata(field_name="Signature", md_algorithm=digest)
    done: io.BytesIO = signers.sign_pdf(Appending(io.BytesIO(document)), stated, signer=signer)
    return done.getvalue()
