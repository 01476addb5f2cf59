"""The page with files in it, seen through an independent reader."""

from __future__ import annotations

import hashlib
import io
import zlib

import pikepdf
import pytest
from sheet.results_factory import make_results

from certgen.sheet.engine.layout import Layout
from certgen.sheet.engine.place import compose
from certgen.sheet.pdf.container import DATA, LONG, SOURCE, Enclosure, packed
from certgen.sheet.pdf.draw import about, draw

FILES = [
    Enclosure("motor/job.yaml", b"name: value\n", "application/yaml", SOURCE, "The job."),
    Enclosure("motor/Prüfung Ω (1)\\.csv", bytes(range(256)) * 40, "text/csv", SOURCE, "Ablesungen"),
    Enclosure("results.json", b"", "application/json", DATA, "An empty file."),
]


def drawn(layout: Layout, files: list[Enclosure]) -> bytes:
    results = make_results(8)
    return draw(compose(results, layout, paper="a4", units="si"), about(results, layout), files)


@pytest.fixture(scope="module")
def document(certificate_layout: Layout) -> bytes:
    return drawn(certificate_layout, FILES)


def test_every_file_comes_back_byte_for_byte(document: bytes) -> None:
    with pikepdf.open(io.BytesIO(document)) as file:
        found = {one.filename: one.get_file() for one in file.attachments.values()}
        assert {name: one.read_bytes() for name, one in found.items()} == {one.name: one.data for one in FILES}
        assert {name: one.mime_type for name, one in found.items()} == {one.name: one.media_type for one in FILES}
        assert {name: one.md5 for name, one in found.items()} == {
            one.name: hashlib.md5(one.data).digest() for one in FILES
        }
        assert [one.size for one in found.values()] == [len(one.read_bytes()) for one in found.values()]
        assert file.attachments["results.json"].description == "An empty file."
        assert file.get_warnings() == []


def test_the_name_tree_is_sorted_by_bytes(document: bytes) -> None:
    """ISO 32000-1, 7.9.6: keys sorted lexically; in ASCII, as some readers compare texts and others bytes."""
    with pikepdf.open(io.BytesIO(document)) as file:
        keys = [bytes(key) for key in list(file.Root.Names.EmbeddedFiles.Names)[::2]]
    assert keys == sorted(keys)
    assert all(key.isascii() for key in keys)


def test_each_file_is_associated_with_the_document(document: bytes) -> None:
    with pikepdf.open(io.BytesIO(document)) as file:
        associated = {str(one.UF): str(one.AFRelationship) for one in file.Root.AF}
    assert associated == {one.name: f"/{one.relationship}" for one in FILES}


def test_order_of_the_files_changes_nothing_but_numbers(certificate_layout: Layout, document: bytes) -> None:
    assert drawn(certificate_layout, FILES) == document
    assert len(drawn(certificate_layout, FILES[::-1])) == len(document)


def test_a_page_without_files_has_no_name_tree(certificate_layout: Layout) -> None:
    with pikepdf.open(io.BytesIO(drawn(certificate_layout, []))) as file:
        assert "/Names" not in file.Root
        assert "/AF" not in file.Root


def test_long_files_are_packed_at_another_level_and_come_back() -> None:
    """The level stands in the two bits before the check of a stream's header. Source: RFC 1950, 2.2 (FLEVEL)."""
    long = b"1450,2.06,400.1\n" * (LONG // 16)
    assert len(long) >= LONG
    fastest, fast = 0, 1
    assert [packed(data)[1] >> 6 for data in (long[:-1000], long)] == [fast, fastest]
    assert zlib.decompress(packed(long)) == long
