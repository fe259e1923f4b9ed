"""Summary, questions and workbook: the same strings come back from independent readers.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import csv
import io
import re

import pytest
from python_calamine import CalamineWorkbook

from capcheck.checking.answer import check
from capcheck.report.first_screen import first_screen
from capcheck.report.formats import markdown, questions as questions_markdown, questions_csv, questions_xlsx, xlsx
from capcheck.report.markdown_text import escaped
from capcheck.report.parts_table import parts_csv
from capcheck.report.questions import questions, questions_table


@pytest.fixture
def report(shop):
    return check(shop / "irrigation-controller", line=shop / "lines" / "chip.line.toml")


@pytest.fixture
def hostile(hostile_board, shop):
    return check(hostile_board, line=shop / "lines" / "mixed.line.toml")


def test_the_summary_fits_a_pull_request_whatever_the_board(large_board, shop, report):
    assert "FAIL" in markdown.render(report)
    large = check(large_board(5000), line=shop / "lines" / "chip.line.toml")
    assert len(markdown.render(large).encode()) < 60_000


def test_markup_in_a_summary_stays_text(hostile):
    # CommonMark 0.31, section 2.4: a backslash before ASCII punctuation makes it literal.
    text = markdown.render(hostile).replace("\\<", "")
    for raw in ("<script>alert(1)</script>", "<img src=x"):
        assert raw not in text
    tables = [t.splitlines() for t in re.findall(r"(?m)(?:^\|.*\n)+", markdown.render(hostile))]
    assert tables
    for table in tables:
        columns = {len(re.findall(r"(?<!\\)\|", row)) for row in table}
        assert len(columns) == 1, "a pipe in a cell makes no new column"


def test_a_summary_begins_with_the_first_screen_and_names_what_is_missing_once(make_board, shop):
    rows = [f"U{n},{10 * n},10,0,top,part-{n},odd-{n}" for n in (1, 2, 3)]
    made = check(make_board(rows), line=shop / "lines" / "mixed.line.toml")
    text = markdown.render(made)
    first, folded = text.split("<details>")
    for section in first_screen(made).sections:
        assert f"\n### {escaped(section.title)}\n\n- " in first
    assert not re.search(r"(?m)^### ", folded.split("</details>")[1])
    kinds = re.findall(r"(?m)^\| ([^|]*) \| [^|]* \| `[^|]*` \|$", folded.split("### Undecided")[1].split("###")[0])
    assert "nothing known" in kinds
    assert len(kinds) == len(set(kinds))


def test_questions_stand_in_three_groups_one_a_line(report):
    asked = questions(report)
    text = questions_markdown.render(report)
    for title in ("We cannot start", "We quote on these assumptions", "Advice"):
        assert title in text
    assert "L3" in text
    assert sum(line[:1].isdigit() for line in text.splitlines()) == len(asked)


def test_no_cell_is_taken_for_a_formula(hostile):
    for text in (parts_csv(hostile.board, hostile), questions_csv.render(hostile)):
        for row in csv.reader(io.StringIO(text)):
            for cell in row:
                assert cell[:1] not in {"=", "@", "\t", "\r"} or cell.startswith("'")


def test_the_workbook_holds_every_placement_and_every_text(hostile, hostile_texts):
    sheets = CalamineWorkbook.from_filelike(io.BytesIO(xlsx.render(hostile)))
    rows = sheets.get_sheet_by_name("parts").to_python()
    assert len(rows) == len(hostile.board.placements) + 1
    numbers = {str(row[rows[0].index("part_number")]) for row in rows[1:]}
    for text in hostile_texts:
        assert any(
            text.replace("\u202e", "") in n.replace("\u202e", "").lstrip("'") or text[:50] in n for n in numbers
        ), text


def test_the_questions_of_the_workbook_are_those_of_the_list(report):
    sheets = CalamineWorkbook.from_filelike(io.BytesIO(questions_xlsx.render(report)))
    keys = []
    for name in ("board", "parts"):
        head, *rows = sheets.get_sheet_by_name(name).to_python()
        keys += [row[head.index("key")] for row in rows]
    head, *listed = questions_table(report)
    assert sorted(keys) == sorted(row[head.index("key")] for row in listed)


def test_what_can_be_ticked_stands_a_line_each_in_the_workbook(report):
    head, *rows = (
        CalamineWorkbook.from_filelike(io.BytesIO(questions_xlsx.render(report))).get_sheet_by_index(0).to_python()
    )
    boxes = [row[head.index("please tick")] for row in rows]
    assert any("\n☐" in text for text in boxes)
    assert not any("␊" in text for text in boxes)


def test_two_workbooks_of_one_report_are_the_same_bytes(report):
    assert xlsx.render(report) == xlsx.render(report)
