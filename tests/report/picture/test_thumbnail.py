"""The small picture beside a question: the sides of its parts, each part ringed where it lies.

Figures: boards and sizes are invented.
"""

import io
import re

import pytest
from openpyxl import load_workbook
from PIL import Image

from capcheck.checking import check
from capcheck.report import load_format
from capcheck.report.picture import Thumbnails, size_of_png
from capcheck.report.questions import questions
from capcheck.report.rows_of_findings import RowsOfSubjects

ROWS = ["Q1,10,10,0,top,v,SOT-23-3", "U1,90,40,0,top,W-7,SOIC-8", "U2,90,10,0,bottom,W-8,SOIC-8"]
RING = (0xB0, 0x12, 0x6B)


@pytest.fixture
def board(make_board):
    return check(make_board(ROWS)).board


def rings(svg):
    return [tuple(map(float, found)) for found in re.findall(r'small-ring" cx="([\d.]+)" cy="([\d.]+)"', svg)]


def test_a_part_is_ringed_on_its_own_side_where_it_lies(board):
    small = Thumbnails.of(board)
    (top, bottom) = small.views
    assert rings(small.svg([0])) == [pytest.approx(top.at[0], abs=0.01)]
    assert small.svg([2]).count("<svg") == 1
    assert "#small-bottom" in small.svg([2])
    assert top.at[0][0] < top.at[1][0]
    # The bottom is seen from below: what has the same x as U1 lies at the other end.
    assert bottom.at[2][0] == pytest.approx(top.width - top.at[1][0], abs=0.01)


def test_parts_of_both_sides_give_both_pictures(board):
    small = Thumbnails.of(board)
    assert small.svg([0, 2]).count("<svg") == 2
    assert size_of_png(small.sides([0, 2]))[0] > 2 * small.views[0].width


def test_what_lies_nowhere_has_no_picture(board):
    small = Thumbnails.of(board)
    assert small.svg([]) == ""
    assert small.png([]) == b""


def test_of_many_parts_each_is_marked_and_none_ringed(make_board):
    rows = [f"R{n},{4 * n},10,0,top,10k,0805" for n in range(1, 31)]
    small = Thumbnails.of(check(make_board(rows)).board)
    svg = small.svg(range(30))
    assert not rings(svg)
    assert svg.count("<circle") == 30
    assert "and 18 more" in svg


def test_the_image_shows_the_ring_where_the_drawing_has_it(board):
    small = Thumbnails.of(board)
    image = Image.open(io.BytesIO(small.png([1]))).convert("RGB")
    view = small.views[0]
    sharp = image.width / view.width
    marked = [
        (x / sharp, y / sharp)
        for x in range(image.width)
        for y in range(image.height)
        if all(abs(a - b) < 12 for a, b in zip(image.getpixel((x, y)), RING, strict=True))
    ]
    assert marked
    middle = tuple(sum(values) / len(values) for values in zip(*marked, strict=True))
    assert middle == pytest.approx(view.at[1], abs=1.0)
    assert max(abs(x - view.at[1][0]) for x, _ in marked) < 20


def test_the_workbook_has_a_picture_in_each_row_that_names_placed_parts(make_board, shop):
    report = check(make_board(ROWS, bom=["Refs,Part number", "U1,W-7"]), line=shop / "lines" / "full.line.toml")
    of = RowsOfSubjects(report.board).of_refs
    refs = {row.key: row.every for q in questions(report) for row in q.rows}
    refs |= {q.key: () if q.rows else q.every for q in questions(report)}
    wanted = {key for key, own in refs.items() if of(own)}
    assert any(":" in key for key in wanted)
    assert any(":" not in key for key in wanted)
    book = load_workbook(io.BytesIO(load_format("questions-xlsx").render(report)))
    found = []
    for sheet in (book["board"], book["parts"]):
        titles = [cell.value for cell in sheet[1]]
        for image in sheet._images:
            row, column = image.anchor._from.row + 1, image.anchor._from.col
            assert titles[column] == "where it sits"
            assert re.search("top|bottom", sheet.cell(row, column + 1).value)
            found.append(sheet.cell(row, titles.index("key") + 1).value)
    assert sorted(found) == sorted(wanted)


def test_a_row_of_the_workbook_has_its_picture_beside_the_cells_to_fill_in(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")
    sheet = load_workbook(io.BytesIO(load_format("questions-xlsx").render(report)))["parts"]
    titles = [cell.value for cell in sheet[1]]
    assert {"where it sits", "your choice", "your answer", "key", "version"} <= set(titles)
    asked = {cell.row for row in sheet.iter_rows(min_row=2) for cell in row if cell.border.left.style == "medium"}
    assert asked
    assert asked <= {image.anchor._from.row + 1 for image in sheet._images}


def test_each_question_on_placed_parts_has_its_picture_on_the_page_and_its_links_lead_somewhere(shop):
    report = check(shop / "irrigation-controller", line=shop / "lines" / "full.line.toml")
    rows = RowsOfSubjects(report.board)
    page = load_format("html").render(report)
    for question in questions(report):
        own = page.split(f'<tr id="ask-{question.key}"')[1].split("<tr")[0]
        shown = {*question.every, *(ref for row in question.rows for ref in row.every)}
        assert ('<svg class="small"' in own) is bool(rows.of_refs(shown)), question.key
    links = re.findall(r'href="#(type-\d+)"', page)
    assert links
    assert all(f'<tr id="{name}"' in page for name in links)
