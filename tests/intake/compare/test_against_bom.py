"""Placements against the BOM: what is missing, counted wrongly or named twice comes out as a record.

Figures: invented, or the digits of the text.
"""

import numpy as np
import pytest

from capcheck.intake.compare.against_bom import fitted_by_both, fitted_or_not, join
from capcheck.intake.read import read_package
from capcheck.intake.tables.fitted import FittedColumn
from capcheck.lexicon import sentence
from capcheck.model import BomLine, Kind, Placements

PLACED = "Ref,X (mm),Y (mm),Rotation,Side,Footprint\n"
BOM = "Item,Quantity,Reference,Value,Package,Part number\n"


@pytest.fixture
def found(tmp_path):
    def read(placements, bom):
        one, two = tmp_path / "p.csv", tmp_path / "bom.csv"
        one.write_text(PLACED + placements, encoding="utf-8")
        two.write_text(BOM + bom, encoding="utf-8")
        package = read_package(None, placements=[one], bom=two)
        by_kind = {}
        for d in package.discrepancies:
            by_kind.setdefault(d.title, []).append(d)
        return package, by_kind

    return read


R1 = "R1,1,1,0,top,R-0603\n"
R2 = "R2,5,1,0,top,R-0603\n"
C1 = "C1,9,1,0,top,C-0603\n"


def test_what_agrees_gives_no_record(found):
    package, kinds = found(R1 + R2 + C1, '1,2,"R1,R2",10k,0603,PN-1\n2,1,C1,1u,0603,PN-2\n')
    assert kinds == {}
    assert (package.placements.bom_line >= 0).all()
    assert package.placements.bom_line.tolist() == [0, 0, 1]


def test_a_placement_without_bom_line(found):
    package, kinds = found(R1 + R2 + C1, "1,1,R1,10k,0603,PN-1\n2,1,C1,1u,0603,PN-2\n")
    (record,) = kinds["not in BOM"]
    assert (record.refs, record.place.row, record.severity) == (("R2",), 3, "stop")
    assert (package.placements.bom_line >= 0).tolist() == [True, False, True]


def test_fiducials_holes_and_test_points_are_not_missed_in_the_bom(found):
    _, kinds = found(
        R1 + "FID1,3,3,0,top,MARK\nTP4,4,4,0,top,PAD\nH1,8,8,0,top,mounting hole\n", "1,1,R1,10k,0603,PN-1\n"
    )
    assert "not in BOM" not in kinds


def test_what_is_no_part_needs_no_part_number(found):
    """A list that prints every designator has a line for the copper of a solder bridge too."""
    bridge = "SJ1,3,3,0,top,SOLDERJUMPER\n"
    listed = "1,1,R1,10k,0603,PN-1\n2,1,R2,10k,0603,\n3,1,SJ1,SOLDERJUMPER,SOLDERJUMPER,\n"
    _, kinds = found(R1 + R2 + bridge, listed)
    assert [record.refs for record in kinds["no part number"]] == [("R2",)]


def test_a_bom_reference_without_placement(found):
    _, kinds = found(R1, '1,1,R1,10k,0603,PN-1\n2,2,"J1,J2",conn,TH,PN-9\n')
    (record,) = kinds["not placed"]
    assert (record.refs, record.place.row) == (("J1", "J2"), 3)


def test_case_does_not_part_a_reference_from_its_line(found):
    package, kinds = found(R1, "1,1,r1,10k,0603,PN-1\n")
    assert kinds == {}
    assert (package.placements.bom_line >= 0).all()


def test_a_quantity_that_disagrees(found):
    _, kinds = found(R1 + R2 + C1, '1,3,"R1,R2",10k,0603,PN-1\n2,1,C1,1u,0603,PN-2\n')
    (record,) = kinds["quantity"]
    assert (record.place.row, sentence(record.said)) == (2, "the quantity says 3, the line lists 2")


def test_quantities_of_the_whole_order_are_one_record(found):
    _, kinds = found(
        R1 + R2 + C1 + "L1,13,1,0,top,L-1210\n",
        '1,20,"R1,R2",10k,0603,PN-1\n2,10,C1,1u,0603,PN-2\n3,10,L1,1u,1210,PN-3\n',
    )
    assert "quantity" not in kinds
    assert "10 times" in sentence(kinds["quantity of the order"][0].said)


def test_one_reference_on_two_lines(found):
    _, kinds = found(R1 + R2, '1,2,"R1,R2",10k,0603,PN-1\n2,1,R2,11k,0603,PN-2\n')
    (record,) = kinds["on two BOM lines"]
    assert record.refs == ("R2",)
    assert "PN-1 and PN-2" in sentence(record.said)


def test_two_references_at_one_spot(found):
    _, kinds = found(
        R1 + "R2,1.02,1.03,0,top,R-0805\n" + "C1,1,1,0,bottom,C-0603\n", '1,2,"R1,R2",10k,,PN-1\n2,1,C1,1u,,PN-2\n'
    )
    (record,) = kinds["one spot"]
    assert (record.refs, record.severity) == (("R1", "R2"), "stop")


def test_what_the_bom_lacks_is_not_said_to_be_marked_as_fitted(found):
    _, kinds = found(R1 + "R2,1.02,1.03,0,top,R-0805\n", "1,1,R1,10k,,PN-1\n")
    (record,) = kinds["one spot"]
    assert "marked as fitted" not in sentence(record.said)


def test_alternates_of_which_one_is_fitted_are_advice(found):
    _, kinds = found(R1 + "R2,1,1,0,top,R-0805\n", "1,1,R1,10k,,PN-1\n2,0,R2,10k,,PN-1\n")
    assert kinds["one spot"][0].severity == "advice"


def test_parts_just_further_apart_are_not_at_one_spot(found):
    _, kinds = found(R1 + "R2,1.051,1,0,top,R-0603\n", '1,2,"R1,R2",10k,0603,PN-1\n')
    assert "one spot" not in kinds


def test_one_part_number_with_two_footprints(found):
    _, kinds = found(R1 + "R2,5,1,0,top,R-0805\n", '1,2,"R1,R2",10k,,PN-1\n')
    (record,) = kinds["one number, two footprints"]
    assert set(record.refs) == {"R1", "R2"}


def test_one_value_and_footprint_with_two_part_numbers_costs_feeders(found):
    _, kinds = found(R1 + R2, "1,1,R1,10k,0603,PN-1\n2,1,R2,10K,0603,PN-2\n")
    (record,) = kinds["one value, several numbers"]
    assert record.severity == "advice"


def test_a_word_for_a_value_is_none_that_one_part_number_would_serve(found):
    """Two part numbers of ``lamp`` differ in what the word leaves out, such as the colour."""
    _, kinds = found(
        "D1,1,1,0,top,D-0603\nD2,5,1,0,top,D-0603\n", "1,1,D1,lamp,0603,XQ9901-01\n2,1,D2,lamp,0603,XQ9901-02\n"
    )
    assert "one value, several numbers" not in kinds


def test_missing_and_generic_numbers_are_asked_for(found):
    _, kinds = found(R1 + R2 + C1, "1,1,R1,10k,0603,PN-1\n2,1,R2,11k,0603,\n3,1,C1,1u,0603,100n 0402\n")
    assert kinds["no part number"][0].refs == ("R2",)
    assert kinds["generic part number"][0].refs == ("C1",)


def test_descriptions_instead_of_numbers_are_one_record_and_no_types_to_merge(found):
    _, kinds = found(R1 + R2 + C1, "1,1,R1,10k,0603,10k 0603\n2,1,R2,10k,0603,10k 1%\n3,1,C1,1u,0603,1u\n")
    (record,) = kinds["generic part number"]
    assert record.refs == ("R1", "R2", "C1")
    assert '3 lines describe a part and give no part number: "10k 0603" of R1' in sentence(record.said)
    assert set(kinds) == {"generic part number"}


def test_lines_of_one_part_without_placements_are_one_record(found):
    _, kinds = found(R1, '1,1,R1,10k,0603,PN-1\n2,1,J1,,,PN-J\n3,2,"J2,J3",,,PN-J\n4,1,J4,,,PN-K\n')
    assert [(d.refs, d.place.row) for d in kinds["not placed"]] == [(("J1", "J2", "J3"), 3), (("J4",), 5)]


def test_a_line_without_any_name_is_told_without_an_empty_pair_of_brackets(found):
    _, kinds = found(R1, "1,1,R1,10k,0603,PN-1\n2,1,J1,,,PN-J\n3,1,J4,,,\n")
    named, nameless = (sentence(record.said) for record in kinds["not placed"])
    assert named.startswith("in the BOM (PN-J) but not in the placements")
    assert nameless.startswith("in the BOM but not in the placements")


@pytest.mark.parametrize("nothing", ["n.a.", "-", "N/A"])
def test_a_line_whose_part_number_is_a_sign_for_none_is_told_by_its_value(found, nothing):
    _, kinds = found(R1, f"1,1,R1,10k,0603,PN-1\n2,1,JP9,bridge,,{nothing}\n")
    (record,) = kinds["not placed"]
    assert "(bridge)" in sentence(record.said)


def test_names_in_words_without_placements_are_not_told_by_a_bare_number(found):
    _, kinds = found(R1, "1,1,R1,10k,0603,PN-1\n2,1,lid of plastic,1,,\n3,1,plate of steel,1,,\n")
    (record,) = kinds["not placed"]
    assert record.refs == ("lid of plastic", "plate of steel")
    assert "(1)" not in sentence(record.said)


@pytest.mark.parametrize("name", ["SOCKET_999", "Bolts-M9x99mm"])
def test_the_quantity_of_a_name_that_is_no_designator_is_not_counted(found, name):
    _, kinds = found(R1, f"1,1,R1,10k,0603,PN-1\n2,2,{name},,,\n")
    assert "quantity" not in " ".join(kinds)


def test_a_part_that_is_not_placed_is_not_asked_about_twice(tmp_path):
    """Who places it is asked; the column that says fitted, and the text that says not, are no second question."""
    one, two = tmp_path / "p.csv", tmp_path / "bom.csv"
    one.write_text(PLACED + R1, encoding="utf-8")
    two.write_text("Reference,Value,Populate,Part number\nR1,10k,yes,PN-1\nJP9,DNP,yes,PN-2\n", encoding="utf-8")
    titles = {d.title for d in read_package(None, placements=[one], bom=two).discrepancies if "JP9" in d.refs}
    assert titles == {"not placed"}


def test_a_name_without_a_number_is_not_counted(found):
    _, kinds = found(R1, "1,1,R1,10k,0603,PN-1\n2,8,feet,,,PN-F\n3,4,J1,,,PN-J\n4,2,screws M2 for the lid,,,PN-S\n")
    assert [d.refs for d in kinds["quantity"]] == [("J1",)]


def test_not_fitted_parts_are_not_asked_about(found):
    package, kinds = found(R1 + R2, "1,1,R1,10k,0603,PN-1\n2,1,R2,DNP,0603,\n")
    assert kinds == {}
    assert package.placements.fitted.tolist() == [True, False]


def test_two_libraries_names_of_one_chip_are_no_two_footprints(found):
    placed = "R1,1,1,0,top,R0603\nR2,9,1,0,top,RC0603_A\nR3,19,1,0,top,R0805\n"
    _, kinds = found(placed, '1,2,"R1,R2",10k,,PN-1\n2,1,R3,10k,,PN-2\n')
    assert "one number, two footprints" not in kinds
    _, kinds = found(placed, '1,3,"R1,R2,R3",10k,,PN-{1}\n')
    (record,) = kinds["one number, two footprints"]
    assert "part number PN-{1} has 3 footprints: R0603 (R1), RC0603_A (R2), R0805 (R3)" in sentence(record.said)


def test_a_reference_twice_at_one_place_is_one_record(found):
    _, kinds = found(R1 + R2 + R1, '1,2,"R1,R2",10k,,PN-1\n')
    assert set(kinds) == {"one reference twice"}


def test_a_word_that_stands_on_two_lines_is_no_reference_twice(found):
    _, kinds = found(R1, "1,1,R1,10k,0603,PN-1\n2,4,screws,,,PN-S\n3,2,screws,,,PN-T\n")
    assert "on two BOM lines" not in kinds


def test_lines_fitted_by_column_and_not_by_text_are_one_advice(tmp_path):
    (tmp_path / "p.csv").write_text(PLACED + R1 + R2 + C1)
    (tmp_path / "bom.csv").write_text(
        "Reference,Value,Package,Part number,Fitted\n"
        "R1,10k,0603,PN-1,yes\nR2,11k DNF,0603,PN-2,yes\nC1,1u (DNP),0603,PN-3,yes\n"
    )
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    (record,) = [d for d in package.discrepancies if d.title == "fitted against a text"]
    assert (record.refs, record.place.row, record.severity) == (("R2", "C1"), 3, "advice")
    assert package.placements.fitted.all()


def flags(text):
    return np.array([c == "1" for c in text])


def test_placements_and_bom_that_contradict_each_other_keep_the_part_and_are_told_either_way():
    refs = ["R1", "R2", "R3", "R4", "R5"]
    lines = [
        BomLine(("R1", "R3"), "PN-1", stated_fitted=True),
        BomLine(("R2", "R4"), "PN-2", fitted=False),
        BomLine(("R5",), "PN-3"),
    ]
    # By the placements: R1 no, R2 yes, R3 yes, R4 and R5 without a word, of which R5 has the value DNP.
    said = FittedColumn(flags("01110"), stated=flags("01100"), by_word=flags("00001"))
    both = fitted_by_both([said], join(refs, lines, unique=True), lines)
    assert both.fitted.tolist() == [True, True, True, False, True]
    none = np.full(5, -1)
    placed = Placements(
        ref=refs,
        x_mm=np.zeros(5),
        y_mm=np.zeros(5),
        rotation_deg=np.zeros(5),
        side=np.zeros(5, dtype=np.int8),
        kind=np.full(5, Kind.PART, dtype=np.int8),
        fitted=both.fitted,
        file=np.zeros(5, dtype=np.int64),
        row=np.arange(2, 7),
        bom_line=none,
        part_type=none,
        files=["p.csv"],
    )
    found = fitted_or_not(placed, both)
    assert [(d.title, d.refs, d.place.row, d.severity) for d in found] == [
        ("fitted or not", ("R1",), 2, "stop"),
        ("fitted or not", ("R5",), 6, "stop"),
        ("fitted or not", ("R2",), 3, "stop"),
    ]
    assert "fitted according to the BOM, not fitted according to the placement file" in sentence(found[0].said)
    settled = both.without(flags("11001"))
    assert (settled.fitted.tolist(), fitted_or_not(placed, settled)) == ([False, False, True, False, False], [])


def test_without_a_bom_the_placements_say_what_is_fitted():
    both = fitted_by_both([FittedColumn(flags("1")), FittedColumn(flags("0"))], None, ())
    assert both.fitted.tolist() == [True, False]
    assert not any(rows.any() for rows in both.disputed.values())


VALUED = "Ref,Value,X (mm),Y (mm),Rotation,Side,Footprint\nR1,{},1,1,0,top,R-0603\nR2,11k,5,1,0,top,R-0603\n"


@pytest.mark.parametrize(
    "word", ["DNP", "n.b.", "NC", "N/C", "not fitted", "nicht bestückt", "10k DNP", "未実装", "non monté"]
)
@pytest.mark.parametrize("bought", ["R1,10k,0603,PN-1", "R1,10k,,", "R1,,0603,PN-1"])
def test_a_word_in_the_placements_against_a_part_that_the_bom_lists_is_asked_about(tmp_path, word, bought):
    (tmp_path / "p.csv").write_text(VALUED.format(word), encoding="utf-8")
    (tmp_path / "bom.csv").write_text(f"Reference,Value,Package,Part number\n{bought}\nR2,11k,0603,PN-2\n")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    (record,) = [d for d in package.discrepancies if d.title == "fitted or not"]
    assert (record.refs, record.severity) == (("R1",), "stop")
    assert package.placements.fitted.all()


@pytest.mark.parametrize("word", ["DNP", "n.b.", "not fitted", "未実装"])
def test_a_word_in_place_of_the_value_of_a_part_that_is_bought_and_placed_is_asked_about(tmp_path, word):
    (tmp_path / "p.csv").write_text(VALUED.format("10k"))
    bom = f"Reference,Value,Package,Part number,Quantity\nR1,{word},0603,PN-1,1\nR2,11k,0603,PN-2,1\n"
    (tmp_path / "bom.csv").write_text(bom, encoding="utf-8")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert [d.refs for d in package.discrepancies if d.title == "fitted or not"] == [("R1",)]
    assert package.placements.fitted.all()


@pytest.mark.parametrize("bom", ["R1,10k DNP,0603,PN-1", "R1,DNP,,", "R1,NC,0603,"])
def test_words_that_both_have_are_no_question(tmp_path, bom):
    (tmp_path / "p.csv").write_text(VALUED.format(bom.split(",")[1]))
    (tmp_path / "bom.csv").write_text(f"Reference,Value,Package,Part number\n{bom}\nR2,11k,0603,PN-2\n")
    package = read_package(None, placements=[tmp_path / "p.csv"], bom=tmp_path / "bom.csv")
    assert not [d for d in package.discrepancies if d.title == "fitted or not"]


@pytest.mark.parametrize("nothing", ["?", "N/A", "-", "tbd", "xxx"])
def test_parts_that_share_a_sign_for_no_part_number_are_not_one_part(found, nothing):
    """They would stand on one feeder, and be ordered in one sum."""
    package, kinds = found(R1 + R2 + C1, f"1,1,R1,10k,0603,{nothing}\n2,1,R2,22k,0603,{nothing}\n3,1,C1,1u,0603,PN-1\n")
    types = package.types
    assert [(t.part_number, t.value) for t in types] == [("", "10k"), ("", "22k"), ("PN-1", "1u")]
    assert [record.refs for record in kinds["no part number"]] == [("R1", "R2")]
