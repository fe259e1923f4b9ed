"""What XLS and XLSB say on their cells: comments, text boxes, colours, struck through, hidden.

Workbooks in XLS are written by a library of its own, with records by [MS-XLS] 2.4 for comments and text boxes; those in
XLSB by records of [MS-XLSB] 2.4, written out here.

Figures: rows and columns are invented.
"""

import io
import struct
import zipfile

import pytest
import xlwt

from capcheck.intake.files import spreadsheet
from capcheck.intake.files.xls_forms import forms_in_xls

ROWS = [["Ref", "Part number", "Height [mm]"], *([f"C{n}", f"QX-{n}W", 1.2] for n in range(1, 9))]


class WithRecords(xlwt.Worksheet):
    """A sheet with further records before its end."""

    further = b""

    def get_biff_data(self):
        data = super().get_biff_data()
        return data[:-4] + self.further + data[-4:]


def record(kind, body):
    return struct.pack("<HH", kind, len(body)) + body


# Objects, their texts and where these go on: records of [MS-XLS] 2.3.2.
def object_with_text(number, kind, text):
    common = struct.pack("<HHHHH12x", 0x15, 18, kind, number, 0x4011)
    said = text.encode("latin-1")
    return (
        record(0x5D, common + struct.pack("<HH", 0, 0))
        + record(0x1B6, struct.pack("<HH6xHHI", 0x212, 0, len(said), 16, 0))
        + record(0x3C, b"\0" + said)
        + record(0x3C, struct.pack("<HHIHHI", 0, 0, 0, len(said), 0, 0))
    )


# The record of a comment: [MS-XLS] 2.3.2.
def note(row, column, number):
    return record(0x1C, struct.pack("<HHHH", row, column, 0, number) + struct.pack("<HB", 1, 0) + b"a\0")


def xls(change=lambda _: None, further=b""):
    book = xlwt.Workbook()
    sheet = book.add_sheet("parts")
    sheet.__class__ = WithRecords
    sheet.further = further
    styles = change(sheet) or {}
    for r, row in enumerate(ROWS):
        for c, cell in enumerate(row):
            sheet.write(r, c, cell, styles.get((r, c), xlwt.Style.default_style))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def grid_of(data):
    (grid,) = list(spreadsheet.read_spreadsheet(data, "bom"))
    return grid


def keys(grid):
    return {row: said.key for row, said in grid.asked.items()}


def test_a_plain_workbook_asks_nothing():
    grid = grid_of(xls())
    assert grid.encoding == "XLS"
    assert (grid.asked, grid.notes, grid.set_aside) == ({}, [], [])


def test_a_row_struck_through_is_asked_about():
    struck = xlwt.easyxf("font: struck_out on")
    assert keys(grid_of(xls(lambda _: {(3, 1): struck}))) == {4: "files.struck through"}


def test_a_hidden_row_and_a_hidden_column_are_told():
    def hide(sheet):
        sheet.row(5).hidden = True
        sheet.col(2).hidden = True

    grid = grid_of(xls(hide))
    assert keys(grid) == {6: "files.hidden row"}
    assert grid.hidden_columns == {2}


def test_a_colour_that_few_rows_have_is_told():
    red = xlwt.easyxf("pattern: pattern solid, fore_colour red")
    grid = grid_of(xls(lambda _: {(2, c): red for c in range(3)}))
    assert [note.said.key for note in grid.notes] == ["files.coloured rows"]


def test_a_number_with_a_unit_by_its_format_is_read_as_it_is_shown():
    inch = xlwt.easyxf(num_format_str='0.0" in"')
    assert grid_of(xls(lambda _: {(1, 2): inch})).rows[1][2] == "1.2 in"


def test_a_comment_on_a_row_asks_about_it():
    data = xls(further=object_with_text(1, 0x19, "is 14 mm tall") + note(4, 2, 1))
    grid = grid_of(data)
    assert keys(grid) == {5: "files.comment"}
    assert grid.asked[5].values["texts"] == ["is 14 mm tall"]


def test_a_text_box_is_said():
    grid = grid_of(xls(further=object_with_text(1, 0x06, "C3 is 14 mm tall")))
    assert [row.text for row in grid.set_aside] == ["C3 is 14 mm tall"]


def test_a_line_over_the_page_is_said():
    def title(sheet):
        sheet.header_str = b"&CHeights in inch"

    assert any("Heights in inch" in row.text for row in grid_of(xls(title)).set_aside)


def test_a_damaged_workbook_is_said_to_hide_how_it_is_shown():
    data = bytearray(xls())
    with pytest.raises(Exception):  # noqa: B017, PT011 - whatever the library raises
        forms_in_xls(bytes(data[:600]))


def varied(number, groups):
    out = bytearray()
    for group in range(groups):
        byte = number >> 7 * group & 0x7F
        further = number >> 7 * (group + 1)
        out.append(byte | (0x80 if further else 0))
        if not further:
            break
    return bytes(out)


def brt(kind, body=b""):
    return varied(kind, 2) + varied(len(body), 4) + body


def wide(text):
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def related(*targets):
    tags = [f'<Relationship Id="rId{i}" Type="{RELATIONS}/{kind}" Target="{to}"/>' for i, (kind, to) in targets]
    return f"<Relationships>{''.join(tags)}</Relationships>"


# The record of a font: [MS-XLSB] 2.3.
def font(*, struck=False, red=False):
    colour = struct.pack("<BBhBBBB", *((5, 0, 0, 255, 0, 0, 255) if red else (3, 8, 0, 0, 0, 0, 255)))
    return brt(43, struct.pack("<HHHHBBBB", 220, 8 if struck else 0, 400, 0, 0, 2, 0, 0) + colour + b"\0" + wide("Q"))


# Records of styles, sheets, rows, cells, books and comments: [MS-XLSB] 2.3.
def xlsb(*, style_of=lambda *_: 0, hidden_row=None, comment=None, box=None):
    count = struct.Struct("<I").pack
    of_cells = [
        brt(47, struct.pack("<HHHHHBBH", 0, shown_as, number, 0, 0, 0, 0, 0))
        for shown_as, number in ((0, 0), (0, 1), (0, 2), (164, 0))
    ]
    styles = b"".join(
        (
            *(brt(615, count(1)), brt(44, struct.pack("<H", 164) + wide('0.0" in"')), brt(616)),
            *(brt(611, count(3)), font(), font(struck=True), font(red=True), brt(612)),
            *(brt(603, count(1)), brt(45, count(0) + bytes(64)), brt(604)),
            *(brt(617, count(4)), *of_cells, brt(618)),
        )
    )
    rows = b""
    for r, row in enumerate(ROWS):
        flags = 0x10 if r == hidden_row else 0
        rows += brt(0, struct.pack("<IIHBBB", r, 0, 300, 0, flags, 0) + struct.pack("<I", 0))
        for c, cell in enumerate(row):
            head = struct.pack("<II", c, style_of(r, c))
            rows += brt(6, head + wide(cell)) if isinstance(cell, str) else brt(5, head + struct.pack("<d", cell))
    dimension = struct.pack("<IIII", 0, len(ROWS) - 1, 0, 2)
    sheet = brt(129) + brt(148, dimension) + brt(145) + rows + brt(146) + brt(130)
    book = brt(131) + brt(143) + brt(156, struct.pack("<II", 0, 1) + wide("rId1") + wide("parts")) + brt(144) + brt(132)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.bin", book)
        archive.writestr("xl/_rels/workbook.bin.rels", related((1, ("worksheet", "worksheets/sheet1.bin"))))
        archive.writestr("xl/styles.bin", styles)
        archive.writestr("xl/worksheets/sheet1.bin", sheet)
        further = []
        if comment is not None:
            row, text = comment
            place = struct.pack("<IIIII16x", 0, row, row, 2, 2)
            archive.writestr("xl/comments1.bin", brt(628) + brt(635, place) + brt(637, b"\0" + wide(text)) + brt(636))
            further.append((1, ("comments", "../comments1.bin")))
        if box is not None:
            text = f"<a:p><a:r><a:t>{box}</a:t></a:r></a:p>"
            drawn = f"<xdr:twoCellAnchor><xdr:from><xdr:row>1</xdr:row></xdr:from>{text}</xdr:twoCellAnchor>"
            archive.writestr("xl/drawings/drawing1.xml", drawn)
            further.append((2, ("drawing", "../drawings/drawing1.xml")))
        archive.writestr("xl/worksheets/_rels/sheet1.bin.rels", related(*further))
    return out.getvalue()


def test_a_plain_workbook_of_records_asks_nothing():
    grid = grid_of(xlsb())
    assert grid.encoding == "XLSB"
    assert grid.rows[1] == ["C1", "QX-1W", "1.2"]
    assert (grid.asked, grid.notes, grid.set_aside) == ({}, [], [])


def test_in_records_a_row_struck_through_or_hidden_is_asked_about():
    grid = grid_of(xlsb(style_of=lambda r, c: int((r, c) == (3, 1)), hidden_row=5))
    assert keys(grid) == {4: "files.struck through", 6: "files.hidden row"}


def test_in_records_a_comment_asks_about_its_row_and_a_text_box_is_said():
    grid = grid_of(xlsb(comment=(4, "is 14 mm tall"), box="C3 is 14 mm tall"))
    assert keys(grid) == {5: "files.comment"}
    assert [row.text for row in grid.set_aside] == ["C3 is 14 mm tall"]


def test_in_records_colours_and_formats_count():
    grid = grid_of(xlsb(style_of=lambda r, c: 2 if r == 2 else 3 if (r, c) == (1, 2) else 0))
    assert [note.said.key for note in grid.notes] == ["files.coloured rows"]
    assert grid.rows[1][2] == "1.2 in"


def test_records_that_end_too_early_leave_the_cells_and_say_what_is_not_read():
    data = xlsb()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as given, zipfile.ZipFile(out, "w") as archive:
        for name in given.namelist():
            part = given.read(name)
            archive.writestr(name, part[:-3] + b"\x2b\x90" if name == "xl/styles.bin" else part)
    grid = grid_of(out.getvalue())
    assert grid.rows[1][0] == "C1"
    assert "files.forms of cells not read" in {note.said.key for note in grid.notes}
