"""What a workbook shows beside a cell's value counts: units in formats, rows struck through, rows that are hidden.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import zipfile

import pytest
import xlsxwriter
from hypothesis import given, strategies as st

from capcheck import read_board
from capcheck.intake.files import cell_forms, spreadsheet
from capcheck.intake.files.number_format import adds_text, as_displayed, like_shown
from capcheck.model import Topic

PLACED = "Ref,X (mm),Y (mm),Rot,Side,Package\nJ1,10,20,0,top,XQ9\nJ2,40,20,0,top,XQ9\n"
TITLES = ["Reference", "Qty", "Part number", "Description", "Height"]
# The elements of the two open forms of workbooks: ECMA-376 and ISO/IEC 26300 (from memory).
XML_HEAD = (
    '<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet" '
    'xmlns:ss="urn:schemas-microsoft-com:office:spreadsheet">'
)
ODS_HEAD = (
    '<?xml version="1.0"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0" '
    'xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0">'
)


CELL_OF_ODS = b'><table:table-row><table:table-cell office:value-type="float">'


def rows(height=8.5):
    return [[f"J{k}", 1, f"PN-{k}", "connector", height] for k in (1, 2)]


def xlsx(tmp_path, *, code=None, struck=False, height=8.5, change=None):
    book = xlsxwriter.Workbook(tmp_path / "bom.xlsx")
    sheet = book.add_worksheet("Parts")
    shown = book.add_format({"num_format": code}) if code else None
    off = book.add_format({"font_strikeout": True}) if struck else None
    sheet.write_row(0, 0, TITLES)
    for k, row in enumerate(rows(height), start=1):
        sheet.write_row(k, 0, row[:4], off if k == 2 else None)
        sheet.write(k, 4, row[4], shown)
    if change:
        change(book, sheet)
    book.close()


def xml(tmp_path, *, styles="", style="", cell="", row="", column="", height=8.5):
    lines = [TITLES, *rows(height)]
    body = "".join(
        f"<Row{row if k == 2 else ''}>"
        + "".join(
            f"<Cell{cell if k == 2 else ''}{style if c == 4 and k else ''}>"
            f'<Data ss:Type="{"Number" if isinstance(v, float) else "String"}">{v}</Data></Cell>'
            for c, v in enumerate(line)
        )
        + "</Row>"
        for k, line in enumerate(lines)
    )
    sheet = f'<Worksheet ss:Name="Parts"><Table>{column}{body}</Table></Worksheet>'
    (tmp_path / "bom.xml").write_text(f"{XML_HEAD}<Styles>{styles}</Styles>{sheet}</Workbook>")


def ods(tmp_path, *, styles="", cell="", row="", column="", shown=None, height=8.5):
    def one(value, k, c):
        told = f' table:style-name="{cell}"' if cell and k == 2 and c < 4 else ""
        if isinstance(value, float):
            text = shown or value
            return (
                f'<table:table-cell office:value-type="float" office:value="{value}"><text:p>{text}</text:p>'
                "</table:table-cell>"
            )
        return f'<table:table-cell{told} office:value-type="string"><text:p>{value}</text:p></table:table-cell>'

    body = "".join(
        f"<table:table-row{row if k == 2 else ''}>"
        + "".join(one(v, k, c) for c, v in enumerate(line))
        + "</table:table-row>"
        for k, line in enumerate([TITLES, *rows(height)])
    )
    content = (
        f"{ODS_HEAD}<office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>"
        f'<table:table table:name="Parts">{column or "<table:table-column/>"}{body}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(tmp_path / "bom.ods", "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>',
        )
        archive.writestr("content.xml", content)


@pytest.fixture
def read(tmp_path):
    def board():
        (tmp_path / "placements.csv").write_text(PLACED)
        return read_board(tmp_path)

    return board


def asked(board):
    return [d.refs for d in board.discrepancies if d.topic is Topic.ROW_IN_QUESTION]


def highest(board):
    return max(board.bodies[t].height.high for t in board.placements.part_type.tolist())


@pytest.mark.parametrize(("code", "shown"), [('"3.0"', "3.0"), (";;;", "nothing"), ('"see note";-0', "see note")])
def test_a_format_without_a_place_for_digits_shows_another_number_or_none(code, shown):
    assert adds_text(code)
    assert as_displayed(1.2, "1.2", code) == f"1.2 (shown as {shown})"


@pytest.mark.parametrize(
    ("value", "shown"), [(402, "0402"), (10402, "10402"), (14.5, "14.5"), (4.5, "4.5 (shown as 5)")]
)
def test_a_format_of_zeros_shows_a_size_code_with_its_zero(value, shown):
    assert adds_text("0000")
    assert as_displayed(value, f"{value}", "0000") == shown


@pytest.mark.rows(
    "code", ["General", "0.00;-0.00", "@", "d.m.yyyy", "[h]:mm", "Standard", "# ?/?", "0.00E+00", "_-* #,##0.00_-"]
)
def test_a_format_with_a_place_for_digits_adds_nothing(code):
    assert not adds_text(code)


@pytest.mark.rows("code", ["0", "#,##0", "0;-0;;@", "# ##0"])
@pytest.mark.rows(("value", "told"), [(12, "12"), (12.4, "12.4"), (-3, "-3"), (1.6, "1.6 (shown as 2)")])
def test_a_whole_number_that_is_shown_for_another_one_is_told_beside_it(code, value, told):
    assert adds_text(code)
    assert as_displayed(value, f"{value}", code) == told
    assert like_shown(f"{value}", f"{value:.0f}") == told


@pytest.mark.rows("code", [r"0\.0", '0"."0', '"1"0', '0.0"5"', "0x0", "0-0", "-0", '"-"0.0'])
def test_a_format_with_figures_of_its_own_or_marks_within_the_number_is_told_beside_it(code):
    assert adds_text(code)
    assert as_displayed(16, "16", code) == f"16 [{code}]"


@pytest.mark.parametrize(
    ("code", "value", "most"),
    [
        ('0.00" mm"', 8.5, 8.5),
        ('0" mil"', 400, 10.16),
        ("0\\ \\m\\i\\l", 400, 10.16),
        ('#,##0.00 "inch"', 0.5, 12.7),
        ('0.0,"mm"', 8500, 8.5),
        ("0.0 [$mm]", 8.5, 8.5),
        ('"ca. "0.0" cm"', 1, None),
        ('General" mm"', 8.5, 8.5),
        ('[<1]0.00" cm";0.00" mm"', 8.5, float("inf")),
        ("0.0,", 8500, float("inf")),
        ('0.0" ells"', 8.5, float("inf")),
    ],
)
def test_the_unit_that_a_number_format_shows_is_that_of_the_cell(tmp_path, read, code, value, most):
    xlsx(tmp_path, code=code, height=value)
    found = highest(read())
    assert found == pytest.approx(most) if most is not None else found >= 10


@pytest.mark.parametrize(
    ("shown", "most"), [("0.5 inch", 12.7), ("0,50 in", 12.7), ("50%", float("inf")), ("12.5", float("inf"))]
)
def test_the_unit_that_an_open_workbook_shows_counts(tmp_path, read, shown, most):
    ods(tmp_path, shown=shown, height=0.5)
    assert highest(read()) == pytest.approx(most)


def test_the_unit_in_a_format_of_an_xml_workbook_counts(tmp_path, read):
    style = '<Style ss:ID="s1"><NumberFormat ss:Format="0.00&quot; inch&quot;"/></Style>'
    xml(tmp_path, styles=style, style=' ss:StyleID="s1"', height=0.5)
    assert highest(read()) == pytest.approx(12.7)


def hide_row(_book, sheet):
    sheet.set_row(2, None, None, {"hidden": True})


def flatten_row(_book, sheet):
    sheet.set_row(2, 0)


def strike_a_word(book, sheet):
    sheet.write_rich_string(2, 2, "PN", book.add_format({"font_strikeout": True}), "-2", " ")


@pytest.mark.parametrize("change", [None, hide_row, flatten_row, strike_a_word])
def test_a_row_struck_through_or_hidden_is_asked_about_and_stays(tmp_path, read, change):
    xlsx(tmp_path, struck=change is None, change=change)
    board = read()
    assert asked(board) == [("J2",)]
    assert board.placements.fitted.all()


@pytest.mark.parametrize(
    "given",
    [
        {"cell": ' ss:StyleID="s1"'},
        {"row": ' ss:Hidden="1"'},
        {"row": ' ss:Height="0"'},
    ],
)
def test_so_is_one_of_an_xml_workbook(tmp_path, read, given):
    xml(tmp_path, styles='<Style ss:ID="s1"><Font ss:StrikeThrough="1"/></Style>', **given)
    assert asked(read()) == [("J2",)]


@pytest.mark.parametrize(
    "given", [{"cell": "ce1"}, {"row": ' table:visibility="collapse"'}, {"row": ' table:visibility="filter"'}]
)
def test_so_is_one_of_an_open_workbook(tmp_path, read, given):
    style = (
        '<style:style style:name="ce1" style:family="table-cell">'
        '<style:text-properties style:text-line-through-style="solid"/></style:style>'
    )
    ods(tmp_path, styles=style, **given)
    assert asked(read()) == [("J2",)]


@pytest.mark.parametrize(
    "row", ["<tr style='display: none'>", "<tr style='text-decoration:line-through'>", "<tr hidden>"]
)
def test_so_is_one_of_a_table_in_html(tmp_path, read, row):
    lines = "".join(
        f"{row if k == 2 else '<tr>'}{''.join(f'<td>{v}</td>' for v in line)}</tr>"
        for k, line in enumerate([TITLES, *rows()])
    )
    (tmp_path / "bom.xls").write_text(f"<html><body><table>{lines}</table></body></html>")
    assert asked(read()) == [("J2",)]


def test_hidden_columns_that_are_read_and_hidden_sheets_are_asked_about(tmp_path, read):
    xlsx(tmp_path, change=lambda _book, sheet: sheet.set_column("E:E", None, None, {"hidden": True}))
    assert asked(read()) == [("J1", "J2")]

    def hide(book, sheet):
        book.add_worksheet("Cover").activate()
        sheet.hide()

    xlsx(tmp_path, change=hide)
    assert asked(read()) == [("J1", "J2")]


def test_a_hidden_row_of_titles_asks_about_every_row_that_is_read_by_it(tmp_path, read):
    xlsx(tmp_path, change=lambda _book, sheet: sheet.set_row(0, None, None, {"hidden": True}))
    assert asked(read()) == [("J1", "J2")]


def test_hidden_columns_that_nothing_is_read_from_are_no_question(tmp_path, read):
    def change(_book, sheet):
        sheet.write_column(0, 7, ["Price", 1.2, 3.4])
        sheet.set_column("H:XFD", None, None, {"hidden": True})

    xlsx(tmp_path, change=change)
    assert asked(read()) == []


@given(st.floats(-9999, 9999).map(lambda v: round(v, 3)), st.sampled_from(["0.00", "0.000", "General", "#,##0.0"]))
def test_a_format_that_adds_a_unit_keeps_the_number_in_full(value, digits):
    text = f"{value:.15g}"
    assert adds_text(f'{digits}" mm"')
    assert not adds_text(digits)
    assert as_displayed(value, text, f'{digits}" mm"') == f"{text} mm"


@pytest.mark.rows(
    ("text", "shown", "meant"),
    [
        ("1.249", "1.2 mm", "1.249 mm"),
        ("1.249", "1,2 mm", "1.249 mm"),
        ("1249", "1.2 mm", "1.249 mm"),
        ("7", "1.2 mm", "7 (shown as 1.2 mm)"),
        ("1234.5", "1,234.5 mil", "1234.5 mil"),
        ("1.2", "1,20", "1.2"),
        ("1200", "1.200", "1200"),
        ("1249", "1.2", "1249 (shown as 1.2)"),
        ("1.5", "12.5", "1.5 (shown as 12.5)"),
        ("0.005", "5.0E-3", "0.005"),
        ("402", "0402", "0402"),
    ],
)
def test_what_is_shown_rounded_keeps_its_number_in_full(text, shown, meant):
    assert like_shown(text, shown) == meant


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (cell_forms._ods_struck, b'text-line-through-style="x"' + b'<style:style a="b">' * 60_000),
        (cell_forms._styles, b"<fonts>" + b"<font><strike/>" * 60_000 + b"</fonts><cellXfs></cellXfs>"),
        (cell_forms._styles, b"<fonts " * 60_000),
        (cell_forms._styles, b"<cellXfs " * 60_000),
        (lambda text: cell_forms._ods_sheet(text, set(), {}), CELL_OF_ODS + b"<text:p>" * 60_000),
        (lambda text: cell_forms._add_hidden(cell_forms.CellForms(), text), b'<row r="1" ' * 60_000),
        (lambda text: cell_forms._struck_in_part(text, set()), b"<strike/>" + b"<c " * 60_000),
    ],
)
def test_elements_without_an_end_cost_no_more_than_their_length(read, text, in_time):
    with in_time(1.0):  # by trying each beginning it would be minutes
        read(text)


@pytest.mark.parametrize(("form", "is_told"), [("XLS", True), ("XLSB", True), ("XLSX", False), ("ODS", False)])
def test_a_form_that_hides_how_its_cells_are_shown_says_so_once(tmp_path, monkeypatch, form, is_told):
    book = xlsxwriter.Workbook(tmp_path / "bom.xlsx")
    book.add_worksheet("parts").write_row(0, 0, TITLES)
    book.add_worksheet("more").write_row(0, 0, rows()[0])
    book.close()
    monkeypatch.setattr(spreadsheet, "_form", lambda _: form)
    grids = list(spreadsheet.read_spreadsheet((tmp_path / "bom.xlsx").read_bytes(), "bom.xlsx"))
    told = [note for grid in grids for note in grid.notes if note.said.key == "files.forms of cells not read"]
    assert len(told) == is_told


def test_binary_workbooks_are_told_from_others():
    assert spreadsheet._form(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1") == "XLS"
    assert spreadsheet._form(b"PK\x03\x04 xl/workbook.bin") == "XLSB"
    assert spreadsheet._form(b"PK\x03\x04 xl/workbook.xml") == "XLSX"
