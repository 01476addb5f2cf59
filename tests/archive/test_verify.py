"""Whether a certificate is sound: each fact on certificates that are, and on altered ones."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path

import pytest
from archive.conftest import JOBS, example
from archive.forged import enclosed, updated, with_files, with_page
from pypdf import PdfWriter
from pypdf.annotations import FreeText
from pypdf.generic import NameObject, NumberObject

from certgen.archive.enclosures import Contents
from certgen.archive.facts import GOOD, NOT_CHECKED, NOT_GOOD, REPLACED, Fact, Verification
from certgen.archive.reissue_check import MadeAgain
from certgen.archive.seal import read_seal
from certgen.archive.signature import judged
from certgen.archive.verify import NotACertificate, verify
from certgen.commands.verify import _make
from certgen.document.source import digest
from certgen.messages.catalogue import Message

pytestmark = pytest.mark.slow


def found(document: bytes, **more: object) -> Verification:
    return verify(document, _make, judged, **more)  # type: ignore[arg-type]


def states(verification: Verification) -> dict[str, str]:
    return {fact.name: fact.state for fact in verification.facts}


def fact(verification: Verification, name: str) -> Fact:
    return next(one for one in verification.facts if one.name == name)


@pytest.mark.parametrize("job", JOBS)
def test_every_example_is_sound(job: str) -> None:
    verification = found(example(job))
    assert verification.good
    assert states(verification) == {
        "container": GOOD,
        "enclosed data": GOOD,
        "register": NOT_CHECKED,
        "recomputation": GOOD,
        "page": GOOD,
        "signature": NOT_CHECKED,
    }
    assert "byte for byte" in str(fact(verification, "page").words)
    assert verification.number.startswith("PMB-2026-")


def test_other_paper_and_units_are_drawn_again_as_they_were() -> None:
    assert "byte for byte" in str(fact(found(example("geared_motor", paper="letter", units="both")), "page").words)


def test_a_changed_byte_is_told(small_certificate: bytes) -> None:
    at = small_certificate.index(b"/FlateDecode")
    verification = found(small_certificate[:at] + b"_" + small_certificate[at + 1 :])
    assert not verification.good
    assert str(fact(verification, "container").words) == "changed: bytes of the file were altered after it was issued"


def test_a_missing_end_is_told_with_its_length(small_certificate: bytes) -> None:
    verification = found(small_certificate[:-100])
    assert str(fact(verification, "container").words).startswith("damaged: the end of the file is missing (100 of ")
    assert fact(verification, "enclosed data").state == NOT_GOOD


@pytest.mark.parametrize("more", [b"\n", b"%", b"\0" * 9, b"1 0 obj\n<< >>\nendobj\n"])
def test_appended_bytes_are_told(small_certificate: bytes, more: bytes) -> None:
    verification = found(small_certificate + more)
    assert fact(verification, "container").state == NOT_GOOD or fact(verification, "signature").state == NOT_GOOD
    assert not verification.good


def _another_title(writer: PdfWriter) -> None:
    writer.add_metadata({"/Title": "Another"})


def _another_page(writer: PdfWriter) -> None:
    writer.add_blank_page(100, 100)


def _a_note(writer: PdfWriter) -> None:
    writer.add_annotation(0, FreeText(text="Pass", rect=(50, 550, 200, 650)))


def _another_catalog(writer: PdfWriter) -> None:
    writer.root_object[NameObject("/AF")] = NumberObject(1)


@pytest.mark.parametrize("change", [_another_title, _another_page, _a_note, _another_catalog])
def test_an_incremental_update_that_is_no_signature_is_told(small_certificate: bytes, change: object) -> None:
    document = updated(small_certificate, change)  # type: ignore[arg-type]
    seal = read_seal(document)
    assert seal is not None and seal.whole
    verification = found(document)
    assert str(fact(verification, "container").words).startswith("changed: ")
    assert fact(verification, "container").details
    assert fact(verification, "signature").state == NOT_GOOD


def test_a_damaged_seal_is_told(small_certificate: bytes) -> None:
    verification = found(small_certificate.replace(b"SHA-256 ", b"SHA-255 ", 1))
    assert "the seal in the second line" in str(fact(verification, "container").words)


def test_changed_readings_are_noticed_though_the_file_was_sealed_again(certificate: bytes) -> None:
    """The container is whole: a seal without a signature can be made anew. The results do not fit the readings."""
    files = enclosed(certificate)
    name = "renewed_rotor/load_test.csv"
    lines = files[name].split(b"\n")
    files[name] = b"\n".join([*lines[:2], *lines[3:]])
    assert files[name] != enclosed(certificate)[name]
    unlisted = found(with_files(certificate, files, listed=False))
    assert fact(unlisted, "container").state == GOOD
    assert str(fact(unlisted, "enclosed data").details[0]) == f"{name}: its SHA-256 is not the one listed"
    listed = found(with_files(certificate, files, listed=True))
    assert "results were made from other contents of this file" in str(fact(listed, "enclosed data").details[0])
    recomputed = fact(listed, "recomputation")
    assert recomputed.state == NOT_GOOD
    assert recomputed.details


def test_changed_results_are_told_with_place_and_amount(small_certificate: bytes) -> None:
    files = enclosed(small_certificate)
    results = json.loads(files["results.json"])
    results["points"][0]["torque"]["value"] *= 1.05
    files["results.json"] = json.dumps(results).encode()
    verification = found(with_files(small_certificate, files, listed=True))
    assert fact(verification, "enclosed data").state == GOOD
    told = fact(verification, "recomputation")
    assert told.state == NOT_GOOD
    assert str(told.details[0]).startswith("points[0].torque.value: ")
    assert str(told.details[0]).endswith("(−4.76 %)")  # 1 / 1.05 - 1


def lying(content: bytes) -> bytes:
    return content.replace(b"(Conditional pass ) Tj", b"(Conditional peas ) Tj")


def test_a_page_that_prints_other_numbers_than_its_data_is_noticed(small_certificate: bytes) -> None:
    """Everything inside is as issued and the seal is right, but the page says something else."""
    document = with_page(small_certificate, lying)
    verification = found(document)
    assert fact(verification, "container").state == GOOD
    assert fact(verification, "enclosed data").state == GOOD
    assert fact(verification, "recomputation").state == GOOD
    told = fact(verification, "page")
    assert told.state == NOT_GOOD
    first, second = [str(one) for one in told.details]
    assert first == "only the page has 'peas'"  # a pass stands in the checks too
    step = r"\(Conditional peas \) Tj on the page, \(Conditional pass \) Tj from its files"
    assert re.fullmatch(rf"page 1, drawing step \d+: {step}", second), second


def test_the_same_page_in_other_bytes_is_the_same(small_certificate: bytes) -> None:
    verification = found(with_page(small_certificate, lambda content: content + b"\n"))
    assert fact(verification, "page").state == GOOD
    assert "every drawing step, font, picture, page, entry and enclosed file" in str(fact(verification, "page").words)


def test_another_version_may_set_the_page_otherwise(small_certificate: bytes) -> None:
    document = with_page(small_certificate, lying)

    def later(job: Path, contents: Contents) -> MadeAgain:
        made = _make(job, contents)
        return MadeAgain(made.results, made.document, "certgen 99")

    assert fact(verify(document, later, judged), "page").state == NOT_CHECKED


def test_files_that_give_no_results_are_told_without_the_folder_they_lay_in(small_certificate: bytes) -> None:
    files = enclosed(small_certificate)
    files["one_point_test/job.yaml"] += b"unknown_key: 1\n"
    told = fact(found(with_files(small_certificate, files, listed=True)), "recomputation")
    assert told.state == NOT_GOOD
    assert str(told.details[0]).startswith("one_point_test/job.yaml:")


def _asked_for(document: bytes, **sheet: str) -> bytes:
    files = enclosed(document)
    contents = json.loads(files["contents.json"])
    contents["sheet"] |= sheet
    files["contents.json"] = json.dumps(contents).encode()
    return with_files(document, files, listed=False)


def test_a_page_whose_layout_is_elsewhere_is_not_judged(small_certificate: bytes) -> None:
    verification = found(_asked_for(small_certificate, layout="elsewhere.yaml"))
    assert fact(verification, "recomputation").state == GOOD
    told = fact(verification, "page")
    assert (told.state, str(told.words)) == (
        NOT_CHECKED,
        "not drawn again: its layout 'elsewhere.yaml' is not enclosed",
    )
    assert not verification.good
    assert str(verification.headline) == "whole, but not drawn again"
    assert "nothing vouches" in str(told.details[0])


def test_a_page_whose_layout_is_elsewhere_stands_where_the_register_has_it(small_certificate: bytes) -> None:
    document = _asked_for(small_certificate, layout="elsewhere.yaml")
    assert found(document, register=Kept(Entry(digest(document)))).good


def test_a_sheet_that_cannot_be_asked_for_does_no_harm(small_certificate: bytes) -> None:
    verification = found(_asked_for(small_certificate, paper="a99", units="furlongs"))
    assert fact(verification, "recomputation").state == GOOD
    assert [str(one) for one in fact(verification, "page").details] == [
        "enclosed contents.json: it is not the file its own files give"
    ]


def test_files_that_make_the_program_fail_are_told(small_certificate: bytes) -> None:
    def failing(job: Path, contents: Contents) -> MadeAgain:
        raise ZeroDivisionError

    told = fact(verify(small_certificate, failing, judged), "recomputation")
    assert (told.state, str(told.words)) == (NOT_GOOD, "computing it again fails (ZeroDivisionError)")


@dataclass
class Entry:
    digest: str
    state: Message | None = None
    replaced_by: str = ""


@dataclass
class Kept:
    entry: Entry | None

    def look_up(self, number: str, digest: str) -> Entry | None:
        assert number == "PMB-2026-0050"
        assert len(digest) == 64
        return self.entry


def test_the_register_is_asked_where_one_is_at_hand(small_certificate: bytes) -> None:
    issued = digest(small_certificate)
    replaced = Message("verify.register.replaced", number="PMB-2026-0050", by="PMB-2026-0099")
    for entry, state, words in (
        (Entry(issued), GOOD, "was issued as this file"),
        (Entry("0" * 64), NOT_GOOD, "another file was issued under PMB-2026-0050"),
        (Entry(issued, replaced, "PMB-2026-0099"), REPLACED, "PMB-2026-0050 was replaced by PMB-2026-0099"),
        (None, NOT_GOOD, "is not in the register"),
    ):
        verification = found(small_certificate, register=Kept(entry))
        told = fact(verification, "register")
        assert verification.good == (state == GOOD)
        assert told.state == state
        assert words in str(told.words)


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"hello", b"\x89PNG\r\n\x1a\n", b"%PDF-1.4\n%%EOF\n"])
def test_other_files_are_none_of_ours(data: bytes) -> None:
    with pytest.raises(NotACertificate, match="not a certificate of this program") as cause:
        found(data)
    assert cause.value.exit_code == 2
