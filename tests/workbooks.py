"""The least workbooks that readers take, written part by part, so that a test can write any part as it likes."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_OPEN = "urn:oasis:names:tc:opendocument:xmlns"

SHEET = "xl/worksheets/sheet1.xml"
#: ECMA-376 part 1, 12.3: the parts without which a workbook is none.
PARTS = {
    "[Content_Types].xml": f"""<Types xmlns="{_PACKAGE}/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Override PartName="/xl/workbook.xml" ContentType="{_KIND}.sheet.main+xml"/>
<Override PartName="/{SHEET}" ContentType="{_KIND}.worksheet+xml"/></Types>""",
    "_rels/.rels": f"""<Relationships xmlns="{_PACKAGE}/relationships">
<Relationship Id="rId1" Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>""",
    "xl/workbook.xml": f"""<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}">
<sheets><sheet name="Load test" sheetId="1" r:id="rId1"/></sheets></workbook>""",
    "xl/_rels/workbook.xml.rels": f"""<Relationships xmlns="{_PACKAGE}/relationships">
<Relationship Id="rId1" Type="{_OFFICE}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>""",
}
_HEADERS = ("n (1/min)", "Kraft", "U", "I", "P", "Notiz")
_ROWS = ((1492, 0, 401, 1.92, 160, ""), (1420, 2.06, 399, 3.45, 1850, "warm"))


def sheet(more: str = "") -> str:
    """The XML of a sheet with a load test and more rows."""
    rows = [_row(number, cells) for number, cells in enumerate((_HEADERS, *_ROWS), start=1)]
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(rows)}{more}</sheetData></worksheet>'


def _row(number: int, cells: tuple[object, ...]) -> str:
    written = "".join(_cell(f"{letter}{number}", cell) for letter, cell in zip("ABCDEF", cells, strict=True))
    return f'<row r="{number}">{written}</row>'


def _cell(address: str, cell: object) -> str:
    if isinstance(cell, str):
        return f'<c r="{address}" t="inlineStr"><is><t>{cell}</t></is></c>'
    return f'<c r="{address}"><v>{cell}</v></c>'


def open_sheet(more: str = "", table: str = f"{_OPEN}:table:1.0") -> str:
    """The XML of the content of an open document with a load test and more rows."""
    spaces = f'xmlns:office="{_OPEN}:office:1.0" xmlns:table="{table}" xmlns:text="{_OPEN}:text:1.0"'
    rows = "".join(_open_row(cells) for cells in (_HEADERS, *_ROWS))
    inner = f'<table:table table:name="Load test">{rows}{more}</table:table>'
    return (
        f"<office:document-content {spaces}><office:body><office:spreadsheet>{inner}"
        "</office:spreadsheet></office:body></office:document-content>"
    )


def _open_row(cells: tuple[object, ...]) -> str:
    written = "".join(
        f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
        if isinstance(cell, str)
        else f'<table:table-cell office:value-type="float" office:value="{cell}"/>'
        for cell in cells
    )
    return f"<table:table-row>{written}</table:table-row>"


def packed(parts: Mapping[str, str | bytes]) -> bytes:
    """An archive of parts, always the same bytes."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        for name, data in parts.items():
            stored = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            archive.writestr(zipfile.ZipInfo(name), data, stored)
    return target.getvalue()


def xlsx(sheet_xml: str | bytes, more: Mapping[str, str | bytes] | None = None) -> bytes:
    """A workbook with this sheet; ``more`` parts replace others or stand beside them."""
    return packed({**PARTS, SHEET: sheet_xml, **(more or {})})


def ods(content: str | bytes) -> bytes:
    """An open document with this content."""
    manifest = f'<manifest:manifest xmlns:manifest="{_OPEN}:manifest:1.0"/>'
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    return packed({"mimetype": kind, "content.xml": content, "META-INF/manifest.xml": manifest})


def in_a_workbook(data: bytes) -> bytes:
    """Bytes as they are where they begin as an archive does, else as the sheet of a good workbook."""
    if data.startswith(b"PK"):
        return data
    return ods(data) if data.startswith(b"<office:") else xlsx(data)


def sheets() -> list[bytes]:
    """A good sheet of each kind."""
    return [sheet().encode(), open_sheet().encode()]
