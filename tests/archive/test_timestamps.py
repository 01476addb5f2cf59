"""Time stamps and what else makes a signature last: asked for, shown, held against what they claim."""

from __future__ import annotations

import hashlib
import io
import random
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from archive.forged import updated
from archive.keys import KINDS, certified, pem
from archive.time_authority import Authority, Babbling, Confused, Refusing, at_an_address
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID
from pypdf.generic import NameObject, TextStringObject

from certgen.archive.facts import GOOD, NOT_GOOD
from certgen.archive.reading import besides_signatures
from certgen.archive.signature import judged
from certgen.archive.signing import signed
from certgen.archive.verify import verify
from certgen.cli import main
from certgen.commands.verify import _make
from certgen.errors import CertgenError

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def authority() -> Authority:
    return Authority()


@pytest.fixture(scope="module")
def key() -> bytes:
    private = KINDS["P-256"]()
    return pem(private, certified(private, "A bench"))


@pytest.fixture(scope="module")
def stamped(small_certificate: bytes, key: bytes, authority: Authority) -> bytes:
    with at_an_address(authority) as address:
        return signed(small_certificate, key, None, timestamp=address)


def test_a_stamped_certificate_is_sound_and_says_who_stamped_it(stamped: bytes, authority: Authority) -> None:
    assert verify(stamped, _make, judged).good
    told = str(judged(stamped).details[1])
    fingerprint = hashlib.sha256(authority.certificate.public_bytes(Encoding.DER)).hexdigest()
    assert told.startswith("time stamp of Common Name: A clock, 20")
    assert told.endswith(f"certificate SHA-256 {fingerprint}")


def test_the_command_asks_the_authority(
    small_certificate: bytes, key: bytes, authority: Authority, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "page.pdf").write_bytes(small_certificate)
    (tmp_path / "key.pem").write_bytes(key)
    (tmp_path / "key.pem").chmod(0o600)
    with at_an_address(authority) as address:
        sign = ["sign", str(tmp_path / "page.pdf"), "--key", str(tmp_path / "key.pem"), "--timestamp", address]
        assert main(sign) == 0
    capsys.readouterr()
    assert main(["verify", str(tmp_path / "page-signed.pdf")]) == 0
    assert "time stamp of Common Name: A clock" in capsys.readouterr().out


@pytest.mark.parametrize("kind", [Refusing, Confused, Babbling])
def test_an_answer_that_is_no_stamp_signs_nothing(small_certificate: bytes, key: bytes, kind: type[Authority]) -> None:
    with at_an_address(kind()) as address, pytest.raises(CertgenError, match="the authority gives no time stamp"):
        signed(small_certificate, key, None, timestamp=address)


def test_no_answer_signs_nothing(small_certificate: bytes, key: bytes, authority: Authority) -> None:
    with at_an_address(authority) as address:
        pass
    with pytest.raises(CertgenError, match="the authority gives no time stamp"):
        signed(small_certificate, key, None, timestamp=address)
    for address in ("ftp://clock.example", "clock.example", ""):
        with pytest.raises(CertgenError, match="this is no address"):
            signed(small_certificate, key, None, timestamp=address)


def _signed_with(document: bytes, private: Any, own: x509.Certificate, **options: Any) -> bytes:
    """By the library alone, with whatever it can add."""
    from asn1crypto import keys
    from asn1crypto import x509 as asn1
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import signers
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    store: Any = SimpleCertificateStore()  # type: ignore[no-untyped-call]
    store.register_multiple(
        [asn1.Certificate.load(one.public_bytes(Encoding.DER)) for one in options.pop("others", ())]
    )
    signer = signers.SimpleSigner(
        signing_cert=asn1.Certificate.load(own.public_bytes(Encoding.DER)),
        signing_key=keys.PrivateKeyInfo.load(private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())),
        cert_registry=store,
    )
    timestamper = options.pop("timestamper", None)
    stated = signers.PdfSignatureMetadata(field_name="Signature", **options)
    with pytest.MonkeyPatch.context() as patch:  # it would write the metadata anew, also with what it appends later
        patch.setattr(IncrementalPdfFileWriter, "_update_meta", lambda writer: None)
        writer = IncrementalPdfFileWriter(io.BytesIO(document))
        done: io.BytesIO = signers.sign_pdf(writer, stated, signer=signer, timestamper=timestamper)
    return done.getvalue()


def test_a_stamp_of_another_signature_does_not_hold(small_certificate: bytes, authority: Authority) -> None:
    """As one would have who moves a stamp from one signature to another."""
    from pyhanko.sign.timestamps import TimeStamper

    class Moving(TimeStamper):
        async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> Any:
            return await authority.stamper().async_timestamp(bytes(len(message_digest)), md_algorithm)

    private = KINDS["P-256"]()
    moving = Moving()  # type: ignore[no-untyped-call]
    document = _signed_with(small_certificate, private, certified(private, "A bench"), timestamper=moving)
    fact = judged(document)
    assert (fact.state, str(fact.words)) == (NOT_GOOD, "not valid: its time stamp does not hold")


def test_a_stamp_decides_whether_the_certificate_was_valid(small_certificate: bytes, authority: Authority) -> None:
    """The signer's own clock may be set back; the stamp's is the authority's."""
    private = KINDS["P-256"]()
    late = authority.stamper(datetime.now(UTC) + timedelta(days=90))
    document = _signed_with(small_certificate, private, certified(private, "A bench"), timestamper=late)
    assert "the signer's certificate is valid from" in str(judged(document).words)


def _authority_with_a_list() -> tuple[Any, Any, x509.Certificate, x509.Certificate, bytes]:
    """A signer's key, and certificates of an authority and of the signer, with the authority's list of withdrawn ones."""
    above, private = KINDS["P-256"](), KINDS["P-256"]()
    top = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "An authority")])
    now = datetime.now(UTC)
    span = (now - timedelta(days=1), now + timedelta(days=30))
    constraints = x509.BasicConstraints(ca=True, path_length=0)
    flags = ("digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement",
             "key_cert_sign", "crl_sign", "encipher_only", "decipher_only")  # fmt: skip
    usage = x509.KeyUsage(**{name: name in ("key_cert_sign", "crl_sign") for name in flags})
    root = (
        x509.CertificateBuilder(top, top, above.public_key(), 1, *span)
        .add_extension(constraints, critical=True)
        .add_extension(usage, critical=True)
        .sign(above, hashes.SHA256())
    )
    bench = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "A bench")])
    signs = x509.KeyUsage(**{name: name in ("digital_signature", "content_commitment") for name in flags})
    own = (
        x509.CertificateBuilder(top, bench, private.public_key(), 2, *span)
        .add_extension(signs, critical=True)
        .sign(above, hashes.SHA256())
    )
    withdrawn = x509.CertificateRevocationListBuilder(top, *span).sign(above, hashes.SHA256())
    return private, above, root, own, withdrawn.public_bytes(Encoding.DER)


@pytest.fixture(scope="module")
def lasting(small_certificate: bytes, authority: Authority) -> tuple[bytes, x509.Certificate]:
    """A signature with everything to check it later, and a stamp over all of that. ETSI EN 319 142-1, 6.3, level B-LTA."""
    from asn1crypto import crl
    from asn1crypto import x509 as asn1
    from pyhanko.sign.fields import SigSeedSubFilter
    from pyhanko_certvalidator import ValidationContext

    private, _, root, own, withdrawn = _authority_with_a_list()
    roots = [asn1.Certificate.load(one.public_bytes(Encoding.DER)) for one in (root, authority.certificate)]
    context = ValidationContext(trust_roots=roots, crls=[crl.CertificateList.load(withdrawn)], allow_fetching=False)
    document = _signed_with(
        small_certificate,
        private,
        own,
        others=[root],
        timestamper=authority.stamper(),
        subfilter=SigSeedSubFilter.PADES,
        validation_context=context,
        embed_validation_info=True,
        use_pades_lta=True,
    )
    return document, root


def test_material_for_later_is_accepted_and_shown(
    small_certificate: bytes, lasting: tuple[bytes, x509.Certificate]
) -> None:
    document, root = lasting
    assert besides_signatures(small_certificate, document) == []
    fact = judged(document, root.public_bytes(Encoding.PEM))
    assert (fact.state, str(fact.words)) == (GOOD, "valid, and by the certificate you trust")
    told = [str(one) for one in fact.details]
    assert [one.startswith("time stamp of Common Name: A clock") for one in told] == [False, True, True, False, False]
    assert told[3].startswith("enclosed to check the signature later: 3 certificates, 1 lists")
    assert told[4] == "of this, some was put in behind the last signature, and nothing shows by whom"
    assert verify(document, _make, judged).good


def _ends(document: bytes) -> list[int]:
    """Where each revision of a file ends."""
    mark = b"%%EOF\n"
    return [at + len(mark) for at in range(len(document)) if document.startswith(mark, at)]


def test_a_stamp_covers_the_material_before_it(lasting: tuple[bytes, x509.Certificate]) -> None:
    document, _ = lasting
    covered = judged(document[: _ends(document)[2]])
    assert covered.state == GOOD
    assert len(covered.details) == 4


def _another_page(writer: Any) -> None:
    writer.pages[0][NameObject("/Contents")] = writer.pages[0]["/Resources"]


def _another_reason(writer: Any) -> None:
    """Of the signature that is there already."""
    field = writer.root_object["/AcroForm"]["/Fields"][0]
    field["/V"][NameObject("/Reason")] = TextStringObject("Approved")


def _action(writer: Any) -> None:
    writer.root_object[NameObject("/OpenAction")] = writer.pages[0].indirect_reference


@pytest.mark.parametrize("change", [_another_page, _another_reason, _action])
def test_material_and_something_else_is_not_sound(lasting: tuple[bytes, x509.Certificate], change: Any) -> None:
    """Behind the last signature stands material, so what stands there is looked at and not refused outright."""
    document, _ = lasting
    assert "it does not cover the end of the file" in str(judged(updated(document, change)).words)


def test_a_sample_of_every_container_counts(
    stamped: bytes, lasting: tuple[bytes, x509.Certificate], small_certificate: bytes
) -> None:
    """Signature, stamp within it, material and stamp over the file; `test_every_bit_of_the_container_counts` has all."""
    chance = random.Random(11)
    for document in (stamped, lasting[0]):
        assert judged(document).state == GOOD
        assert besides_signatures(small_certificate, document) == []
        *_, end = _ends(document)[:3]  # behind it, material that nothing covers
        for at in chance.sample(range(len(small_certificate), end), 40):
            changed = bytearray(document)
            changed[at] ^= 1 << chance.randrange(8)
            told = judged(bytes(changed)).state == NOT_GOOD or besides_signatures(small_certificate, bytes(changed))
            assert told, (at, document[at - 10 : at + 10])


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
def test_a_stamp_by_another_program_is_accepted(small_certificate: bytes, key: bytes, tmp_path: Path) -> None:
    """Made by `openssl ts`, which knows nothing of the library that asks and judges."""
    settings = (
        "[tsa]\ndefault_tsa = one\n[one]\ndir = .\nserial = serial\ndefault_policy = 1.2.3.4\ndigests = sha256\n"
        "accuracy = secs:1\nsigner_digest = sha256\n"
    )
    (tmp_path / "settings").write_text(settings)
    (tmp_path / "serial").write_text("01\n")

    class Openssl(Authority):
        def answer(self, asked: bytes) -> bytes:
            (tmp_path / "asked").write_bytes(asked)
            command = "openssl ts -reply -config settings -queryfile asked -inkey key -signer key -out answer"
            subprocess.run(command.split(), cwd=tmp_path, check=True, capture_output=True)
            return (tmp_path / "answer").read_bytes()

    authority = Openssl()
    (tmp_path / "key").write_bytes(pem(authority.private, authority.certificate))
    with at_an_address(authority) as address:
        document = signed(small_certificate, key, None, timestamp=address)
    assert judged(document).state == GOOD
    assert "time stamp of Common Name: A clock" in str(judged(document).details[1])
