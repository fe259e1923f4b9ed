"""Spreadsheets in the XML form of 2003 are read like other workbooks; what would grow without limit is refused.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.tables import read_tables
from capcheck.values.errors import InputError

# The elements and attributes of the published schema urn:schemas-microsoft-com:office:spreadsheet (from memory).
HEAD = """<?xml version="1.0"?>
<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet" xmlns:ss="urn:schemas-microsoft-com:office:spreadsheet">
"""


def cell(text, kind="String", **given):
    attributes = "".join(f' ss:{key}="{value}"' for key, value in given.items())
    return f'<Cell{attributes}><Data ss:Type="{kind}">{text}</Data></Cell>'


def row(*cells, **given):
    attributes = "".join(f' ss:{key}="{value}"' for key, value in given.items())
    return f"<Row{attributes}>{''.join(cells)}</Row>\n"


def sheet(name, *rows):
    return f'<Worksheet ss:Name="{name}"><Table>{"".join(rows)}</Table></Worksheet>\n'


TITLES = row(*map(cell, ["Reference", "Value", "X (mm)", "Y (mm)", "Side"]))


def part(ref, x, **given):
    return row(cell(ref), cell("10k"), cell(x, "Number"), cell("2.5", "Number"), cell("top"), **given)


@pytest.fixture
def read(tmp_path):
    def write(text, encoding="utf-8"):
        path = tmp_path / "board.xls"
        path.write_bytes(text.encode(encoding))
        tables = read_tables(path)
        for table in tables:
            assert len(table.row_numbers) + len(table.set_aside) == table.total_rows
        return tables

    return write


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_titles_and_parts_keep_their_rows(read, encoding):
    title = row(cell("Board Lantern, µ-Variante", MergeAcross=3))
    (table,) = read(
        HEAD + sheet("Parts", title, TITLES, part("R1", "1.5"), part("R2", "4", Index=7)) + "</Workbook>", encoding
    )
    assert (table.sheet, table.delimiter) == ("Parts", "spreadsheet")
    assert table.columns == [["R1", "R2"], ["10k", "10k"], ["1.5", "4"], ["2.5", "2.5"], ["top", "top"]]
    assert table.row_numbers == [3, 7]
    assert table.preamble == ((1, "Board Lantern, µ-Variante"),)


def test_a_prefix_for_every_element_makes_no_difference(read):
    text = (
        HEAD.replace("<Workbook xmlns=", "<ss:Workbook xmlns:o=") + sheet("A", TITLES, part("R1", "1")) + "</Workbook>"
    )
    for name in (
        "Worksheet",
        "Table",
        "Row",
        "Cell",
        "Data",
        "/Worksheet",
        "/Table",
        "/Row",
        "/Cell",
        "/Data",
        "/Workbook",
    ):
        text = text.replace(f"<{name}>", f"<{name.replace('/', '/ss:') if '/' in name else 'ss:' + name}>")
        text = text.replace(f"<{name} ", f"<ss:{name} ")
    (table,) = read(text)
    assert table.columns[0] == ["R1"]


def test_cells_are_the_text_that_was_meant(read):
    cells = [cell("R1"), cell("402", "Number"), cell("1.2E-2", "Number"), cell("", Index=4), cell("1", "Boolean")]
    late = [cell("R2"), cell("2011-03-01T00:00:00.000", "DateTime"), cell("top", Index=5)]
    (table,) = read(HEAD + sheet("A", TITLES, row(*cells), row(*late)) + "</Workbook>")
    assert table.columns == [["R1", "R2"], ["402", "2011-03-01 00:00:00"], ["0.012", ""], ["", ""], ["TRUE", "top"]]


def test_an_empty_row_that_stands_for_several_counts_as_them(read):
    """ss:Span counts the further rows that are like this one, as the published schema has it (from memory)."""
    rows = [TITLES, part("R1", "1"), row(Span=2), part("R2", "2"), row(Index=9, Span=1), part("R3", "3")]
    (table,) = read(HEAD + sheet("A", *rows) + "</Workbook>")
    assert table.row_numbers == [2, 6, 11]


def test_a_comment_on_a_cell_is_no_part_of_its_value(read):
    remark = "<Comment><Data>second source EX-9</Data></Comment>"
    cells = [cell("R1").replace("</Cell>", f"{remark}</Cell>"), cell("EX-1"), f"<Cell>{remark}</Cell>"]
    cells += [cell("2", "Number"), cell("top").replace("<Data", f"{remark}<Data")]
    (table,) = read(HEAD + sheet("A", TITLES, row(*cells), part("R2", "1")) + "</Workbook>")
    assert table.columns == [["R1", "R2"], ["EX-1", "10k"], ["", "1"], ["2", "2.5"], ["top", "top"]]


def test_every_sheet_with_cells_is_a_table(read):
    text = HEAD + sheet("Top", TITLES, part("R1", "1")) + sheet("Empty") + sheet("Bottom", TITLES, part("R2", "2"))
    assert [table.sheet for table in read(text + "</Workbook>")] == ["Top", "Bottom"]


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE b [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "&a;" * 10}">' for n in range(9))
    + "]>"
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOMB + HEAD.split("\n", 1)[1] + sheet("A", TITLES, row(cell("&a8;"))) + "</Workbook>", "document type"),
        (HEAD + sheet("A", TITLES, part("R1", "1")), "no well-formed XML"),
        (HEAD + sheet("A", TITLES, row(cell("R1", Index=9999999))) + "</Workbook>", "cells"),
        (HEAD + sheet("A", *[row(cell("R1", Index=16384))] * 600) + "</Workbook>", "cells"),
    ],
    ids=["entities", "cut off", "far cell", "many far cells"],
)
def test_a_damaged_or_hostile_file_is_refused_at_once(read, text, said, in_time):
    with in_time(2, waiting=True), pytest.raises(InputError, match=said):
        read(text)
