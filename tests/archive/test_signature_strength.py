"""What may sign, and that no bit of a signature is free to change."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from archive.keys import KINDS, certified, pem, signed_elsewhere
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, PrivateFormat, pkcs12

from certgen.archive.facts import GOOD, NOT_GOOD
from certgen.archive.signature import Broken, judged, require_every_bit
from certgen.archive.signing import new_key, signed
from certgen.archive.verify import verify
from certgen.commands.verify import _make
from certgen.errors import CertgenError

pytestmark = pytest.mark.slow


def _words(document: bytes) -> str:
    fact = judged(document)
    assert fact.state == NOT_GOOD
    return str(fact.words)


@pytest.mark.parametrize("kind", ["RSA 2048", "P-256", "P-384", "P-521", "Ed25519"])
def test_a_key_of_today_signs_and_its_signature_holds(small_certificate: bytes, kind: str) -> None:
    private = KINDS[kind]()
    own = certified(private, "A bench")
    document = signed(small_certificate, pem(private, own), None)
    assert judged(document, own.public_bytes(Encoding.PEM)).state == GOOD
    assert judged(document).state == GOOD


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("RSA 1024", "RSA of 1024 bits, which is no longer safe"),
        ("P-192", "this kind of key does not sign certificates"),
        ("secp256k1", "this kind of key does not sign certificates"),
        ("Ed448", "this kind of key does not sign certificates"),
    ],
)
def test_another_key_is_refused_before_signing(small_certificate: bytes, kind: str, words: str) -> None:
    private = KINDS[kind]()
    with pytest.raises(CertgenError, match=words):
        signed(small_certificate, pem(private, certified(private, "A bench")), None)


@pytest.mark.parametrize(
    ("kind", "digest", "words"),
    [
        ("RSA 2048", "sha1", "it rests on SHA1, in which two different files can be made alike"),
        ("RSA 2048", "md5", "it rests on MD5, in which two different files can be made alike"),
        ("P-256", "sha1", "it rests on SHA1, in which two different files can be made alike"),
        ("RSA 1024", "sha256", "its RSA key has 1024 bits; below 2048 it can be broken"),
        ("P-192", "sha256", "its EC key has 192 bits; below 224 it can be broken"),
    ],
)
def test_a_weak_signature_made_elsewhere_is_not_valid(
    small_certificate: bytes, kind: str, digest: str, words: str
) -> None:
    """RFC 6151 (MD5); NIST SP 800-131A rev. 2, tables 2 and 8 (SHA-1, RSA below 2048 bits, EC below 224 bits)."""
    private = KINDS[kind]()
    document = signed_elsewhere(small_certificate, private, certified(private, "A bench"), digest)
    assert _words(document) == f"not valid: {words}"


@pytest.mark.parametrize(("days", "words"), [((-30.0, -2.0), "expired on 20"), ((2.0, 30.0), "is not valid before 20")])
def test_a_certificate_out_of_its_time_does_not_sign(
    small_certificate: bytes, days: tuple[float, float], words: str
) -> None:
    private = KINDS["P-256"]()
    own = certified(private, "A bench", days=days)
    with pytest.raises(CertgenError, match=words):
        signed(small_certificate, pem(private, own), None)
    today = f"{datetime.now(UTC):%Y-%m-%d}"
    first, last = (f"{one:%Y-%m-%d}" for one in (own.not_valid_before_utc, own.not_valid_after_utc))
    told = _words(signed_elsewhere(small_certificate, private, own))
    assert told == f"not valid: made on {today}, but the signer's certificate is valid from {first} to {last} only"


def test_the_certificate_of_another_key_does_not_sign(small_certificate: bytes) -> None:
    private, other = KINDS["P-256"](), KINDS["P-256"]()
    with pytest.raises(CertgenError, match="belongs to another key"):
        signed(small_certificate, pem(private, certified(other, "A bench")), None)


def test_the_certificate_of_the_key_may_stand_anywhere_in_its_file(small_certificate: bytes) -> None:
    """Another certificate that vouches for nothing is then told: it is no part of a chain."""
    private, other = KINDS["P-256"](), KINDS["P-256"]()
    own = certified(private, "A bench")
    document = signed(small_certificate, pem(private, certified(other, "Another"), own), None)
    assert "nothing vouches for another one in it" in _words(document)


@pytest.mark.parametrize("passphrase", [None, b""])
def test_an_empty_passphrase_opens_a_key_without_one(small_certificate: bytes, passphrase: bytes | None) -> None:
    from cryptography.hazmat.primitives.serialization import NoEncryption

    private = KINDS["P-256"]()
    own = certified(private, "A bench")
    key = pkcs12.serialize_key_and_certificates(b"A bench", private, own, None, NoEncryption())
    assert judged(signed(small_certificate, key, passphrase)).state == GOOD


@pytest.mark.parametrize("passphrase", [None, b"", b"another"])
def test_no_passphrase_opens_no_locked_key(small_certificate: bytes, passphrase: bytes | None) -> None:
    private = KINDS["P-256"]()
    own = certified(private, "A bench")
    locked = private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"a passphrase"))
    with pytest.raises(CertgenError, match="the passphrase is wrong"):
        signed(small_certificate, locked + own.public_bytes(Encoding.PEM), passphrase)


def test_a_new_key_is_as_hard_to_open_as_is_asked_today() -> None:
    """At least 600,000 rounds of PBKDF2 with HMAC-SHA-256. Source: OWASP Password Storage Cheat Sheet, 2023."""
    from asn1crypto.pkcs12 import Pfx, SafeContents

    passphrase = "a passphrase longer than a block of the digest, with an \u00f6".encode()
    secret = new_key("A bench", passphrase, years=1).secret
    assert pkcs12.load_key_and_certificates(secret, passphrase)[0] is not None
    with pytest.raises(ValueError, match="Invalid password"):
        pkcs12.load_key_and_certificates(secret, passphrase[:-2])
    locked = Pfx.load(secret)
    assert int(locked["mac_data"]["iterations"].native) >= 600_000
    assert locked["mac_data"]["mac"]["digest_algorithm"]["algorithm"].native == "sha256"
    safe = locked.authenticated_safe
    certificates, keys = safe[0]["content"], SafeContents.load(safe[1]["content"].native)
    opened_by = [
        certificates["encrypted_content_info"]["content_encryption_algorithm"],
        keys[0]["bag_value"]["encryption_algorithm"],
    ]
    assert [(one.kdf_iterations >= 600_000, one.kdf_hmac, one.encryption_cipher) for one in opened_by] == [
        (True, "sha256", "aes")
    ] * 2


@pytest.fixture(scope="module")
def short(small_certificate: bytes) -> tuple[bytes, int, int]:
    """A certificate with the shortest signature, and where its container starts and ends."""
    private = KINDS["Ed25519"]()
    document = signed(small_certificate, pem(private, certified(private, "A")), None)
    start = document.rindex(b"/Contents <") + len(b"/Contents ")
    return document, start, document.index(b">", start) + 1


def _changes_of_form(room: bytes, at: int) -> list[int]:
    """The bits of a byte of the container whose change its form alone does not show."""
    left = []
    for bit in range(8):
        changed = bytearray(room)
        changed[at] ^= 1 << bit
        try:
            require_every_bit(bytes(changed))
        except Broken:
            continue
        except Exception:  # the parser raises whatever broken bytes make Python raise; `judged` turns all of it down
            continue
        left.append(bit)
    return left


def test_every_bit_of_the_container_counts(short: tuple[bytes, int, int]) -> None:
    """All bytes and all bits by form; what the form leaves open goes through the whole judgement, a bit of each byte."""
    document, start, end = short
    room = document[start:end]
    used = len(room.rstrip(b"0>"))
    by_signature = 0
    for at in [*range(used + 2), *range(used + 2, len(room), 97), len(room) - 1]:
        left = _changes_of_form(room, at)
        if left:
            changed = bytearray(document)
            changed[start + at] ^= 1 << left[at % len(left)]
            assert judged(bytes(changed)).state == NOT_GOOD, (at, left)
            by_signature += 1
    assert by_signature > 100  # the digest and the signature itself have no form


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_a_line_end_behind_the_file_is_named(small_certificate: bytes, short: Any, end: bytes) -> None:
    words = "a line end was added behind"
    assert words in _words(short[0] + end)
    container = verify(small_certificate + end, _make, judged).facts[0]
    assert (container.state, words in str(container.words)) == (NOT_GOOD, True)
