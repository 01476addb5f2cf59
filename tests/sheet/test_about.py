"""What the file says about itself, in both places the same."""

from __future__ import annotations

from datetime import date
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from certgen.sheet.pdf.metadata import About, information, xmp

LI = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}li"
DC = "{http://purl.org/dc/elements/1.1/}"

ABOUT = About("Title 1", "R. Tanner", "motor", "MR-1", "pass", "certgen 1.0", date(2026, 3, 14))


def test_information_and_metadata_name_number_verdict_and_program() -> None:
    told = information(ABOUT)
    assert told["Keywords"] == "certificate MR-1, verdict: pass"
    assert told["Producer"] == told["Creator"] == "certgen 1.0"
    tree = ElementTree.fromstring(xmp(ABOUT, "en"))
    assert tree.findtext(f".//{DC}identifier") == "MR-1"
    assert tree.findtext(".//{http://ns.adobe.com/pdf/1.3/}Keywords") == told["Keywords"]
    assert tree.findtext(".//{http://ns.adobe.com/xap/1.0/}CreatorTool") == "certgen 1.0"


def test_dates_are_the_day_of_the_test() -> None:
    """ISO 32000-1, 7.9.4, and XMP (ISO 16684-1, 8.2.1.2)."""
    assert information(ABOUT)["ModDate"] == "D:20260314000000+00'00'"
    assert b"<xmp:ModifyDate>2026-03-14T00:00:00+00:00</xmp:ModifyDate>" in xmp(ABOUT, "en")
    early = About("", "", "", "", "", "", date(987, 1, 2))
    assert information(early)["ModDate"] == "D:09870102000000+00'00'"


@given(st.text(max_size=80))
def test_any_text_is_well_formed_and_the_same_in_both_places(text: str) -> None:
    about = About(text, text, text, "MR-1", "pass", "certgen 1.0", date(2026, 3, 14))
    tree = ElementTree.fromstring(xmp(about, "en"))
    found = tree.findtext(f".//{DC}title//{LI}")
    assert (found or "") == information(about)["Title"]
