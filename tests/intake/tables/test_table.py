"""A table is found in a text whatever parts its cells and whatever stands around it.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from depth import sample_of, sample_size
from hypothesis import given, settings, strategies as st

from capcheck.intake.tables import Table, read_tables
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError

HEADER = ("RefDes", "Value", "Middle X", "Middle Y", "Rotation", "Side")
ROWS = (
    ("C1", "100n", "12.5", "7.25", "90", "Top"),
    ("R2", "4k7", "3.1", "-2.75", "270", "Bottom"),
    ("U3", "QK-52", "40.05", "11.5", "0", "Top"),
)


def read(folder: Path, data: str | bytes, name: str = "table.csv") -> list[Table]:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    tables = read_tables(path)
    for table in tables:
        assert len(table.row_numbers) + len(table.set_aside) == table.total_rows
        assert all(len(column) == len(table) for column in table.columns)
        places = [*table.row_numbers, *(a.place.row for a in table.set_aside)]
        assert len(set(places)) == len(places)
    return tables


def one(folder: Path, data: str | bytes) -> Table:
    tables = read(folder, data)
    assert len(tables) == 1
    return tables[0]


def rows_of(table: Table) -> list[tuple[str, ...]]:
    return list(zip(*table.columns, strict=True))


def text(delimiter: str) -> str:
    return "\n".join(delimiter.join(row) for row in (HEADER, *ROWS)) + "\n"


@pytest.mark.parametrize(
    ("delimiter", "name"), [(",", "comma"), (";", "semicolon"), ("\t", "tab"), ("|", "pipe"), (" ; ", "semicolon")]
)
def test_the_delimiter_is_told_by_content(tmp_path, delimiter, name):
    table = one(tmp_path, text(delimiter))
    assert table.delimiter == name
    assert table.header == HEADER
    assert table.header_row == 1
    assert rows_of(table) == list(ROWS)
    assert list(table.row_numbers) == [2, 3, 4]
    assert table.decimal == "."


def test_cells_stay_text_and_keep_their_zeros(tmp_path):
    table = one(tmp_path, "Ref,Value,Package\nR1,0402,0603\nR2,1E5,01005\n")
    assert table.columns[1] == ["0402", "1E5"]
    assert table.columns[2] == ["0603", "01005"]


def test_a_quoted_cell_may_hold_line_breaks_and_rows_keep_their_line(tmp_path):
    table = one(tmp_path, 'Qty,Reference,Value\n2,"C1,\nC2",100n\n1,R1,10k\n')
    assert table.columns[1] == ["C1,\nC2", "R1"]
    assert list(table.row_numbers) == [2, 4]


def test_preamble_comments_and_end_marks_are_set_aside_with_their_reason(tmp_path):
    data = (
        "Board: Lantern\nUnit of lengths: mm\n\n=====\n"
        + text(",")
        + "# checked by hand\n---\nTotal,3,,,,\nend of file,,,,,\n"
    )
    table = one(tmp_path, data)
    assert rows_of(table) == list(ROWS)
    assert (2, "Unit of lengths: mm") in table.preamble
    reasons = {a.place.row: sentence(a.reason) for a in table.set_aside}
    assert reasons == {
        1: "before the header",
        2: "before the header",
        3: "blank row",
        4: "before the header",
        5: "header",
        9: "comment",
        10: "ruled line",
        11: "total or end mark",
        12: "total or end mark",
    }


def test_twelve_lines_before_the_header_do_not_hide_it(tmp_path):
    table = one(tmp_path, "\n".join(f"line {n}: about the board" for n in range(12)) + "\n" + text(","))
    assert table.header_row == 13
    assert len(table) == 3


def test_a_header_may_stand_in_a_comment_and_remarks_below_it_join_the_preamble(tmp_path):
    data = (
        "# Lantern\n# RefDes, Value, X, Y, rotation, side\n# X and Y are in mil\n"
        "C1,1u,100,200,90,top\nC2,1u,150,200,0,top\n"
    )
    table = one(tmp_path, data)
    assert table.header == ("RefDes", "Value", "X", "Y", "rotation", "side")
    assert any("mil" in line for _, line in table.preamble)
    assert table.columns[0] == ["C1", "C2"]


def test_a_poorer_header_above_the_real_one_is_preamble(tmp_path):
    table = one(tmp_path, "Part,Position,,,,\n" + text(","))
    assert table.header == HEADER
    assert table.preamble == ((1, "Part Position"),)


def test_a_table_without_header_begins_with_its_first_row(tmp_path):
    table = one(tmp_path, "C1,1.5,2.5,90\nC2,3.5,2.5,0\nR1,3.5,9.5,0\n")
    assert table.header == ()
    assert table.header_row is None
    assert len(table) == 3


def test_an_unknown_header_over_numbers_is_still_a_header(tmp_path):
    table = one(tmp_path, "Wer,Da,Dort\nC1,1.5,2.5\nC2,3.5,2.5\n")
    assert table.header == ("Wer", "Da", "Dort")


def test_a_header_repeated_at_a_page_break_is_set_aside(tmp_path):
    table = one(tmp_path, text(",") + ",".join(HEADER) + "\nC9,1n,1.5,2.5,0,Top\n")
    assert table.columns[0] == ["C1", "R2", "U3", "C9"]
    assert [a.place.row for a in table.set_aside if sentence(a.reason) == "header repeated"] == [5]


def test_a_titled_second_table_below_the_first_is_a_table_of_its_own(tmp_path):
    data = 'Reference,Qty,Value\nC1,1,1u\nC2,1,1u\n\nBy value\nReference,Qty,Value\n"C1,C2",2,1u\n'
    first, second = read(tmp_path, data)
    assert (first.sheet, len(first)) == (None, 2)
    assert (second.sheet, second.columns[0]) == ("By value", ["C1,C2"])
    assert second.header_row == 6


def test_rows_quoted_whole_are_taken_apart_with_a_note(tmp_path):
    data = 'Part,Value,X-loc,Y-loc,Turn\n"C1,""1u"",1.5,2.5,90"\n"C2,""1u"",3.5,2.5,0"\n'
    table = one(tmp_path, data)
    assert rows_of(table)[0] == ("C1", "1u", "1.5", "2.5", "90")
    assert "quoted whole" in sentence(table.notes[0].said)


def test_inch_marks_inside_quoted_cells_lose_no_row(tmp_path):
    data = (
        'Ref,Comment,X,Y\n"C1","1u","1.5","2.5"\n"J1","strip, 0.1"","3.5","2.5"\n'
        '"J2","0.1" strip","4.5","2.5"\n"J3","a 0.1"","2.5","3.5"\n"C2","1u","5.5","2.5"\n'
    )
    table = one(tmp_path, data)
    assert table.columns[0] == ["C1", "J1", "J2", "J3", "C2"]
    assert table.columns[1][1] == 'strip, 0.1"'
    assert table.columns[2] == ["1.5", "3.5", "4.5", "2.5", "5.5"]
    assert list(table.row_numbers) == [2, 3, 4, 5, 6]


def test_tab_and_comma_together_both_part_cells(tmp_path):
    data = "Ref,Value\tX,Y\tRot,Side\nC1,1u\t1.5,2.5\t90,top\nC2,1u\t3.5,2.5\t0,top\n"
    table = one(tmp_path, data)
    assert table.delimiter == "tab and comma"
    assert rows_of(table)[1] == ("C2", "1u", "3.5", "2.5", "0", "top")


def test_decimal_commas_do_not_part_the_cells_of_a_tab_table(tmp_path):
    table = one(tmp_path, "Ref\tX\tY\tRot\nC1\t1,5\t2,5\t90\nC2\t3,5\t2,5\t0\n")
    assert table.delimiter == "tab"
    assert table.decimal == ","


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (("1.5", "2.25"), "."),
        (("1,5", "2,25"), ","),
        (("0,125", "2,250"), ","),
        (("1,234", "2,250"), None),
        (("1234", "2250"), None),
        (("1.5", "2,25"), None),
    ],
)
def test_the_decimal_mark_is_stated_only_where_cells_prove_it(tmp_path, cells, mark):
    table = one(tmp_path, "Ref;X;Y\n" + "".join(f"C{n};{c};{c}\n" for n, c in enumerate(cells)))
    assert table.decimal == mark


@pytest.mark.parametrize("bad", [b"%PDF-1.7 ...", b"\x89PNG\r\n\x1a\n....", b"\x1f\x8b\x08...", b"", b"\n\n \n"])
def test_what_is_no_table_is_refused_with_a_remedy(tmp_path, bad):
    with pytest.raises(InputError) as error:
        read(tmp_path, bad)
    assert error.value.problems[0].remedy


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(InputError, match=str(tmp_path)):
            read_tables(path)


REFERENCE = st.from_regex(r"[CRLUQD][1-9][0-9]{0,3}", fullmatch=True)
WORD = st.text("abcdefghijkmnopqrstuvwxyzABC0123456789-_.%", min_size=1, max_size=12).filter(
    lambda t: not t.startswith(("-", "_", ".")) and any(c.isalpha() for c in t)
)
AWKWARD = st.text('abcXYZ019 ,;|\t"', min_size=1, max_size=14).map(str.strip).filter(lambda t: t and t[0].isalpha())
NUMBER = st.decimals(-400, 400, places=3).map(str)
COLUMNS = {
    "ref": ("RefDes", "Designator", "Bauteilbezeichner", "Repère", "リファレンス"),
    "value": ("Value", "Wert", "Valeur", "値"),
    "x": ("Middle X", "X [mm]", "X-loc", "Position X", "座標X"),
    "y": ("Middle Y", "Y [mm]", "Y-loc", "Position Y", "座標Y"),
    "rotation": ("Rotation", "Winkel", "Angle", "角度"),
}


@given(data=st.data())
@settings(max_examples=sample_size(150))
def test_a_table_written_in_any_form_is_read_back_cell_by_cell(tmp_path, data):
    draw = data.draw
    refs = draw(st.lists(REFERENCE, min_size=3, max_size=12, unique=True))
    quoted = draw(st.booleans())
    values = draw(st.lists(AWKWARD if quoted else WORD, min_size=len(refs), max_size=len(refs)))
    numbers = [draw(st.lists(NUMBER, min_size=len(refs), max_size=len(refs))) for _ in range(3)]
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    if delimiter != "," and draw(st.booleans()):
        numbers = [[n.replace(".", ",") for n in column] for column in numbers]
    k = draw(st.integers(0, 4))
    header = [names[k % len(names)] for names in COLUMNS.values()]
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"]))
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    preamble = draw(st.lists(st.sampled_from(["Board Lantern", "made by hand", "", "# a remark"]), max_size=12))
    rows = [refs, values, *numbers]

    def cell(value: str) -> str:
        return '"' + value.replace('"', '""') + '"' if quoted else value

    lines = [*preamble, delimiter.join(map(cell, header))]
    lines += [delimiter.join(map(cell, row)) for row in zip(*rows, strict=True)]
    whole = end.join(lines) + draw(st.sampled_from(["", end]))
    table = one(tmp_path, whole.encode(encoding))
    assert list(table.header) == header
    assert table.columns == rows
    assert list(table.row_numbers) == list(range(len(preamble) + 2, len(preamble) + 2 + len(refs)))


def test_decimal_commas_between_cells_parted_by_commas_are_an_error_and_not_a_guess(tmp_path):
    with pytest.raises(InputError, match=r"7 cells where the header has 5.*decimal"):
        read(tmp_path, "Ref,X,Y,Rot,Side\nC1,12,5,7,25,90,top\nC2,3,5,7,5,0,top\nR1,1,5,9,25,0,top\n")


def test_values_with_points_do_not_hide_decimal_commas_of_coordinates(tmp_path):
    table = one(tmp_path, "Ref;Val;X;Y\nC1;0.1u;12,5;7,25\nC2;4.7u;3,5;7,5\n")
    assert table.decimal == ","


def large(rows: int) -> list[list[str]]:
    return [[f"C{n}", f"v{n % 7}", f"{n}.5", f"{n % 90}.25", str(n % 4 * 90), "top"] for n in range(rows)]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("tail", ["", "\n", "\n# end\n", "\n\nTotal,9000,,,,\n"])
def test_a_large_file_is_read_like_a_small_one(tmp_path, end, tail):
    rows = large(9000)
    whole = end.join(["made by hand", ",".join(HEADER), *(",".join(row) for row in rows)]) + tail
    table = one(tmp_path, whole.encode())
    assert table.header == HEADER
    assert rows_of(table) == [tuple(row) for row in rows]
    assert list(table.row_numbers) == list(range(3, 9003))


@pytest.mark.parametrize("at", sample_of([3, 1499, 1500, 4000, 8799, 8800, 8999], 2))
@pytest.mark.parametrize(
    ("odd", "data"),
    [
        ("", False),
        ("# a remark,,,,,", False),
        (",".join(HEADER), False),
        ("Total,9000,,,,", False),
        (",,,,,", False),
        ("C99999,v,1.5", True),
        ('"C99999","a,b",1.5,2.5,0,top', True),
        ("C99999,v,1.5,2.5,0,top,more,and more", True),
    ],
)
def test_an_odd_row_anywhere_in_a_large_file_is_seen(tmp_path, at, odd, data):
    lines = [",".join(HEADER), *(",".join(row) for row in large(9000))]
    lines.insert(at, odd)
    table = one(tmp_path, "\n".join(lines))
    assert len(table) == 9000 + data
    assert (at + 1 in table.row_numbers) is data
    assert [a.place.row for a in table.set_aside] == ([1] if data else [1, at + 1])
    assert table.columns[0][at - 1 if data else at - 2] == ("C99999" if data else f"C{at - 2}")


def quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"'


@pytest.mark.parametrize("columns", [range(6), [1, 5]])
@pytest.mark.parametrize("value", ["10k, 1 %", "", 'a "good" one', "two\nlines", '0.5"'])
@pytest.mark.parametrize("at", sample_of([700, 4000, 8950], 1))
def test_a_large_file_with_quotes_is_read_as_csv_reads_it(tmp_path, columns, value, at):
    rows = large(9000)
    rows[at][1] = value
    lines = [",".join(HEADER)]
    lines += [",".join(quoted(c) if k in columns else c for k, c in enumerate(row)) for row in rows]
    table = one(tmp_path, "\n".join(lines))
    assert rows_of(table) == [tuple(row) for row in rows]
    beyond = "\n" in value
    assert [table.row_numbers[k] for k in (at, at + 1, 8999)] == [
        at + 2,
        at + 3 + beyond,
        9001 + (beyond and at < 8999),
    ]


@given(st.integers(1, 8998), st.text("C1,\"' x", max_size=12))
@settings(max_examples=sample_size(12))
def test_a_row_with_stray_quotes_in_a_large_file_is_read_as_in_a_small_one(tmp_path_factory, at, odd):
    """The rows around it, by which quotes are mended, are the same in both."""
    folder = tmp_path_factory.mktemp("quotes")
    lines = [",".join(HEADER), *(",".join(row) for row in large(9000))]
    lines[at] = f"C99999,{odd},1.5,2.5,0,top"
    whole, few = "\n".join(lines), "\n".join([lines[0], *lines[max(1, at - 30) : at + 30]])
    small = dict(zip(one(folder, few).columns[0], rows_of(one(folder, few)), strict=True))
    big = dict(zip(one(folder, whole).columns[0], rows_of(one(folder, whole)), strict=True))
    assert big.get("C99999") == small.get("C99999")


def test_a_large_file_without_header_is_read(tmp_path):
    table = one(tmp_path, "\n".join(",".join(row) for row in large(9000)))
    assert table.header == ()
    assert len(table) == 9000


def test_rows_too_long_and_too_short_that_even_out_are_seen(tmp_path):
    lines = [",".join(HEADER), *(",".join(row) for row in large(9000))]
    lines[4000] += ",more"
    lines[5000] = lines[5000].rsplit(",", 1)[0]
    table = one(tmp_path, "\n".join(lines))
    assert table.columns[6][3999] == "more"
    assert table.columns[5][4999] == ""
    assert table.columns[0][-1] == "C8999"


def test_a_comma_within_its_quotes_parts_no_cells(tmp_path):
    """Found by the property test above: every row holds one quoted cell with a comma at its end."""
    file = tmp_path / "t.csv"
    file.write_text('C1;"X,";0.000;0.000\nD1;"X,";0.000;0.000\nL1;"X,";0.000;0.000\n')
    (table,) = read_tables(file)
    assert table.columns[0] == ["C1", "D1", "L1"]
    assert table.columns[1] == ["X,", "X,", "X,"]


@pytest.mark.parametrize(("delimiter", "value"), [(";", 'X,,,,"'), ("\t", 'X;"')])
def test_a_quote_beside_another_delimiter_is_part_of_a_cell_that_is_quoted_by_the_rule(tmp_path, delimiter, value):
    """Found by the property test above: such cells were taken for broken ones, and the other delimiter was chosen."""
    rows = [["C1", "X", "0.5", "1.5", "90"], ["C2", value, "2.5", "3.5", "0"], ["L1", value, "4.5", "5.5", "0"]]
    header = ["RefDes", "Value", "Middle X", "Middle Y", "Rotation"]
    table = one(tmp_path, "\n".join(delimiter.join(map(quoted, row)) for row in [header, *rows]))
    assert rows_of(table) == [tuple(row) for row in rows]


@pytest.mark.parametrize(
    "line",
    [
        "3 parts placed",
        "3 components on the top side",
        "Number of parts: 3",
        "Total placements = 3",
        "Page 2 of 7",
        "Seite 2",
    ],
)
def test_counts_and_headings_of_pages_are_set_apart(tmp_path, line):
    rows = "\n".join(",".join(row) for row in (HEADER, *ROWS))
    for table in (one(tmp_path, f"{rows}\n{line}\n"), one(tmp_path, f"{rows}\n{line},,,,,\n")):
        assert len(table) == 3
        assert table.set_aside[-1].text.strip() == line


def test_a_line_that_counts_something_to_buy_is_data(tmp_path):
    table = one(
        tmp_path, "Item,Qty,Reference,Value,Part number\n1,2,R1 R2,10k,PN-1\n,5,,Parts kit,\n,4,,Rows of pins,\n"
    )
    assert len(table) == 3


def test_thousands_beside_smaller_numbers_leave_the_decimal_mark_clear(tmp_path):
    rows = "".join(f"C{n};{n}.{n}50,5;{n % 9},25\n" for n in range(1, 9)).replace("1.150,5", "150,5")
    table = one(tmp_path, "Ref;X [mil];Y [mil]\n" + rows)
    assert table.decimal == ","
    table = one(tmp_path, "Ref;X [mil];Y [mil]\nC1;1,150.5;2.25\nC2;950.5;3.25\n")
    assert table.decimal == "."


def test_a_table_between_pipes_with_a_ruled_line_is_read(tmp_path):
    text = "| Ref | X (mm) | Rot |\n|:----|-------:|-----|\n| C1  |   12.5 | 90  |\n| C2  |   -3.5 | 180 |\n"
    table = one(tmp_path, text)
    assert "C1" in table.columns[1]
    assert [sentence(aside.reason) for aside in table.set_aside] == ["header", "ruled line"]


@pytest.mark.parametrize(
    ("torn", "value"),
    [("C9,10u, 16V,chip,7.5,2.5,90,Top", "10u,16V"), ("C9,a,b,c,chip,7.5,2.5,90,Top", "a,b,c")],
)
def test_a_delimiter_inside_a_cell_without_quotes_does_not_move_the_coordinates(tmp_path, torn, value):
    rows = [f"C{n},1u,chip,{n}.5,2.5,90,Top" for n in range(1, 9)]
    table = one(tmp_path, "\n".join(["Ref,Value,Package,X (mm),Y (mm),Rotation,Side", *rows, torn, *rows]))
    assert [column[8] for column in table.columns] == ["C9", value, "chip", "7.5", "2.5", "90", "Top"]
    (note,) = table.notes
    assert note.place.row == 10
    assert "put together" in sentence(note.said)


def test_a_row_with_more_cells_behind_its_last_stays_as_it_is(tmp_path):
    rows = [f"C{n},1u,chip,{n}.5,2.5,90,Top" for n in range(1, 9)]
    torn = "C9,1u,chip,7.5,2.5,90,Top,more"
    table = one(tmp_path, "\n".join(["Ref,Value,Package,X (mm),Y (mm),Rotation,Side", *rows, torn]))
    assert table.columns[7][8] == "more"
    assert table.columns[3][8] == "7.5"


def test_commas_in_names_do_not_outweigh_the_tabs_that_part_all_rows(tmp_path):
    """Parted at commas too, most rows would have two more columns of numbers, and the first two none."""
    rows = [f"J{n}\t{12 + n}.50\t0.67\t90\tSOCKET-{n}\tS-{n}" for n in (1, 2)]
    rows += [f"TP{n}\t{28 + n}.25\t{60 - n}.75\t180\tPAD1,27\tP1,27" for n in range(1, 20)]
    table = one(tmp_path, "\n".join(rows))
    assert table.delimiter == "tab"
    assert len(table) == 21


def test_without_a_header_rows_of_another_width_at_the_top_are_data_too(tmp_path):
    rows = ["C1,1.5,2.5,90", *(f"C{n},{n}.5,{n}.25,90,top" for n in range(2, 9))]
    table = one(tmp_path, "placed by hand\n" + "\n".join(rows))
    assert table.columns[0][0] == "C1"
    assert [aside.text for aside in table.set_aside] == ["placed by hand"]


def _quoted(line: str) -> str:
    return '"' + line.replace('"', '""') + '"'


@pytest.mark.parametrize(
    "wrap",
    [
        _quoted,
        lambda line: _quoted(_quoted(line)),
        lambda line: _quoted(line) + ",,",
        lambda line: f" {_quoted(line)} ",
        lambda line: _quoted(",".join(map(_quoted, line.split(",")))),
        lambda line: '"' + ",".join(map(_quoted, line.split(","))) + '"',
        lambda line: _quoted(line.replace(",", ";")),
        lambda line: _quoted(line.replace(",", "\t")),
        lambda line: f"'{line}'",
    ],
)
@pytest.mark.parametrize("above", [(), ("Placements of a board",)])
def test_rows_wrapped_whole_in_quotes_are_read(tmp_path, wrap, above):
    lines = [",".join(row) for row in (HEADER, *ROWS)]
    table = one(tmp_path, "\n".join([*above, *map(wrap, lines)]) + "\n")
    assert table.header == HEADER
    assert rows_of(table) == list(ROWS)
    assert any("quoted whole" in sentence(note.said) for note in table.notes)


def test_a_heading_that_names_a_column_anew_is_no_part(tmp_path):
    """A list goes on with other goods below a heading, and one of the old titles stands over the new prices."""
    rows = "Refs,Value,MPN,Count,Price each,Price with tax\nC1,100n,QK-52,1,0.1,0.2\n{}\nFrame,,,1,3,4\n"
    for heading in ("Mechanics,,,,Price with tax,", "Mechanics,,,Price tax,,", "Mechanics,,,Count,,"):
        table = one(tmp_path, rows.format(heading))
        assert table.columns[0] == ["C1", "Frame"], heading
        assert [sentence(a.reason) for a in table.set_aside][-1:] == ["title or remark, not a part"]
    for part in ("Solder paste,,,as required,,", "TP,,,Count,1,", "R4,,,Count,,", "Label,,,,tax,", "Nut M3,,,Count,,"):
        assert len(one(tmp_path, rows.format(part))) == 3, part
