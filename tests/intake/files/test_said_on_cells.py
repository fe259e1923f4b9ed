"""What a workbook says on its cells and beside them is said: comments, text boxes, lines over the page, colours.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import io
import struct
import zipfile
import zlib

import pytest
import xlsxwriter

from capcheck import read_board
from capcheck.intake.files import said_on_cells
from capcheck.intake.files.said_on_cells import SaidOnCells
from capcheck.lexicon import sentence
from capcheck.model import Topic

HEADER = ["Reference", "Qty", "Part number", "Description", "Height (mm)"]
COUNT = 8


def placements(tmp_path):
    (tmp_path / "placements.csv").write_text(
        "Ref,X (mm),Y (mm),Rot,Side,Package\n" + "".join(f"J{k},{10 * k},20,0,top,XQ9\n" for k in range(1, COUNT + 1))
    )


def row(k):
    return [f"J{k}", 1, f"PN-{k}", "connector", 1.5]


@pytest.fixture
def workbook(tmp_path):
    def write(change):
        placements(tmp_path)
        book = xlsxwriter.Workbook(tmp_path / "bom.xlsx")
        sheet = book.add_worksheet("BOM & more")
        sheet.write_row(0, 0, HEADER)
        for k in range(1, COUNT + 1):
            sheet.write_row(k, 0, row(k))
        change(sheet, book)
        book.close()
        return read_board(tmp_path)

    return write


def questions(board):
    return {
        d.refs: str(d.said.values) for d in board.discrepancies if d.topic in {Topic.ROW_IN_QUESTION, Topic.LEFT_OUT}
    }


def notes(board):
    return " ".join(str(note.said.values) for note in board.notes)


def test_a_comment_on_a_row_is_a_question_about_its_part(workbook):
    board = workbook(lambda sheet, _: sheet.write_comment("E4", "12 mm with its cover"))
    assert "12 mm with its cover" in questions(board)["J3",]


def test_a_comment_on_a_title_is_said(workbook):
    board = workbook(lambda sheet, _: sheet.write_comment("E1", "without the cover"))
    assert questions(board) == {}
    assert "without the cover" in notes(board)


def test_a_comment_beside_the_rows_is_said(workbook):
    board = workbook(lambda sheet, _: sheet.write_comment("K40", "ask before placing J5"))
    assert "J5" in questions(board)["J5",]
    assert "ask before placing J5" in notes(board)


@pytest.mark.parametrize(
    "put",
    [
        lambda sheet, text: sheet.insert_textbox(20, 2, text),
        lambda sheet, text: sheet.set_header(f"&L&12&C{text}&RPage &P of &N"),
        lambda sheet, text: sheet.data_validation("B40", {"validate": "any", "input_title": "", "input_message": text}),
    ],
)
def test_what_stands_beside_the_cells_is_said_and_asked_about_where_it_names_a_part(workbook, put):
    board = workbook(lambda sheet, _: put(sheet, "leave J3 off"))
    assert "leave J3 off" in notes(board)
    assert "leave J3 off" in questions(board)["J3",]


def test_lines_over_the_page_that_say_nothing_are_not_said(workbook):
    board = workbook(lambda sheet, _: sheet.set_footer("&L&P/&N&R&D"))
    assert "lines over" not in notes(board)
    assert not any(note.said.key == "files.beside the cells" for note in board.notes)


def coloured(board):
    return [note.said.values["rows"] for note in board.notes if note.said.key == "files.coloured rows"]


@pytest.mark.parametrize("form", [{"bg_color": "#FF0000"}, {"font_color": "#CC0000"}])
def test_a_row_in_another_colour_than_most_stops_nothing_and_is_said(workbook, form):
    board = workbook(lambda sheet, book: sheet.write_row(3, 0, row(3), book.add_format(form)))
    assert questions(board) == {}
    assert coloured(board) == [["4"]]
    assert any("row 4;" in sentence(note.said) for note in board.notes if note.said.key == "files.coloured rows")


@pytest.mark.parametrize("also", [(), (3,)])
def test_titles_in_a_colour_of_their_own_are_not_told_as_coloured_rows(workbook, also):
    def change(sheet, book):
        form = book.add_format({"bg_color": "#C0C0C0"})
        sheet.write_row(0, 0, HEADER, form)
        for k in also:
            sheet.write_row(k, 0, row(k), form)

    assert coloured(workbook(change)) == [[str(k + 1)] for k in also]


def swatch(sheet, _, shown):
    sheet.write(COUNT + 3, 0, " ", shown)
    sheet.write(COUNT + 3, 1, "leave off", shown)


LEGENDS = {
    "swatch": swatch,
    "by name": lambda sheet, *_: sheet.write(COUNT + 3, 0, "Rows in red are not for this build"),
    "in a box": lambda sheet, *_: sheet.insert_textbox(2, 8, "Rot markierte Teile sind Beistellung"),
    "on another sheet": lambda _, book, shown: swatch(book.add_worksheet("Legend"), book, shown),
    "by name on another sheet": lambda _, book, __: book.add_worksheet("Legend").write(0, 0, "yellow: spare parts"),
}


@pytest.mark.parametrize("legend", LEGENDS.values(), ids=LEGENDS)
@pytest.mark.parametrize("form", [{"bg_color": "#FF0000"}, {"font_color": "#CC0000"}])
def test_a_row_in_a_colour_that_a_legend_explains_is_a_question(workbook, form, legend):
    def change(sheet, book):
        shown = book.add_format(form)
        sheet.write_row(3, 0, row(3), shown)
        legend(sheet, book, shown)

    board = workbook(change)
    assert ("J3",) in questions(board)
    assert coloured(board) == []


def test_a_second_colour_beside_one_that_a_legend_explains_is_asked_with_it(workbook):
    def change(sheet, book):
        explained, other = (book.add_format({"bg_color": colour}) for colour in ("#FF0000", "#00B0F0"))
        sheet.write_row(3, 0, row(3), explained)
        sheet.write_row(5, 0, row(5), other)
        sheet.write(COUNT + 3, 0, "not urgent", explained)

    board = workbook(change)
    asked = {ref for refs in questions(board) for ref in refs}
    assert {"J3", "J5"} <= asked
    assert coloured(board) == []


@pytest.mark.parametrize(
    ("form", "rows"),
    [
        ({"bg_color": "#EEEEEE"}, range(1, COUNT + 1, 2)),
        ({"bg_color": "#FFFF00"}, range(1, COUNT + 1)),
        ({"bold": True}, [3]),
        ({"font_color": "#0000FF", "underline": True}, [3]),
    ],
    ids=["stripes", "all", "bold", "link"],
)
def test_colours_that_set_no_row_apart_ask_nothing(workbook, form, rows):
    def change(sheet, book):
        shown = book.add_format(form)
        for k in rows:
            sheet.write_row(k, 0, row(k), shown)

    board = workbook(change)
    assert questions(board) == {}
    assert coloured(board) == []


def test_the_header_may_have_a_colour_of_its_own(workbook):
    board = workbook(lambda sheet, book: sheet.write_row(0, 0, HEADER, book.add_format({"bg_color": "#00FF00"})))
    assert questions(board) == {}


def test_a_comment_of_a_thread_is_read_once(workbook, tmp_path):
    workbook(lambda sheet, _: sheet.write_comment("A4", "[Threaded comment] for programs that know none: leave it off"))
    file = tmp_path / "bom.xlsx"
    whole = {name: zipfile.ZipFile(file).read(name) for name in zipfile.ZipFile(file).namelist()}
    relations = "xl/worksheets/_rels/sheet1.xml.rels"
    kind = "http://schemas.microsoft.com/office/2017/10/relationships/threadedComment"
    one = f'<Relationship Id="rId9" Type="{kind}" Target="../threadedComments/one.xml"/></Relationships>'
    whole[relations] = whole[relations].replace(b"</Relationships>", one.encode())
    whole["xl/threadedComments/one.xml"] = (
        b'<ThreadedComments><threadedComment ref="A4" id="1"><text>leave &amp; keep</text></threadedComment>'
        b"</ThreadedComments>"
    )
    with zipfile.ZipFile(file, "w") as book:
        for name, data in whole.items():
            book.writestr(name, data)
    asked = questions(read_board(tmp_path))
    assert "leave & keep" in asked["J3",]
    assert "Threaded" not in asked["J3",]


def test_boxes_over_rows_are_no_rows(workbook):
    def change(sheet, _):
        sheet.insert_textbox(2, 2, "leave J3 off")
        sheet.insert_textbox(2, 2, "leave J4 off")

    assert questions(workbook(change))["J3", "J4"]


def test_pictures_of_a_sheet_are_counted(workbook):
    header = b"IHDR" + struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    picture = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + header + struct.pack(">I", zlib.crc32(header)) + bytes(20)
    board = workbook(lambda sheet, _: sheet.insert_image(20, 2, "p.png", {"image_data": io.BytesIO(picture)}))
    assert any(note.said.key == "files.pictures" for note in board.notes)


@pytest.mark.rows(
    "add",
    [
        lambda text: said_on_cells._add_comments(SaidOnCells(), b'<comment ref="A1">' + text * 20_000),
        lambda text: said_on_cells.add_drawn(SaidOnCells(), b"<a:twoCellAnchor>" + text * 20_000),
        lambda text: SaidOnCells().add_ods_boxes(text * 20_000),
        lambda text: SaidOnCells().without_ods_comment(0, text * 20_000),
        lambda text: said_on_cells.ods_colours(b"fo:color " + text * 20_000),
        lambda text: said_on_cells.coloured_styles(text * 20_000, text * 20_000, text * 20_000),
        lambda text: [
            *said_on_cells._PAGE_LINE.finditer(text * 20_000),
            *said_on_cells._PROMPT.finditer(text * 20_000),
        ],
    ],
)
@pytest.mark.rows(
    "text",
    [
        b"<comment ",
        b"<twoCellAnchor ",
        b"<xdr:row>1",
        b"<a:t>",
        b"<pic ",
        b"<oddHeader ",
        b"<oddHeader>&",
        b"<dataValidation prompt=",
        b"<draw:text-box ",
        b"<office:annotation ",
        b"<text:p>",
        b"<style:style style:name=",
        b"<font ",
        b'<fill patternType="solid"><fgColor ',
        b"<xf ",
    ],
)
def test_elements_without_an_end_cost_no_more_than_their_length(add, text, in_time):
    with in_time(2):
        add(text)


ODS = """<office:document-content><office:automatic-styles><style:style style:name="red" style:family="table-cell">
<style:table-cell-properties fo:background-color="#ff0000"/></style:style></office:automatic-styles><office:body>
<office:spreadsheet><table:table table:name="p">{boxes}{rows}</table:table></office:spreadsheet></office:body>
</office:document-content>"""


def ods(tmp_path, *, third="", style="", boxes=""):
    placements(tmp_path)
    rows = ""
    for k in range(COUNT + 1):
        cells = ""
        for at, cell in enumerate(row(k) if k else HEADER):
            marked = k == 3 and not at
            told = f' table:style-name="{style}"' if marked and style else ""
            text = f"{third if marked else ''}<text:p>{cell}</text:p>"
            cells += f'<table:table-cell office:value-type="string"{told}>{text}</table:table-cell>'
        rows += f"<table:table-row>{cells}</table:table-row>"
    with zipfile.ZipFile(tmp_path / "bom.ods", "w") as book:
        book.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        names = ("office", "table", "text", "draw", "style", "fo")
        bound = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in names)
        text = ODS.format(boxes=boxes, rows=rows).replace(
            "<office:document-content", f"<office:document-content {bound}"
        )
        book.writestr("content.xml", text)
        book.writestr("META-INF/manifest.xml", "<manifest/>")
    return read_board(tmp_path)


def test_an_ods_without_any_of_it_asks_nothing(tmp_path):
    assert questions(ods(tmp_path)) == {}


def test_a_comment_on_a_cell_of_ods_is_a_question_about_its_part(tmp_path):
    board = ods(tmp_path, third="<office:annotation><text:p>leave it off</text:p></office:annotation>")
    assert "leave it off" in questions(board)["J3",]


def test_a_row_of_ods_in_another_colour_is_said(tmp_path):
    board = ods(tmp_path, style="red")
    assert questions(board) == {}
    assert coloured(board)


def test_a_text_box_of_ods_is_said(tmp_path):
    box = "<draw:frame><draw:text-box><text:p>leave J3 off</text:p></draw:text-box></draw:frame>"
    board = ods(tmp_path, boxes=f"<table:shapes>{box}</table:shapes>")
    assert "leave J3 off" in questions(board)["J3",]


@pytest.mark.parametrize(
    ("marked", "said"),
    [
        ('<td title="leave it off">J3</td>', "leave it off"),
        ('<td bgcolor="red">J3</td>', "red"),
    ],
)
def test_what_markup_says_on_a_row_is_told(tmp_path, marked, said):
    placements(tmp_path)
    rows = "".join(
        "<tr>" + "".join(f"<td>{cell}</td>" for cell in (row(k) if k else HEADER)) + "</tr>" for k in range(COUNT + 1)
    )
    (tmp_path / "bom.xls").write_text(f"<html><table>{rows.replace('<td>J3</td>', marked)}</table></html>")
    board = read_board(tmp_path)
    assert said in str(questions(board).get(("J3",), [note.said.values for note in board.notes]))


def test_what_markup_says_outside_its_tables_is_said(tmp_path):
    placements(tmp_path)
    rows = "".join(
        "<tr>" + "".join(f"<td>{cell}</td>" for cell in (row(k) if k else HEADER)) + "</tr>" for k in range(COUNT + 1)
    )
    (tmp_path / "bom.xls").write_text(f"<html><p>leave J3 off</p><table>{rows}</table></html>")
    board = read_board(tmp_path)
    assert "leave J3 off" in notes(board)


def test_a_comment_in_a_spreadsheet_in_xml_is_a_question_about_its_part(tmp_path):
    placements(tmp_path)
    comment = "<Comment><Data>leave it off</Data></Comment>"
    rows = "".join(
        "<Row>"
        + "".join(
            f'<Cell><Data ss:Type="String">{cell}</Data>{comment if cell == "J3" else ""}</Cell>'
            for cell in (row(k) if k else HEADER)
        )
        + "</Row>"
        for k in range(COUNT + 1)
    )
    name = "urn:schemas-microsoft-com:office:spreadsheet"
    (tmp_path / "bom.xml").write_text(
        f'<?xml version="1.0"?><Workbook xmlns="{name}" xmlns:ss="{name}"><Worksheet ss:Name="p"><Table>{rows}</Table>'
        "</Worksheet></Workbook>"
    )
    assert "leave it off" in questions(read_board(tmp_path))["J3",]
