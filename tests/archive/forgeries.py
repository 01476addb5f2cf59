"""Certificates forged by someone who knows the program: the page lies, and seal, list and digests are made to fit.

Each kind is a function of a certificate's bytes. None of them needs anything secret.
"""

from __future__ import annotations

import io
import json
import zlib
from collections.abc import Callable
from typing import Any

import pikepdf
from archive.forged import enclosed, resealed, updated, with_files, with_page
from pikepdf import Array, Dictionary, Name, String
from pypdf import PdfWriter
from pypdf.annotations import FreeText

from certgen.archive.objects import bodies_of
from certgen.archive.seal import read_seal, sealed
from certgen.sheet.pdf.container import SEAL_LINE, written

Forgery = Callable[[bytes], bytes]

#: Every kind by its name.
FORGERIES: dict[str, Forgery] = {}


def _kind(forgery: Forgery) -> Forgery:
    FORGERIES[forgery.__name__.strip("_").replace("_", " ")] = forgery
    return forgery


def _objects(change: Callable[[Any], None]) -> Forgery:
    """A forgery by a change of objects, as a function of the open file."""

    def forge(document: bytes) -> bytes:
        with pikepdf.open(io.BytesIO(document)) as file:
            change(file)
            target = io.BytesIO()
            file.save(target, fix_metadata_version=False)
        return resealed(target.getvalue())

    forge.__name__ = change.__name__
    return _kind(forge)


def _drawn(change: Callable[[bytes], bytes]) -> Forgery:
    """A forgery by a change of the page's drawing."""

    def forge(document: bytes) -> bytes:
        def changed(content: bytes) -> bytes:
            after = change(content)
            assert after != content, "the forgery changes nothing"
            return after

        return with_page(document, changed)

    forge.__name__ = change.__name__
    return _kind(forge)


def _listed(change: Callable[[dict[str, Any]], None]) -> Forgery:
    """A forgery of the list of what is enclosed."""

    def forge(document: bytes) -> bytes:
        files = enclosed(document)
        contents = json.loads(files["contents.json"])
        change(contents)
        files["contents.json"] = json.dumps(contents, ensure_ascii=False, indent=1).encode() + b"\n"
        return with_files(document, files, listed=False)

    forge.__name__ = change.__name__
    return _kind(forge)


def _recorded(change: Callable[[dict[str, Any]], None]) -> Forgery:
    """A forgery of the enclosed results, the list brought in line."""

    def forge(document: bytes) -> bytes:
        files = enclosed(document)
        results = json.loads(files["results.json"])
        change(results)
        files["results.json"] = json.dumps(results, ensure_ascii=False).encode()
        return with_files(document, files, listed=True)

    forge.__name__ = change.__name__
    return _kind(forge)


# The drawing of the page.

_VERDICT = b"(Fail ) Tj"


@_drawn
def verdict_replaced(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"(Pass ) Tj")


@_drawn
def verdict_made_invisible_and_another_painted(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"3 Tr (Fail ) Tj 0 Tr") + b"\nBT /F1+0 23.4 Tf 371 744 Td (Pass ) Tj ET\n"


@_drawn
def verdict_in_the_colour_of_its_ground(content: bytes) -> bytes:
    at = content.index(_VERDICT)
    end = content.rindex(b" rg", 0, at)
    start = content.rindex(b"\n", 0, end) + 1
    return content[:start] + (b"0 0 0" if content[start:end] == b"1 1 1" else b"1 1 1") + content[end:]


@_drawn
def verdict_painted_over(content: bytes) -> bytes:
    return content + b"\n1 g 360 640 205 140 re f\n"


@_drawn
def verdict_cut_away_by_a_clipping_path(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"ET q 0 0 1 1 re W n BT (Fail ) Tj ET Q BT", 1)


@_drawn
def verdict_moved_off_the_page(content: bytes) -> bytes:
    at = content.index(_VERDICT)
    start = content.rindex(b"Tm", 0, at)
    parts = content[:start].rsplit(b" ", 3)
    return parts[0] + b" 5000.00 5000.00 " + content[start:]


@_drawn
def verdict_made_tiny(content: bytes) -> bytes:
    at = content.index(_VERDICT)
    start = content.rindex(b" Tf", 0, at)
    return content[:start].rsplit(b" ", 1)[0] + b" 0.01" + content[start:]


@_drawn
def verdict_left_out(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"() Tj")


@_drawn
def words_exchanged_that_the_page_has_anyway(content: bytes) -> bytes:
    return content.replace(b"(fail )", b"(\0)").replace(b"(pass )", b"(fail )").replace(b"(\0)", b"(pass )")


@_drawn
def a_figure_changed_to_another_on_the_page(content: bytes) -> bytes:
    return content.replace(b"50 Hz", b"60 Hz", 1)


@_drawn
def a_curve_moved(content: bytes) -> bytes:
    at = content.rindex(b" l S")
    before = content[:at].rsplit(b" ", 1)
    return b"%b %.2f%b" % (before[0], float(before[1]) + 0.5, content[at:])


@_drawn
def a_line_left_out(content: bytes) -> bytes:
    return content.replace(b" l S\n", b" l n\n", 1)


@_drawn
def everything_scaled(content: bytes) -> bytes:
    return b"0.5 0 0 0.5 0 0 cm\n" + content


@_drawn
def drawing_put_into_a_hidden_layer(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"/OC /Hidden BDC (Fail ) Tj EMC")


@_drawn
def a_picture_within_the_drawing(content: bytes) -> bytes:
    return content + b"\nq 200 0 0 130 362 642 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \xff EI Q\n"


@_drawn
def word_spacing_that_hides_a_word(content: bytes) -> bytes:
    return content.replace(_VERDICT, b"9000 Tw (Fail ) Tj 0 Tw")


@_drawn
def verdict_read_aloud_as_another(content: bytes) -> bytes:
    start = content.rindex(b"<</MCID", 0, content.index(_VERDICT))
    return content[:start] + b"<</ActualText (Pass) " + content[start + 2 :]


# Objects of the file.


@_objects
def chart_told_in_other_words(file: Any) -> None:
    figure = next(one for one in file.objects if isinstance(one, Dictionary) and one.get("/S") == Name.Figure)
    figure.Alt = String("Chart: every limit is kept.")


@_objects
def order_of_reading_changed(file: Any) -> None:
    document = file.Root.StructTreeRoot.K
    document.K = Array(reversed(list(document.K)))


@_objects
def script_on_opening(file: Any) -> None:
    file.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.alert('Pass')"))


@_objects
def page_of_another_to_open_at(file: Any) -> None:
    file.Root.OpenAction = Array([file.pages[0].obj, Name.XYZ, 0, 0, 9])


@_objects
def action_of_the_page(file: Any) -> None:
    file.pages[0].obj.AA = Dictionary(O=Dictionary(S=Name.URI, URI=String("http://bench.invalid/")))


@_objects
def action_of_the_catalog(file: Any) -> None:
    file.Root.AA = Dictionary(WC=Dictionary(S=Name.JavaScript, JS=String("1")))


@_objects
def named_script(file: Any) -> None:
    code = Dictionary(S=Name.JavaScript, JS=String("1"))
    file.Root.Names.JavaScript = Dictionary(Names=Array([String("a"), code]))


def _annotation(file: Any, **entries: Any) -> None:
    note = Dictionary(Type=Name.Annot, Rect=Array([362, 642, 562, 776]), F=4, **entries)
    file.pages[0].obj.Annots = Array([file.make_indirect(note)])


@_objects
def stamp_over_the_verdict(file: Any) -> None:
    form = file.make_stream(b"1 g 0 0 200 134 re f")
    form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 200, 134])
    _annotation(file, Subtype=Name.Stamp, AP=Dictionary(N=form))


@_objects
def note_on_the_page(file: Any) -> None:
    _annotation(file, Subtype=Name.FreeText, Contents=String("Pass"), DA=String("/Helv 30 Tf"))


@_objects
def link_on_the_page(file: Any) -> None:
    _annotation(file, Subtype=Name.Link, A=Dictionary(S=Name.URI, URI=String("http://bench.invalid/")))


@_objects
def redaction_of_the_verdict(file: Any) -> None:
    _annotation(file, Subtype=Name.Redact)


@_objects
def form_field_with_another_verdict(file: Any) -> None:
    form = file.make_stream(b"1 g 0 0 200 134 re f")
    form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 200, 134])
    _annotation(file, Subtype=Name.Widget, FT=Name.Tx, T=String("v"), V=String("Pass"), AP=Dictionary(N=form))
    file.Root.AcroForm = Dictionary(Fields=Array([file.pages[0].obj.Annots[0]]))


@_objects
def form_without_fields(file: Any) -> None:
    file.Root.AcroForm = Dictionary(Fields=Array(), NeedAppearances=True)


@_objects
def second_page(file: Any) -> None:
    file.add_blank_page(page_size=(595, 842))


@_objects
def page_put_before(file: Any) -> None:
    file.pages.insert(0, file.pages[0])


@_objects
def page_size_that_cuts_the_verdict(file: Any) -> None:
    file.pages[0].obj.MediaBox = Array([0, 0, 595.2756, 600])


@_objects
def crop_box_that_cuts_the_verdict(file: Any) -> None:
    file.pages[0].obj.CropBox = Array([0, 0, 595, 600])


@_objects
def page_turned_over(file: Any) -> None:
    file.pages[0].obj.Rotate = 180


@_objects
def user_unit(file: Any) -> None:
    file.pages[0].obj.UserUnit = 0.001


@_objects
def second_content_stream(file: Any) -> None:
    page = file.pages[0].obj
    page.Contents = Array([page.Contents, file.make_stream(b"1 g 360 640 205 140 re f")])


@_objects
def layer_that_is_off(file: Any) -> None:
    layer = file.make_indirect(Dictionary(Type=Name.OCG, Name=String("v")))
    file.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(OFF=Array([layer]), Order=Array()))


def _fonts(file: Any) -> Any:
    return file.pages[0].obj.Resources.Font


@_objects
def glyphs_swapped_in_a_font(file: Any) -> None:
    """The codes stay, the shapes behind them change places: text that is read out is not the text that is seen."""
    from fontTools.ttLib import TTFont

    program = _fonts(file)["/F1+0"].FontDescriptor.FontFile2
    font = TTFont(io.BytesIO(program.read_bytes()))
    first, second = font.getGlyphOrder()[10:12]
    glyphs = font["glyf"]
    glyphs[first], glyphs[second] = glyphs[second], glyphs[first]
    target = io.BytesIO()
    font.save(target)
    program.write(target.getvalue())


@_objects
def fonts_exchanged(file: Any) -> None:
    fonts = _fonts(file)
    fonts["/F1+0"], fonts["/F2+0"] = fonts["/F2+0"], fonts["/F1+0"]


@_objects
def another_encoding_of_a_font(file: Any) -> None:
    _fonts(file)["/F1+0"].Encoding = Dictionary(Type=Name.Encoding, Differences=Array([70, Name.P]))


@_objects
def another_meaning_of_codes(file: Any) -> None:
    table = _fonts(file)["/F1+0"].ToUnicode
    table.write(table.read_bytes().replace(b"<0050>", b"<0046>"))


@_objects
def widths_of_a_font(file: Any) -> None:
    _fonts(file)["/F1+0"].Widths[70] = 9000


@_objects
def picture_added_to_the_resources(file: Any) -> None:
    form = file.make_stream(b"1 g 0 0 200 134 re f")
    form.Type, form.Subtype, form.BBox = Name.XObject, Name.Form, Array([0, 0, 200, 134])
    file.pages[0].obj.Resources.XObject = Dictionary({"/Cover": form})


@_objects
def title(file: Any) -> None:
    file.docinfo[Name.Title] = String("Brake-test certificate of another motor")


@_objects
def keywords_with_another_verdict(file: Any) -> None:
    file.docinfo[Name.Keywords] = String("certificate, verdict: pass")


@_objects
def metadata_with_another_verdict(file: Any) -> None:
    stream = file.Root.Metadata
    stream.write(stream.read_bytes().replace(b"verdict: fail", b"verdict: pass"))


@_objects
def metadata_left_out(file: Any) -> None:
    del file.Root.Metadata


@_objects
def colours_that_mean_something_else(file: Any) -> None:
    profile = file.Root.OutputIntents[0].DestOutputProfile
    profile.write(profile.read_bytes().replace(b"sRGB"[:1], b"t", 1))


@_objects
def outline_with_another_verdict(file: Any) -> None:
    with file.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem("Verdict: pass", 0))


@_objects
def page_labels(file: Any) -> None:
    file.Root.PageLabels = Dictionary(Nums=Array([0, Dictionary(P=String("Pass "))]))


@_objects
def collection_that_shows_a_file_instead(file: Any) -> None:
    file.Root.Collection = Dictionary(Type=Name.Collection, View=Name.T, D=String("x"))


@_objects
def private_data_of_a_program(file: Any) -> None:
    file.pages[0].obj.PieceInfo = Dictionary(A=Dictionary(Private=String("Pass")))


@_objects
def viewer_without_its_bars(file: Any) -> None:
    file.Root.ViewerPreferences.HideMenubar = True


@_objects
def another_language(file: Any) -> None:
    file.Root.Lang = String("xx")


@_objects
def enclosed_file_added(file: Any) -> None:
    name = "zz_report.pdf"
    file.attachments[name] = pikepdf.AttachedFileSpec(file, b"%PDF-1.7 pass", filename=name)


@_objects
def enclosed_file_described_otherwise(file: Any) -> None:
    file.Root.AF[0].Desc = String("The verdict is pass.")


@_objects
def object_that_nothing_uses(file: Any) -> None:
    file.Root.AF[0].Unseen = Dictionary(A=String("Pass"))


# What the program itself encloses.


@_listed
def another_verdict_in_the_list(contents: dict[str, Any]) -> None:
    contents["verdict"] = "pass"


@_listed
def another_number_in_the_list(contents: dict[str, Any]) -> None:
    contents["number"] += "-2"


@_listed
def an_earlier_version_claimed(contents: dict[str, Any]) -> None:
    contents["version"] = "0.0.9"


@_listed
def another_program_claimed(contents: dict[str, Any]) -> None:
    contents["program"] = "bench"


@_kind
def an_earlier_version_claimed_throughout(document: bytes) -> bytes:
    """List, results and metadata all say that an earlier version issued the page, and the page lies."""
    lying = with_page(document, lambda content: content.replace(_VERDICT, b"(Pass ) Tj"))
    files = enclosed(lying)
    made = json.loads(files["contents.json"])
    for name in ("contents.json", "results.json"):
        tree = json.loads(files[name])
        (tree if name == "contents.json" else tree["traceability"])["version"] = "0.0.9"
        files[name] = json.dumps(tree).encode()
    with pikepdf.open(io.BytesIO(with_files(lying, files, listed=True))) as file:
        issuer, claimed = f"certgen {made['version']}".encode(), b"certgen 0.0.9"
        file.Root.Metadata.write(file.Root.Metadata.read_bytes().replace(issuer, claimed))
        for name in (Name.Creator, Name.Producer):
            file.docinfo[name] = String(claimed.decode())
        target = io.BytesIO()
        file.save(target, fix_metadata_version=False)
    return resealed(target.getvalue())


@_listed
def a_layout_claimed_that_is_elsewhere(contents: dict[str, Any]) -> None:
    contents["sheet"]["layout"] = "elsewhere.yaml"


@_recorded
def another_verdict_in_the_results(results: dict[str, Any]) -> None:
    results["verdict"]["outcome"] = "pass"


@_recorded
def another_headline_in_the_results(results: dict[str, Any]) -> None:
    results["verdict"]["headline"] = "Pass"


@_recorded
def a_figure_in_its_seventh_digit(results: dict[str, Any]) -> None:
    results["points"][0]["torque"]["value"] *= 1.0 + 1e-6


@_recorded
def a_finding_left_out(results: dict[str, Any]) -> None:
    results["findings"] = results["findings"][1:]


@_recorded
def a_caution_left_out(results: dict[str, Any]) -> None:
    results["cautions"] = []


# The form of the file.


def _bodies(change: Callable[[list[bytes]], list[bytes]]) -> Forgery:
    def forge(document: bytes) -> bytes:
        bodies, root, information = bodies_of(document)
        return sealed(written(change(bodies), root, information))

    forge.__name__ = change.__name__
    return _kind(forge)


def _page_body(bodies: list[bytes], old: bytes, new: bytes) -> list[bytes]:
    assert sum(old in one for one in bodies) == 1
    return [one.replace(old, new) for one in bodies]


@_bodies
def entry_given_twice(bodies: list[bytes]) -> list[bytes]:
    return _page_body(bodies, b"/Type /Page\n", b"/Type /Page /MediaBox [ 0 0 595 600 ]\n")


@_bodies
def comment_that_hides_an_entry(bodies: list[bytes]) -> list[bytes]:
    return _page_body(bodies, b"/Rotate 0 ", b"% /Rotate 0\n/Rotate 0 ")


@_bodies
def spare_object(bodies: list[bytes]) -> list[bytes]:
    return [*bodies, b"<< /S /JavaScript /JS (1) >>"]


@_bodies
def bytes_behind_a_packed_stream(bodies: list[bytes]) -> list[bytes]:
    return [_followed(one) if b"/Length1" in one else one for one in bodies]


def _followed(body: bytes) -> bytes:
    head, packed = body.split(b"\nstream\n", 1)
    packed = packed.removesuffix(b"endstream").removesuffix(b"\n")
    length = head.split(b"/Length ", 1)[1].split(b" ", 1)[0]
    head = head.replace(b"/Length " + length, b"/Length %d" % (int(length) + 5))
    return head + b"\nstream\n" + packed + b"more.\nendstream"


@_bodies
def stream_packed_in_another_way(bodies: list[bytes]) -> list[bytes]:
    return [_in_hex(one) if b"/Length1" in one else one for one in bodies]


def _in_hex(body: bytes) -> bytes:
    head, packed = body.split(b"\nstream\n", 1)
    spelt = packed.removesuffix(b"endstream").removesuffix(b"\n").hex().encode() + b">"
    length = head.split(b"/Length ", 1)[1].split(b" ", 1)[0]
    head = head.replace(b"/Length " + length, b"/Length %d" % len(spelt))
    head = head.replace(b"[ /FlateDecode ]", b"[ /ASCIIHexDecode /FlateDecode ]")
    return head + b"\nstream\n" + spelt + b"\nendstream"


def _sealed_whole(document: bytes) -> bytes:
    """A file sealed as a whole, whatever stands behind the line of the seal."""
    seal = read_seal(document)
    assert seal is not None
    start = document.index(b"\n") + 1
    return sealed(document[:start] + SEAL_LINE + document[start + len(SEAL_LINE) :])


@_kind
def update_within_the_seal(document: bytes) -> bytes:
    def note(writer: PdfWriter) -> None:
        writer.add_annotation(0, FreeText(text="Pass", rect=(50, 550, 200, 650)))

    return _sealed_whole(updated(document, note))


@_kind
def bytes_between_objects(document: bytes) -> bytes:
    at = document.index(b"\n2 0 obj\n") + 1
    table = document.rindex(b"xref\n0 ")
    more = b"% more\n"
    places = document[table:].split(b"\n")
    moved = [
        b"%010d%b" % (int(line[:10]) + len(more), line[10:])
        if line[10:17] == b" 00000 " and int(line[:10]) >= at
        else line
        for line in places
    ]
    moved[moved.index(b"startxref") + 1] = b"%d" % (table + len(more))
    return _sealed_whole(document[:at] + more + document[at:table] + b"\n".join(moved))


@_kind
def rewritten_by_another_program(document: bytes) -> bytes:
    with pikepdf.open(io.BytesIO(document)) as file:
        target = io.BytesIO()
        file.save(target, object_stream_mode=pikepdf.ObjectStreamMode.generate, fix_metadata_version=False)
    body = target.getvalue().split(b"\n", 2)[2]
    return sealed(b"%PDF-1.7\n" + SEAL_LINE + body)


@_kind
def script_packed_behind_the_end(document: bytes) -> bytes:
    return _sealed_whole(document + zlib.compress(b"Pass") + b"\n%%EOF\n")
