"""Rows that speak of others: a title over parts not fitted, a row that continues a list, text marks of spreadsheets.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.intake.read import read_package
from capcheck.lexicon import sentence
from capcheck.model import Topic

PLACED = "Ref,Value,Footprint,X (mm),Y (mm),Rotation,Side\n" + "".join(
    f"R{k},10k,0603,{3 * k},{k % 3},0,top\n" for k in range(1, 13)
)
HEADER = "Item,Qty,References,Value,Part number\n"


@pytest.fixture
def read(tmp_path):
    def write(bom):
        (tmp_path / "p.csv").write_text(PLACED)
        (tmp_path / "b.csv").write_text(bom, encoding="utf-8")
        return read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "b.csv")

    return write


LINES = '1,8,"R1,R2,R3,R4,R5,R6,R7,R8",10k,PN-1\n'
OFF = '2,2,"R9,R10",10k,PN-2\n3,2,"R11,R12",10k,PN-3\n'


@pytest.mark.parametrize(
    "title",
    [
        "Not fitted:",
        "DNP",
        "DNP,,,,",
        ",,DNP parts,,",
        "Do not populate the following components",
        "Nicht bestückt",
        "N.B.",
        "DNP list",
        "Not fitted (DNP):",
        "--- Not fitted ---",
        "# DNP",
        "*** DNP ***",
        "Liste der nicht bestückten Teile",
        "Non monté :",
        "Liste des composants non montés",
        "Lista de componentes no montados:",
        "未実装部品",
        "不贴装元件:",
    ],
)
def test_lines_below_a_title_that_says_not_fitted_stay_off_with_a_note(read, title):
    package = read(HEADER + LINES + f"{title}\n" + OFF)
    assert [line.fitted for line in package.bom] == [True, False, False]
    (note,) = [n for n in package.notes if "taken as not fitted" in sentence(n.said)]
    assert sentence(note.said).startswith("the 2 lines below")
    assert note.place.row == 3
    assert int(package.placements.fitted.sum()) == 8


def test_a_further_title_ends_what_stays_off(read):
    package = read(HEADER + "Not fitted:\n" + LINES + "Resistors:\n" + OFF)
    assert [line.fitted for line in package.bom] == [False, True, True]


@pytest.mark.parametrize(
    "rows",
    ['"R9, R10"\n"R11, R12"\n', "R9, R10\nR11, R12\n", "R9-R12\n", "R9\nR10\nR11\nR12\n", ",,R9 R10 R11 R12,,\n"],
)
def test_references_alone_below_such_a_title_stay_off(read, rows):
    package = read(HEADER + LINES + "Not fitted:\n" + rows)
    assert sorted(r for r, fit in zip(package.placements.ref, package.placements.fitted, strict=True) if not fit) == [
        "R10",
        "R11",
        "R12",
        "R9",
    ]


@pytest.mark.parametrize(
    "title",
    [
        '"Not fitted: R9, R10"',
        "Nicht bestückt:,,R9 R10,,",
        "Do not populate R9 R10",
        "DNP: R9-R10",
        "Non monté : R9 et R10",
        "未実装: R9, R10",
    ],
)
def test_a_title_may_name_what_stays_off_itself(read, title):
    package = read(HEADER + LINES + OFF.replace('2,2,"R9,R10",10k,PN-2\n', "") + f"{title}\n")
    assert [r for r, fit in zip(package.placements.ref, package.placements.fitted, strict=True) if not fit] == [
        "R9",
        "R10",
    ]


@pytest.mark.parametrize("below", ["Not fitted:\nR9\n", "Not fitted: R9\n", "DNP list,,,,\n9,1,R9,10k,PN-2\n"])
def test_a_part_that_is_bought_above_such_a_title_and_named_below_is_asked_about(read, below):
    package = read(HEADER + LINES + OFF + below)
    assert [d.refs for d in package.discrepancies if d.title == "on two BOM lines"] == [("R9",)]
    assert package.placements.fitted.all()


@pytest.mark.parametrize("remark", ["Parts marked DNP are not fitted", "Resistors", "All notes see drawing 17"])
def test_a_remark_turns_nothing_off(read, remark):
    assert all(line.fitted for line in read(HEADER + LINES + f"{remark}\n" + OFF).bom)


@pytest.mark.parametrize(
    "rows",
    [
        '1,12,"R1,R2,R3,R4,R5,R6,",10k,PN-1\n,,"R7,R8,R9,R10,R11,R12",,\n',
        "1,12,R1,10k,PN-1\n" + "".join(f",,R{k},,\n" for k in range(2, 13)),
        "1,,R1-R6,10k,PN-1\n,,R7-R12,,\n",
    ],
)
def test_a_row_of_references_alone_continues_the_line_above(read, rows):
    package = read(HEADER + rows)
    (line,) = package.bom
    assert line.refs == tuple(f"R{k}" for k in range(1, 13))
    assert package.discrepancies == []
    assert any("the references of the line above" in sentence(note.said) for note in package.notes)


def test_a_line_whose_quantity_is_reached_is_not_continued(read):
    package = read(HEADER + '1,11,"R1-R11",10k,PN-1\n,,R12,,\n')
    assert [line.refs[-1] for line in package.bom] == ["R11", "R12"]
    assert [d.refs for d in package.discrepancies if d.title == "no part number"] == [("R12",)]


def test_a_list_of_nothing_but_references_stays_a_list_of_lines(read):
    package = read("References,Quantity\n" + "".join(f"R{k},\n" for k in range(1, 13)))
    assert len(package.bom) == 12


def test_the_apostrophe_that_marks_text_is_no_part_of_a_number(read):
    package = read("References,Qty,Value,Package,Part number\nR1-R12,12,10k,'0603,'0012345\n")
    assert (package.bom[0].part_number, package.bom[0].package) == ("0012345", "0603")


@pytest.mark.parametrize(
    "cell",
    [
        "R1, R2, NF(R9, R10)",
        "R1, R2, NF (R9,R10)",
        "R1 R2 NF(R9 R10)",
        "DNP(R9, R10), R1, R2",
        "R1, R2; DNP: R9, R10",
        "R1, R2\nDNP: R9, R10",
        "R1, R2, R9(DNP), R10(NF)",
        "R1, R2, R9 [DNL], R10 [DNL]",
        "R1, R2, R9-R10 (not fitted)",
        "R1, R2, R9 DNP, R10 DNP",
        "R1, R2, R9/NF, R10/NF",
        "R1-R2, NI(R9-R10)",
        "R1, R2, n.b.(R9, R10)",
        "R1, R2, non monté (R9, R10)",
        "R1, R2, 未実装(R9, R10)",
        "R1, R2, 不贴(R9, R10)",
    ],
)
def test_a_remark_among_the_references_takes_its_own_off_the_board(read, cell):
    package = read(HEADER + f'1,4,"{cell}",10k,PN-1\n' + '2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2\n')
    off = {ref for line in package.bom if not line.fitted for ref in line.refs}
    assert off == {"R9", "R10"}
    assert {ref for line in package.bom if line.fitted for ref in line.refs} == {f"R{k}" for k in range(1, 13)} - off
    assert int(package.placements.fitted.sum()) == 10
    assert not [d for d in package.discrepancies if d.topic == "quantity"]
    assert any("takes them off the board" in sentence(note.said) for note in package.notes)


@pytest.mark.parametrize(
    "remark",
    [
        "NF(R9, R10)",
        "10k NF(R9,R10)",
        "DNP: R9, R10",
        "DNP R9 R10",
        "R9, R10 DNP",
        "R9 and R10 are not fitted",
        "do not fit R9, R10",
        "R9-R10 (DNI)",
        "R9 und R10 nicht bestücken",
        "R9 et R10 non montés",
        "no montar R9 y R10",
        "non montare R9 e R10",
        "R9、R10は未実装".replace("、", ", ").replace("は", " "),
        "R9, R10 不贴",
    ],
)
def test_a_text_of_a_line_takes_those_off_that_it_names(read, remark):
    package = read(
        "Item,Qty,References,Value,Part number,Comment\n"
        f'1,4,"R1,R2,R9,R10",10k,PN-1,"{remark}"\n'
        '2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n'
    )
    assert {ref for line in package.bom if not line.fitted for ref in line.refs} == {"R9", "R10"}
    assert int(package.placements.fitted.sum()) == 10


@pytest.mark.parametrize("remark", ["DNP", "R1, R2, R9, R10 not fitted", "not fitted"])
def test_a_text_that_names_all_or_none_takes_the_line_off(read, remark):
    package = read(
        "Item,Qty,References,Value,Part number,Comment\n"
        f'1,4,"R1,R2,R9,R10",10k,PN-1,"{remark}"\n'
        '2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n'
    )
    assert int(package.placements.fitted.sum()) == 8


@pytest.mark.parametrize(
    "remark",
    [
        "replaces Q7 (not fitted)",
        "Socket not fitted",
        "DNP resistor R3",
        "Sockel nicht bestückt",
        "radiateur non monté",
    ],
)
@pytest.mark.parametrize("bought", ["1,4,{},10k,PN-1", "1,4,{},10k,", "1,,{},10k,PN-1"])
def test_a_remark_about_something_else_is_asked_about_and_takes_nothing_off(read, remark, bought):
    line = bought.format('"R1,R2,R9,R10"')
    header = "Item,Qty,References,Value,Part number,Description\n"
    package = read(header + f'{line},"{remark}"\n2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n')
    assert package.placements.fitted.all()
    assert [d.refs for d in package.discrepancies if d.title == "fitted or not"] == [("R1", "R2", "R9", "R10")]


@pytest.mark.parametrize("remark", ["R9 was DNP", "früher unbestückt: R9", "DNP R9 if R1 fitted"])
def test_a_remark_that_is_turned_takes_none_of_the_references_off(read, remark):
    header = "Item,Qty,References,Value,Part number,Description\n"
    package = read(header + f'1,3,"R1,R2,R9",10k,PN-1,"{remark}"\n2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n')
    assert package.placements.fitted[:2].all()
    assert package.placements.fitted[8]
    assert [d.refs for d in package.discrepancies if d.title == "fitted or not"] == [("R1", "R2", "R9")]


def test_a_quantity_of_nought_takes_a_line_off_whatever_its_texts_speak_of(read):
    header = "Item,Qty,References,Value,Part number,Description\n"
    package = read(header + '1,0,"R1,R2",10k,PN-1,Socket not fitted\n2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n')
    assert not package.placements.fitted[:2].any()
    assert not [d for d in package.discrepancies if d.title == "fitted or not"]


@pytest.mark.parametrize(("maker", "fitted"), [("NI", True), ("NS", True), ("NP", True), ("DNP", False)])
def test_a_makers_short_name_takes_nothing_off_the_board(read, maker, fitted):
    package = read(
        "Item,Qty,References,Value,Part number,Manufacturer\n"
        f'1,4,"R1,R2,R9,R10",10k,PN-1,{maker}\n2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,Some\n'
    )
    assert package.bom[0].fitted is fitted


@pytest.mark.parametrize("remark", ["never omit", "never omit R9", "not DNP", "nie unbestückt: R9"])
def test_a_remark_that_denies_not_fitted_takes_nothing_off_and_asks_nothing(read, remark):
    header = "Item,Qty,References,Value,Part number,Description\n"
    package = read(header + f'1,3,"R1,R2,R9",10k,PN-1,"{remark}"\n2,8,"R3,R4,R5,R6,R7,R8,R11,R12",10k,PN-2,\n')
    assert package.placements.fitted[[0, 1, 8]].all()
    assert not [d for d in package.discrepancies if d.title == "fitted or not"]


@pytest.mark.parametrize("none", ["", "-", "none", "not used", "0"])
def test_two_counts_of_which_one_names_none_are_open(read, none):
    lines = "".join(f"R{k},1,{none if k == 2 else 1},10k,PN-{k}\n" for k in (1, 2, 3))
    found = read(f"References,Qty A,Qty B,Value,Part number\n{lines}").decisions
    assert [decision.open for decision in found if decision.topic is Topic.VARIANT] == [True]
