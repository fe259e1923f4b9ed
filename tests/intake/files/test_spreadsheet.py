"""Spreadsheets give the text that was meant, sheet by sheet, and none can exhaust the machine.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from html import escape
from pathlib import Path

import pytest

from capcheck.intake.confined import reader
from capcheck.intake.files.spreadsheet import cell_text
from capcheck.intake.tables import Table, read_tables
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"


def cell(column: int, row: int, value: object) -> str:
    place = f"{chr(65 + column)}{row}"
    if isinstance(value, tuple):  # a formula and its stored result
        stored = "" if value[1] is None else f"<v>{value[1]}</v>"
        return f'<c r="{place}"><f>{value[0]}</f>{stored}</c>'
    if isinstance(value, str):
        return f'<c r="{place}" t="inlineStr"><is><t>{escape(value)}</t></is></c>'
    return f'<c r="{place}"><v>{value}</v></c>'


def rows_xml(rows: list[list[object]], first: int = 1) -> str:
    return "".join(
        f'<row r="{r}">' + "".join(cell(c, r, v) for c, v in enumerate(row) if v is not None) + "</row>"
        for r, row in enumerate(rows, start=first)
    )


def workbook(sheets: dict[str, str], after: str = "") -> bytes:
    """Return a small XLSX after ECMA-376: *sheets* maps a name to the XML of its rows."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        parts = "".join(
            f'<Override PartName="/xl/worksheets/sheet{n}.xml" ContentType="{TYPE}.worksheet+xml"/>'
            for n in range(1, len(sheets) + 1)
        )
        z.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
            f'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{TYPE}.sheet.main+xml"/>{parts}</Types>',
        )
        relation = f'<Relationships xmlns="{PACKAGE}/relationships">'
        z.writestr(
            "_rels/.rels",
            f'{relation}<Relationship Id="r1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/>'
            "</Relationships>",
        )
        listed = "".join(f'<sheet name="{name}" sheetId="{n}" r:id="r{n}"/>' for n, name in enumerate(sheets, start=1))
        z.writestr(
            "xl/workbook.xml", f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{listed}</sheets></workbook>'
        )
        targets = "".join(
            f'<Relationship Id="r{n}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{n}.xml"/>'
            for n in range(1, len(sheets) + 1)
        )
        z.writestr("xl/_rels/workbook.xml.rels", f"{relation}{targets}</Relationships>")
        for n, rows in enumerate(sheets.values(), start=1):
            z.writestr(
                f"xl/worksheets/sheet{n}.xml",
                f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData>{after}</worksheet>',
            )
    return out.getvalue()


HEADER: list[object] = ["Reference", "Qty", "Value", "Package"]
ROWS: list[list[object]] = [["R1", 1, 402.0, "0402"], ["C1", 2, 4.7, "0603"]]


def read(folder: Path, data: bytes, name: str = "bom.xlsx") -> list[Table]:
    path = folder / name
    path.write_bytes(data)
    tables = read_tables(path)
    for table in tables:
        assert len(table) + len(table.set_aside) == table.total_rows
    return tables


@pytest.mark.rows(
    ("value", "text"),
    [
        (402.0, "402"),
        (0.1 + 0.2, "0.3"),
        (1e-7, "0.0000001"),
        (100000.0, "100000"),
        ("0402", "0402"),
        (True, "TRUE"),
        (dt.date(2026, 3, 5), "2026-03-05"),
        (dt.datetime.fromisoformat("2026-03-05T07:00"), "2026-03-05 07:00:00"),
        (2.5, "2.5"),
    ],
)
def test_a_typed_cell_becomes_the_text_that_was_meant(value, text):
    assert cell_text(value) == text


@pytest.mark.parametrize("name", ["bom.xlsx", "bom.xls", "bom.csv"])
def test_a_workbook_is_told_by_content_and_not_by_name(tmp_path, name):
    (table,) = read(tmp_path, workbook({"Parts": rows_xml([HEADER, *ROWS])}), name)
    assert table.sheet == "Parts"
    assert table.delimiter == "spreadsheet"
    assert table.columns == [["R1", "C1"], ["1", "2"], ["402", "4.7"], ["0402", "0603"]]


def test_every_sheet_with_cells_is_a_table_and_empty_ones_are_none(tmp_path):
    tables = read(
        tmp_path, workbook({"Fit": rows_xml([HEADER, *ROWS]), "Empty": "", "Do not fit": rows_xml([HEADER, ROWS[0]])})
    )
    assert [(t.sheet, len(t)) for t in tables] == [("Fit", 2), ("Do not fit", 1)]


def test_a_title_above_the_header_and_a_table_away_from_the_corner_keep_their_rows(tmp_path):
    rows = [[None, "Bill of materials"], [None], [None, *HEADER], *([None, *row] for row in ROWS)]
    (table,) = read(tmp_path, workbook({"Parts": rows_xml(rows, first=4)}))
    assert table.header_row == 6
    assert list(table.row_numbers) == [7, 8]
    assert table.header == ("", "Reference", "Qty", "Value", "Package")
    assert table.preamble == ((4, "Bill of materials"),)


def test_formulas_count_by_their_stored_result_and_those_without_are_noted(tmp_path):
    rows = [HEADER, ["R1", ("1+2", 3), "1k", "0402"], ["R2", ("1+2", None), "1k", "0402"]]
    (table,) = read(tmp_path, workbook({"Parts": rows_xml(rows)}))
    assert table.columns[1] == ["3", "=1+2"]
    assert any("1 formula has no stored result" in sentence(note.said) for note in table.notes)


def test_a_merged_cell_counts_once_and_is_noted(tmp_path):
    rows = [HEADER, ["R1", 1, "1k", "0402"], [None, 1, "2k", "0402"]]
    merged = '<mergeCells count="1"><mergeCell ref="A2:A3"/></mergeCells>'
    (table,) = read(tmp_path, workbook({"Parts": rows_xml(rows)}, merged))
    assert table.columns[0] == ["R1", ""]
    assert any("merged" in sentence(note.said) and note.place.row == 2 for note in table.notes)


@pytest.fixture
def unhurried(monkeypatch):
    """Give a slow machine the time for a workbook at the limit of what is read: what is read is asked, not how fast."""
    monkeypatch.setattr(reader, "_SECONDS", 10.0)


@pytest.mark.usefixtures("unhurried")
def test_a_million_blank_rows_are_one_entry(tmp_path):
    blank = "".join(f'<row r="{n}" ht="15"/>' for n in range(4, 1_000_000, 100)) + rows_xml([ROWS[0]], first=1_000_000)
    (table,) = read(tmp_path, workbook({"Parts": rows_xml([HEADER, *ROWS]) + blank}))
    assert list(table.row_numbers) == [2, 3, 1_000_000]
    assert [sentence(a.reason) for a in table.set_aside] == ["header", "blank rows 4 to 999999"]


# 1,048,576 rows by 16,384 columns are the most that a worksheet holds; from memory.
def test_a_stray_cell_in_the_far_corner_is_refused_before_it_costs_memory(tmp_path):
    far = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    with pytest.raises(InputError, match="1,048,576 rows by 16,384 columns"):
        read(tmp_path, workbook({"Parts": rows_xml([HEADER, *ROWS]) + far}))


def test_a_zip_bomb_is_refused_by_what_it_declares(tmp_path):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("[Content_Types].xml", "<Types/>")
        with z.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(260):
                part.write(b"\x00" * (1 << 20))
    with pytest.raises(InputError, match="unpacks to 273 MB"):
        read(tmp_path, out.getvalue())


def test_a_size_that_lies_is_refused(tmp_path):
    data = workbook({"Parts": rows_xml([HEADER, *ROWS])})
    with zipfile.ZipFile(io.BytesIO(data)) as z:
        info = z.getinfo("xl/worksheets/sheet1.xml")
    true, lie = info.file_size.to_bytes(4, "little"), (10).to_bytes(4, "little")
    with pytest.raises(InputError, match="does not unpack to what it declares"):
        read(tmp_path, data.replace(true, lie))


def test_a_long_text_used_by_countless_cells_is_refused(tmp_path):
    cells = "".join(f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c></row>' for n in range(4, 3000))
    data = io.BytesIO(workbook({"Parts": rows_xml([HEADER, *ROWS]) + cells}))
    with zipfile.ZipFile(data, "a", zipfile.ZIP_DEFLATED) as z:
        z.writestr("xl/sharedStrings.xml", f'<sst xmlns="{MAIN}"><si><t>{"x" * 1_000_000}</t></si></sst>')
    with pytest.raises(InputError, match="unpacks to 2,996 MB"):
        read(tmp_path, data.getvalue())


@pytest.mark.parametrize("cut", [40, 400, 900])
def test_a_damaged_workbook_is_refused_without_a_traceback(tmp_path, cut):
    with pytest.raises(InputError, match="damaged"):
        read(tmp_path, workbook({"Parts": rows_xml([HEADER, *ROWS])})[:-cut])


def test_an_archive_of_other_files_is_refused_with_their_names(tmp_path):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        z.writestr("lantern.csv", "Ref,X,Y\n")
    with pytest.raises(InputError, match=r"lantern\.csv"):
        read(tmp_path, out.getvalue())


def test_an_old_binary_header_without_a_workbook_is_refused(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        read(tmp_path, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600)


def open_document(*rows: str) -> bytes:
    """Return a small ODS after OASIS OpenDocument 1.2 with one sheet of these rows."""
    urn = "urn:oasis:names:tc:opendocument:xmlns"
    names = f'xmlns:office="{urn}:office:1.0" xmlns:table="{urn}:table:1.0" xmlns:text="{urn}:text:1.0"'
    content = (
        f"<office:document-content {names}><office:body><office:spreadsheet>"
        f'<table:table table:name="Teile">{"".join(rows)}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as z:
        z.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        z.writestr("content.xml", content)
        z.writestr("META-INF/manifest.xml", f'<manifest:manifest xmlns:manifest="{urn}:manifest:1.0"/>')
    return out.getvalue()


def open_row(*cells: str, rows: int = 1, columns: int = 1) -> str:
    kind = f'office:value-type="string" table:number-columns-repeated="{columns}"'
    inner = "".join(f"<table:table-cell {kind}><text:p>{c}</text:p></table:table-cell>" for c in cells)
    return f'<table:table-row table:number-rows-repeated="{rows}">{inner}</table:table-row>'


BLANK_ROWS = (
    '<table:table-row table:number-rows-repeated="1000000">'
    '<table:table-cell table:number-columns-repeated="1024"/></table:table-row>'
)


def test_an_open_document_sheet_is_read_and_blank_rows_to_its_end_are_none(tmp_path):
    data = open_document(open_row("Bauteil", "Menge", "Wert"), open_row("R1", "1", "1k"), BLANK_ROWS)
    (table,) = read(tmp_path, data, "bom.ods")
    assert (table.sheet, table.header, table.columns[0]) == ("Teile", ("Bauteil", "Menge", "Wert"), ["R1"])


@pytest.mark.usefixtures("unhurried")
def test_blank_rows_between_the_rows_of_an_open_document_keep_the_row_numbers(tmp_path):
    rows = (open_row("Bauteil", "Menge", "Wert"), open_row("R1", "1", "1k"), BLANK_ROWS, open_row("R2", "1", "1k"))
    (table,) = read(tmp_path, open_document(*rows), "bom.ods")
    assert list(table.row_numbers) == [2, 1_000_003]


@pytest.mark.parametrize(
    "bomb", [open_row("x", rows=9000, columns=900) * 2, BLANK_ROWS + open_row("x", columns=900)], ids=["filled", "far"]
)
def test_cells_repeated_without_end_are_refused_before_they_cost_memory(tmp_path, bomb):
    data = open_document(open_row("Bauteil", "Menge", "Wert"), open_row("R1", "1", "1k"), bomb)
    with pytest.raises(InputError, match="by 900 columns"):
        read(tmp_path, data, "bom.ods")
