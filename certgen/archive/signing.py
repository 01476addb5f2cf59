"""Signing a certificate with the shop's own key, and making such a key. The optional extra ``sign`` brings the libraries.

Keys are RSA of at least 2048 bits, EC on the curves P-256, P-384 and P-521, or Ed25519. Sources: NIST SP 800-131A rev. 2
(RSA below 2048 bits, MD5 and SHA-1 are no longer for signatures); RFC 5480 and RFC 5753 (EC); RFC 8419 (Ed25519, with
SHA-512).
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from certgen.errors import CertgenError, visible

INSTALL = "pip install 'certgen[sign]'"

#: Bits of the modulus of a key made here. NIST SP 800-57 part 1 rev. 5, table 2: 3072 bits are as strong as 128.
_KEY_BITS = 3072
#: Rounds of key derivation (PBKDF2 with HMAC-SHA-256) between a passphrase and the key it opens. Source: OWASP Password
#: Storage Cheat Sheet, 2023.
_ROUNDS = 600_000
_FIELD = "Signature"

#: Shortest RSA modulus that may sign. Source: NIST SP 800-131A rev. 2, table 2. [bit]
SHORTEST_RSA = 2048
#: Shortest EC key whose signature is accepted. Source: NIST SP 800-131A rev. 2, table 2. [bit]
SHORTEST_EC = 224
#: Digest by the curve of an EC key. Source: RFC 5753, 2.1 leaves it open; NIST SP 800-57 part 1 rev. 5, tables 2 and 3.
_DIGEST_OF_CURVE = {"secp256r1": "sha256", "secp384r1": "sha384", "secp521r1": "sha512"}

_MOST_SECONDS = 20.0
_MOST_REPLY = 100_000  # of a time stamp authority; they have about 6000 [byte]


@dataclass(frozen=True)
class KeyFiles:
    """A key with its certificate as files: the secret one, and the one to hand out."""

    secret: bytes  # PKCS #12
    certificate: bytes  # PEM


def signed(document: bytes, key: bytes, passphrase: bytes | None, *, timestamp: str | None = None) -> bytes:
    """A sealed certificate with a signature appended; what is there stays byte for byte.

    Parameters
    ----------
    document : bytes
        The PDF.
    key : bytes
        Key and certificate: PKCS #12, or PEM with both.
    passphrase : bytes or None
        What opens the key; nothing where it is not locked.
    timestamp : str, optional
        Address of an authority (RFC 3161) that states when it saw the signature.

    Raises
    ------
    CertgenError
        The key cannot be opened, is of a kind that is not strong enough, or its certificate is not valid today; the
        authority gives no time stamp; or the libraries are not installed.
    """
    _require_libraries()
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import fields, signers

    class Appending(IncrementalPdfFileWriter):
        """Leaves metadata and document information as they were sealed."""

        def _update_meta(self) -> None:
            pass

    private, *chain = _opened(key, passphrase)
    digest = _digest_for(private)
    _require_current(chain[0])
    writer = Appending(io.BytesIO(document))
    taken = {name for name, _, _ in fields.enumerate_sig_fields(writer)}
    name = next(name for name in (_FIELD, *(f"{_FIELD}{one}" for one in range(2, 100))) if name not in taken)
    stated = signers.PdfSignatureMetadata(
        field_name=name, md_algorithm=digest, subfilter=fields.SigSeedSubFilter.ADOBE_PKCS7_DETACHED
    )
    stamper = None if timestamp is None else _time_stamper(timestamp)
    done = signers.sign_pdf(writer, stated, signer=_signer(private, chain), timestamper=stamper)
    result: bytes = done.getvalue()
    return result


def _digest_for(private: Any) -> str:
    """The digest that a key signs with; a key of another kind, or one too short, is refused."""
    from cryptography.hazmat.primitives.asymmetric import ec, ed25519, rsa

    match private:
        case rsa.RSAPrivateKey():
            if private.key_size < SHORTEST_RSA:
                raise CertgenError(
                    f"the key is RSA of {private.key_size} bits, which is no longer safe; take one of at least "
                    f"{SHORTEST_RSA} ('certgen key' makes one of {_KEY_BITS})."
                )
            return "sha256"
        case ec.EllipticCurvePrivateKey() if private.curve.name in _DIGEST_OF_CURVE:
            return _DIGEST_OF_CURVE[private.curve.name]
        case ed25519.Ed25519PrivateKey():
            return "sha512"
    raise CertgenError(
        "this kind of key does not sign certificates; take RSA of at least 2048 bits, EC on P-256, P-384 or P-521, or "
        "Ed25519."
    )


def _require_current(certificate: Any) -> None:
    first, last, now = certificate.not_valid_before_utc, certificate.not_valid_after_utc, datetime.now(UTC)
    if not first <= now <= last:
        when = f"expired on {last:%Y-%m-%d}" if now > last else f"is not valid before {first:%Y-%m-%d}"
        raise CertgenError(
            f"the certificate of this key {when}, so nobody would accept the signature; sign with a key whose "
            "certificate is valid today ('certgen key' makes one), and set the clock right if it is wrong."
        )


def _time_stamper(url: str) -> Any:
    """Asks an authority over HTTP. Source: RFC 3161, 3.4."""
    from pyhanko.sign.timestamps import TimeStamper

    if not url.startswith(("http://", "https://")):
        raise CertgenError(f"--timestamp '{visible(url[:80])}': this is no address; write it with http:// or https://.")

    class Authority(TimeStamper):
        """A time stamp authority at an address."""

        async def async_request_tsa_response(self, req: Any) -> Any:
            return _stamp_for(req, _asked(url, req.dump()), url)

    return Authority()  # type: ignore[no-untyped-call]


def _asked(url: str, request: bytes) -> bytes:
    import urllib.error
    import urllib.request

    asking = urllib.request.Request(url, request, {"Content-Type": "application/timestamp-query"})
    try:
        with urllib.request.urlopen(asking, timeout=_MOST_SECONDS) as reply:
            data: bytes = reply.read(_MOST_REPLY)
    except (OSError, ValueError, urllib.error.URLError) as cause:
        raise _no_stamp(url, visible(str(cause))) from cause
    return data


def _stamp_for(request: Any, answer: bytes, url: str) -> Any:
    """The answer of an authority, which must grant a stamp of what was asked. Source: RFC 3161, 2.4.2."""
    from asn1crypto import tsp

    try:
        response = tsp.TimeStampResp.load(answer, strict=True)
        status = response["status"]["status"].native
        if status not in ("granted", "granted_with_mods"):
            raise _no_stamp(url, f"it says: {status}")
        token = response["time_stamp_token"]["content"]["encap_content_info"]["content"].parsed
        stated = [token[name].native for name in ("message_imprint", "nonce")]
    except (ValueError, TypeError, KeyError, AttributeError) as cause:
        raise _no_stamp(url, "its answer is no time stamp") from cause
    if stated != [request[name].native for name in ("message_imprint", "nonce")]:
        raise _no_stamp(url, "it stamped something else")
    return response


def _no_stamp(url: str, reason: str) -> CertgenError:
    return CertgenError(
        f"--timestamp {visible(url[:80])}: the authority gives no time stamp ({reason}); try again later, or sign "
        "without one."
    )


def _signer(private: Any, chain: list[Any]) -> Any:
    from asn1crypto import keys, x509
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
    from pyhanko.sign.signers import SimpleSigner
    from pyhanko_certvalidator.registry import SimpleCertificateStore

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
        if _is_pem(key):
            private: Any = load_pem_private_key(key, passphrase if is_locked(key) else None)
            chain: list[Any] = list(x509.load_pem_x509_certificates(key))
        else:
            private, first, others = pkcs12.load_key_and_certificates(key, passphrase)
            chain = [first, *others]
    except (ValueError, TypeError) as cause:
        raise CertgenError(
            "the key cannot be opened: the passphrase is wrong, or the file is neither PKCS #12 nor PEM with key and "
            "certificate."
        ) from cause
    if private is None or chain[0] is None:
        raise CertgenError("the key file lacks the key or its certificate; both must be in it.")
    own = [one for one in chain if one.public_key() == private.public_key()]
    if not own:
        raise CertgenError("the certificate in the key file belongs to another key; put in the one made for this key.")
    return [private, own[0], *(one for one in chain if one is not own[0])]


def _is_pem(key: bytes) -> bool:
    return b"-----BEGIN" in key[:100_000]


def is_locked(key: bytes) -> bool:
    """Whether a passphrase opens a key: always taken to be so for PKCS #12, and for PEM where it says so."""
    return not _is_pem(key) or b"ENCRYPTED" in key[:100_000]


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
    from cryptography.hazmat.primitives.serialization import Encoding, PrivateFormat, pkcs12
    from cryptography.x509.oid import NameOID

    private = rsa.generate_private_key(public_exponent=65537, key_size=_KEY_BITS)
    try:
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    except ValueError as cause:
        raise CertgenError("--name: a certificate's name has from 1 to 64 characters; shorten it.") from cause
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
    locked = (
        PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(_ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(passphrase)
    )
    secret = pkcs12.serialize_key_and_certificates(name.encode(), private, certificate, None, locked)
    return KeyFiles(_checked_as_slowly(secret, passphrase), certificate.public_bytes(Encoding.PEM))


def _checked_as_slowly(secret: bytes, passphrase: bytes) -> bytes:
    """The check of the passphrase made as costly as the opening; the library leaves it at 2048 rounds, easily guessed.

    Source: RFC 7292, 4 and appendix B.2 (one block, as the key is as long as the digest; u = 32, v = 64 bytes).
    """
    import hashlib
    import hmac
    import secrets

    from asn1crypto.pkcs12 import Pfx

    file = Pfx.load(secret)
    salt, block = secrets.token_bytes(16), 64
    spelt = passphrase.decode("utf-8").encode("utf-16-be") + b"\0\0"
    filled = [(part * block)[: -(-len(part) // block) * block] for part in (salt, spelt)]
    key = b"\3" * block + b"".join(filled)
    for _ in range(_ROUNDS):
        key = hashlib.sha256(key).digest()
    mac = file["mac_data"]
    mac["mac_salt"], mac["iterations"] = salt, _ROUNDS
    mac["mac"]["digest"] = hmac.digest(key, file["auth_safe"]["content"].native, "sha256")
    return bytes(file.dump(force=True))


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
