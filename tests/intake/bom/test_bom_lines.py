"""Bills of materials: references, fitted or not, sizes with their place, sheets and repeated lists.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.bom.lists_of_parts import read_bom_tables
from capcheck.intake.tables import Recognised, read_tables
from capcheck.lexicon import sentence
from capcheck.values.errors import InputError


@pytest.fixture
def read(tmp_path):
    def write(text, **options):
        path = tmp_path / "bom.csv"
        path.write_text(text, encoding="utf-8")
        return read_bom_tables([Recognised(t) for t in read_tables(path)], named={}, **options)

    return write


HEADER = "Item,Quantity,References,Value,Package,Part number\n"


def test_lines_with_lists_ranges_and_line_breaks(read):
    reading = read(HEADER + '1,3,"R1, R2,R3",10k,0603,PN-1\n2,4,C1-C4,1u,0603,PN-2\n3,2,"L1\nL2",2u2,1210,PN-3\n')
    assert [line.refs for line in reading.lines] == [("R1", "R2", "R3"), ("C1", "C2", "C3", "C4"), ("L1", "L2")]
    assert [line.row for line in reading.lines] == [2, 3, 4]
    assert [line.quantity for line in reading.lines] == [3, 4, 2]
    assert reading.lines[0].part_number == "PN-1"


@pytest.mark.parametrize(
    ("header", "yes", "no"),
    [
        ("Fitted", "yes", "no"),
        ("Fitted", "Fitted", "Not fitted"),
        ("DNP", "", "x"),
        ("DNP", "no", "yes"),
        ("DNP", "", "DNP"),
        ("Populate", "1", "0"),
        ("Assembly", "Mount", "DNP"),
        ("Bestückt", "ja", "nein"),
        ("Do not populate", "", "1"),
    ],
)
def test_a_fitted_column_in_either_sense(read, header, yes, no):
    reading = read(
        f"Item,Qty,Reference,Value,{header}\n1,1,R1,10k,{yes}\n2,1,R2,11k,{no}\n3,1,R3,12k,{yes}\n4,1,R4,13k,{no}\n"
    )
    assert [line.fitted for line in reading.lines] == [True, False, True, False]


@pytest.mark.parametrize(
    "cells", ["0,R2,10k,0603,PN-2", "1,R2,DNP,0603,PN-2", "1,R2,10k DNP,0603,PN-2", "1,R2,10k,0603,DNP"]
)
def test_not_fitted_by_quantity_value_or_part_number(read, cells):
    assert [line.fitted for line in read(HEADER + "1,1,R1,10k,0603,PN-1\n2," + cells + "\n").lines] == [True, False]


def test_nc_is_a_note_and_stays_fitted(read):
    reading = read(HEADER + "1,1,R1,NC,0603,PN-1\n2,1,R2,10k,0603,PN-2\n")
    assert reading.lines[0].fitted
    assert any('"NC" of R1' in sentence(n.said) and n.place.row == 2 for n in reading.notes)


def test_sizes_keep_their_place(read):
    reading = read(
        "Reference,Value,Part number,Height (mm),Length (mm),Mass (g)\n"
        "L1,10u,PN-1,4.1,5.0,\nJ1,conn,PN-2,12.5±0.2,30,3\n"
    )
    height, place = reading.lines[1].dimensions["height"]
    assert (height.low, height.high) == pytest.approx((12.3, 12.7))
    assert place.endswith("bom.csv:3 height")
    assert "mass" not in reading.lines[0].dimensions
    assert reading.lines[1].dimensions["mass"][0].low == 3.0


def test_each_of_two_rows_with_the_same_sizes_has_its_own_place(read):
    lines = read("Reference,Part number,Height (mm)\nL1,PN-1,4.1\nJ1,PN-2,4.1\n").lines
    assert [line.dimensions["height"][1].rpartition("/")[2] for line in lines] == [
        "bom.csv:2 height",
        "bom.csv:3 height",
    ]


def test_all_bad_sizes_are_reported_together(read):
    with pytest.raises(InputError) as caught:
        read("Reference,Value,Part number,Height (mm)\nL1,10u,PN-1,high\nJ1,conn,PN-2,low\nJ2,conn,PN-3,3 g\n")
    assert [(p.where.row, p.where.column) for p in caught.value.problems] == [(k, "height") for k in (2, 3, 4)]


def test_a_height_of_zero_is_not_a_height(read):
    assert read("Reference,Value,Part number,Height (mm)\nL1,10u,PN-1,0\nL2,1u,PN-2,3\n").lines[0].dimensions == {}


def test_several_variants_are_an_open_decision_until_one_is_named(read):
    text = "Reference,Value,Part number,Qty basic,Qty full\nR1,1k,PN-1,1,1\nR2,2k,PN-2,0,1\n"
    reading = read(text)
    assert [d.topic for d in reading.decisions if d.open] == ["variant"]
    named = read(text, variant="Qty full")
    assert named.decisions == ()
    assert [line.fitted for line in named.lines] == [True, True]
    assert [line.fitted for line in read(text, variant="Qty basic").lines] == [True, False]


def test_a_variant_that_is_named_counts_whatever_its_title(read):
    text = "Reference,Value,Part number,Variant A,Build 7\nR1,1k,PN-1,yes,no\nR2,2k,PN-2,no,yes\nR3,3k,PN-3,yes,DNP\n"
    assert [line.fitted for line in read(text, variant="Build 7").lines] == [False, True, False]
    assert [line.fitted for line in read(text, variant="Variant A").lines] == [True, False, True]


def test_of_a_named_variant_the_columns_of_the_others_ask_nothing(read):
    text = "Reference,Value,Part number,Variant A,Variant B\nR1,1k,PN-1,yes,no\nR2,2k,PN-2,no,yes\nR3,3k,PN-3,yes,yes\n"
    assert any(line.asked for line in read(text).lines)
    named = read(text, variant="Variant B")
    assert [line.fitted for line in named.lines] == [False, True, True]
    assert not [line for line in named.lines if line.asked]


def test_the_same_list_grouped_anew_is_not_read_twice(read):
    reading = read(
        "Parts:\n\nItem,Qty,Reference,Value,Footprint\n1,1,R1,10k,R-0603\n2,1,R2,10k,R-0603\n3,1,C1,1u,C-0603\n"
        '\nGrouped parts:\n\nItem,Qty,Reference,Value,Footprint\n1,2,"R1,R2",10k,R-0603\n2,1,C1,1u,C-0603\n'
    )
    assert sum(len(line.refs) for line in reading.lines) == 3


def test_no_row_is_lost(tmp_path):
    path = tmp_path / "bom.csv"
    path.write_text(
        HEADER + "1,1,R1,10k,0603,PN-1\n,,,,,\n2,0,,,,\n3,1,R2,10k,0603,PN-1\nTotal,2,,,,\n", encoding="utf-8"
    )
    tables = read_tables(path)
    reading = read_bom_tables([Recognised(t) for t in tables], named={})
    assert len(reading.lines) + len(reading.set_aside) == sum(t.total_rows for t in tables)
    assert all(s.reason for s in reading.set_aside)


def test_a_bom_without_references_is_an_error_that_says_what_to_do(read):
    with pytest.raises(InputError) as caught:
        read("Item,Quantity,References,Value,Part number\n1,1,,10k,PN-1\n2,3,,11k,PN-2\n")
    assert "[columns.bom]" in str(caught.value)


def test_further_part_numbers_that_differ_are_named(read):
    text = "References,Quantity,MPN 1,MPN 2,Supplier part number\nR1,1,PN-1,PN-9,S-1\nR2,1,PN-2,,S-2\n"
    (note,) = [sentence(n.said) for n in read(text).notes if "part number" in sentence(n.said)]
    assert note == '"MPN 1" is taken as the part number; "MPN 2" states others: which one is bought?'
    assert not [n for n in read(text.replace("PN-9", "PN-1")).notes if "others: which" in sentence(n.said)]


def test_words_alone_in_a_row_are_a_remark_and_no_line(read):
    reading = read(HEADER + "1,1,R1,10k,0603,PN-1\n1,,No parts stay off,,,\n")
    assert len(reading.lines) == 1
    assert reading.set_aside[-1].text == "No parts stay off"


@pytest.mark.parametrize(
    "cells", ["R2,10k DNF,", 'R2,10k,"chip, do not populate in variant B"', "R2,10k,replaces DNP part"]
)
def test_a_cell_that_says_fitted_wins_over_words_and_the_line_is_marked(read, cells):
    reading = read(f"References,Value,Description,Part number,Fitted\nR1,10k,,PN-1,yes\n{cells},PN-2,yes\n")
    assert [(line.fitted, line.contradicted) for line in reading.lines] == [(True, False), (True, True)]


def test_words_count_with_a_note_where_the_cell_is_blank(read):
    reading = read("References,Value,Part number,Fitted\nR1,10k,PN-1,yes\nR2,10k DNF,PN-2,\nR3,10k DNF,PN-3,no\n")
    assert [line.fitted for line in reading.lines] == [True, False, False]
    assert [n.place.row for n in reading.notes if sentence(n.said).startswith("R2: not fitted by a word")] == [3]


def test_a_quantity_of_nought_does_not_lose_a_line_that_a_cell_calls_fitted(read):
    reading = read("References,Value,Quantity,Fitted\nR1,10k,1,yes\nR2,10k,0,yes\nR3,10k,0,\n")
    assert [line.fitted for line in reading.lines] == [True, True, False]


@pytest.mark.parametrize("word", ["fitted", "populate", "place", "Mount", "placed", "bestückt", "no", "0", "", "-"])
def test_below_dnp_these_words_mean_fitted(read, word):
    (line, _) = read(f"References,Value,DNP\nR1,10k,{word}\nR2,10k,x\n").lines
    assert line.fitted


@pytest.mark.parametrize("word", ["yes", "x", "1", "true", "dnp", "not fitted", "ja", "✓"])
def test_below_dnp_these_words_mean_not_fitted(read, word):
    (line, _) = read(f"References,Value,DNP\nR1,10k,{word}\nR2,10k,fitted\n").lines
    assert not line.fitted


def test_ok_below_dnp_is_fitted_with_a_note(read):
    reading = read("References,Value,DNP\nR1,10k,ok\nR2,10k,x\n")
    assert [line.fitted for line in reading.lines] == [True, False]
    assert any('"DNP" has "ok"' in sentence(note.said) for note in reading.notes)


HEAD = 'Reference,Qty,Value,Part Number\n"R1, R2",2,10k,RA-10K\nC1,1,100n,CB-100N\n'


@pytest.mark.parametrize(
    "line",
    [
        "Approved by,J. Doe,,2031-05-01",
        "Prepared by:,,A. Smith,",
        "Date,2031-05-01,,",
        "Version,1.2,,",
        "Revision,,B,",
        "Author,,A. Smith,",
        "COMPANY,,Widget Works,",
        "Geprüft,,Müller,",
        "Erstellt am,01.05.2031,,",
        "Vérifié par,,Dupont,",
        "审核,,,",
        ",,Prepared by,A. Smith",
        "Notes: all parts RoHS,,,see drawing",
    ],
)
def test_a_line_about_the_document_is_no_part(read, line):
    reading = read(HEAD + line + "\n" + line + "\n")
    assert [line.refs for line in reading.lines] == [("R1", "R2"), ("C1",)]
    assert len({apart.place.row for apart in reading.set_aside} - {1}) == 2


@pytest.mark.parametrize(
    "line", ["PCB,1,bare board,PC-100", "feet,4,rubber,FT-4", "Date1,1,x,DA-1", "Board,1,bare board,PC-7"]
)
def test_what_is_bought_below_the_list_stays_a_line(read, line):
    assert len(read(HEAD + line + "\nApproved by,J. Doe,,\n").lines) == 3


def test_a_line_like_a_footer_above_a_reference_stays_a_line(read):
    assert (
        len(read("Reference,Qty,Value,Part Number\nR1,1,10k,RA-10K\nBoard,,bare,PC-7\nC1,1,100n,CB-100N\n").lines) == 3
    )


@pytest.mark.parametrize("title", ["Part", "Part No", "Part #", "Part Number", "Artikel-Nr.", "P/N"])
@pytest.mark.parametrize(
    "numbers", ["123", ("001", "002", "003"), ("1.", "2.", "3."), ("10", "20", "30"), "321", "113", "135"]
)
def test_numbers_of_items_are_no_part_numbers(read, title, numbers):
    rows = zip(numbers, ("R1", "C1", "U1"), ("10k", "100n", "driver"), strict=True)
    text = f"{title},Reference,Qty,Value\n" + "".join(f"{n},{ref},1,{value}\n" for n, ref, value in rows)
    assert [(line.part_number, line.value) for line in read(text).lines] == [("", "10k"), ("", "100n"), ("", "driver")]


def test_part_numbers_that_are_whole_numbers_stay_part_numbers(read):
    text = "Part Number,Reference,Qty,Value\n40711,R1,1,10k\n40712,C1,1,100n\n39005,U1,1,driver\n"
    assert [line.part_number for line in read(text).lines] == ["40711", "40712", "39005"]


def test_a_makers_number_is_taken_where_another_column_counts_items(read):
    text = "Part No,Reference,Qty,Value,MPN\n1,R1,1,10k,RA-10K\n2,C1,1,100n,CB-100N\n"
    assert [line.part_number for line in read(text).lines] == ["RA-10K", "CB-100N"]


@pytest.mark.parametrize(
    ("surface", "drilled"),
    [
        ("SMT", "Thru-hole"),
        ("smd", "tht"),
        ("Surface Mount", "Through Hole"),
        ("SMD", "bedrahtet"),
        ("CMS", "Traversant"),
    ],
)
@pytest.mark.parametrize("title", ["Type", "Part Type", "Technology", "Comp Type"])
def test_how_a_part_is_mounted_is_not_its_value(read, title, surface, drilled):
    text = f"Reference,Qty,{title},Part Number\nR1,1,{surface},RA-10K\nC1,1,{surface},CB-100N\nJ1,1,{drilled},JC-4\n"
    lines = read(text).lines
    assert [line.value for line in lines] == ["", "", ""]
    assert [line.mounting for line in lines] == [surface, surface, drilled]
