"""Lists and ranges of references are expanded, names that look like ranges are not torn apart.

Figures: invented, or the digits of the text.
"""

import pytest
from hypothesis import given, strategies as st

from capcheck.intake.tables.references import expand_references, prefix_of, without_footnotes


@pytest.mark.rows(
    ("text", "refs"),
    [
        ("R1, R2 R3", ["R1", "R2", "R3"]),
        ("R1\nR2;R3", ["R1", "R2", "R3"]),
        ("R1-R5", ["R1", "R2", "R3", "R4", "R5"]),
        ("R1..R3", ["R1", "R2", "R3"]),
        ("R1–R3", ["R1", "R2", "R3"]),
        ("R1:R3", ["R1", "R2", "R3"]),
        ("R1 : R3; C4", ["R1", "R2", "R3", "C4"]),
        ("R1：R3", ["R1", "R2", "R3"]),
        ("R1→R3", ["R1", "R2", "R3"]),
        ("R(1-3)", ["R1", "R2", "R3"]),
        ("R[1..3]", ["R1", "R2", "R3"]),
        ("R[1:3], C2", ["R1", "R2", "R3", "C2"]),
        ("R{1,3}", ["R1", "R3"]),
        ("R(1-3, 7)", ["R1", "R2", "R3", "R7"]),
        ("J1:4", ["J1:4"]),
        ("U1:A", ["U1:A"]),
        ("R1 - R3, R7", ["R1", "R2", "R3", "R7"]),
        ("R1 to R3", ["R1", "R2", "R3"]),
        ("R1 thru R3", ["R1", "R2", "R3"]),
        ("R1 TO R3", ["R1", "R2", "R3"]),
        ("R1 AND R3", ["R1", "R3"]),
        ("R1 à R3", ["R1", "R2", "R3"]),
        ("R1 t/m R3", ["R1", "R2", "R3"]),
        ("C1-3", ["C1", "C2", "C3"]),
        ("C1,2,3", ["C1", "C2", "C3"]),
        ("R1,3-5", ["R1", "R3", "R4", "R5"]),
        ("R08-R10", ["R08", "R09", "R10"]),
        ("U1A-U1C", ["U1A", "U1B", "U1C"]),
        ("CR3P1-CR3P3", ["CR3P1", "CR3P2", "CR3P3"]),
        ("R1/R2", ["R1", "R2"]),
        ("R1, R2 (2)", ["R1", "R2"]),
        ("TP-1", ["TP-1"]),
        ("J1-1", ["J1-1"]),
        ("J10-2", ["J10-2"]),
        ("R1_2, R1_3", ["R1_2", "R1_3"]),
        ("BT+", ["BT+"]),
        ("3", ["3"]),
        ("R1、R2", ["R1", "R2"]),
        ("C1+C2", ["C1", "C2"]),
        ("C1 + C2", ["C1", "C2"]),
        ("C1&C2", ["C1", "C2"]),
        ("C1 & C2", ["C1", "C2"]),
        ("C1 and C2", ["C1", "C2"]),
        ("C1 u. C2", ["C1", "C2"]),
        ("C1, C2 plus C3-C5", ["C1", "C2", "C3", "C4", "C5"]),
        ("C1 as well as C2", ["C1", "C2"]),
        ("C1 ainsi que C2", ["C1", "C2"]),
        ("C1和C2", ["C1", "C2"]),
        ("(C1, C2)", ["C1", "C2"]),
        ("C1; C2.", ["C1", "C2"]),
        ("D+1", ["D+1"]),
        ("U1(A)", ["U1(A)"]),
        ("R1-R4 (except R3)", ["R1", "R2", "R4"]),
        ("R1-R4 except R2 and R3", ["R1", "R4"]),
        ("R1-R4 ohne R3", ["R1", "R2", "R4"]),
        ("R1-R4 außer R3", ["R1", "R2", "R4"]),
        ("R1-R4; C5 (excl. R2)", ["R1", "R3", "R4", "C5"]),
        ("R1-R6 excluding R2-R4", ["R1", "R5", "R6"]),
        ("R1-R4 sauf R3", ["R1", "R2", "R4"]),
        ("R1-R4 excepto R3", ["R1", "R2", "R4"]),
        ("R1-R4 tranne R3", ["R1", "R2", "R4"]),
        ("R1-R4 (R3除く)", ["R1", "R2", "R4"]),
        ("R1-R3 except R2, R7", ["R1", "R3", "R7"]),
        ("", []),
        (" , ", []),
    ],
)
def test_references_are_expanded(text, refs):
    assert expand_references(text) == (refs, [])


def test_a_name_of_the_placement_data_is_no_range():
    assert expand_references("J1-2", {"J1-2"}) == (["J1-2"], [])
    assert expand_references("J1-2")[0] == ["J1", "J2"]


def test_a_range_between_two_kinds_of_reference_is_complained_of():
    refs, complaints = expand_references("R1-C3")
    assert refs == ["R1", "C3"]
    assert "R1-C3" in complaints[0]


def test_a_range_of_a_million_is_refused_at_once():
    refs, complaints = expand_references("R1-R1000000")
    assert refs == []
    assert "1000000" in complaints[0]


@given(
    st.lists(st.tuples(st.sampled_from(["R", "C", "LED", "CR3P"]), st.integers(1, 999)), min_size=1, max_size=30),
    st.sampled_from([", ", ",", " ", ";", "\n", " , ", "; "]),
)
def test_any_separator_gives_the_same_references(parts, separator):
    refs = [f"{letters}{number}" for letters, number in parts]
    assert expand_references(separator.join(refs)) == (refs, [])


@given(
    st.sampled_from(["R", "C", "LED"]),
    st.integers(1, 500),
    st.integers(1, 50),
    st.sampled_from(["-", "–", "..", " - "]),
)
def test_a_range_holds_all_between_its_ends(letters, first, more, dash):
    refs, _ = expand_references(f"{letters}{first}{dash}{letters}{first + more}")
    assert refs == [f"{letters}{n}" for n in range(first, first + more + 1)]


def test_the_letters_of_a_reference():
    assert [prefix_of(r) for r in ("R12", "led3", "TP-1", "1", "R_2")] == ["R", "LED", "TP", "", "R"]


@pytest.mark.rows(
    ("text", "refs"),
    [
        ("R 1, R 2, R 10", ["R1", "R2", "R10"]),
        ("SW 1", ["SW1"]),
        ("R1 to R3", ["R1", "R2", "R3"]),
        ("R1 and R3", ["R1", "R3"]),
        ("R1, R2 & R3", ["R1", "R2", "R3"]),
        ("R1, R2, und R3", ["R1", "R2", "R3"]),
        ("C 1, 2, 3", ["C1", "C2", "C3"]),
    ],
)
def test_letters_and_number_may_stand_apart(text, refs):
    assert expand_references(text) == (refs, [])


@pytest.mark.rows(
    ("text", "refs"),
    [
        ("screws for the lid", ["screws for the lid"]),
        ("QRS Holder", ["QRS Holder"]),
        ("GND VCC", ["GND", "VCC"]),
        ("(Maker, PP15), power, connector", ["(Maker, PP15), power, connector"]),
        ("- Screws", ["- Screws"]),
        ("feet", ["feet"]),
        ("BTN, POT, TEMP", ["BTN", "POT", "TEMP"]),
        ("R1, R2, spare", ["R1", "R2", "spare"]),
    ],
)
def test_words_are_the_name_of_one_thing_and_no_list(text, refs):
    assert expand_references(text) == (refs, [])


def test_words_that_are_placed_are_references():
    assert expand_references("button, lamp", {"button", "lamp"}) == (["button", "lamp"], [])


@pytest.mark.rows(
    ("text", "refs"),
    [
        ("R65_D..R68_D", "R65_D R66_D R67_D R68_D"),
        ("R65_D - R67_D", "R65_D R66_D R67_D"),
        ("R65_D to R67_D, C1", "R65_D R66_D R67_D C1"),
        ("R65_D bis R67_D", "R65_D R66_D R67_D"),
        ("R65_D…67_D", "R65_D R66_D R67_D"),
        ("R65.1-R67.1", "R65.1 R66.1 R67.1"),
        ("R65-D..R67-D", "R65-D R66-D R67-D"),
        ("R65A–R67A", "R65A R66A R67A"),
        ("R65_CH1..R67_CH1", "R65_CH1 R66_CH1 R67_CH1"),
        ("R1_1..R3_1", "R1_1 R2_1 R3_1"),
        ("R1_1-R1_3", "R1_1 R1_2 R1_3"),
        ("R65_A..R65_C", "R65_A R65_B R65_C"),
        ("R01_L..R03_L", "R01_L R02_L R03_L"),
    ],
)
def test_a_range_with_a_suffix_is_expanded(text, refs):
    assert expand_references(text) == (refs.split(), [])


def test_suffixes_that_differ_make_no_range():
    assert expand_references("R65_D..R68_E")[0] == ["R65_D..R68_E"]


def test_a_list_that_stands_for_countless_references_is_refused():
    text = "; ".join(f"R{i * 1000}..R{i * 1000 + 999}" for i in range(3000))
    refs, complaints = expand_references(text)
    assert refs == []
    assert "more than 20,000 references" in complaints[0]


@pytest.mark.parametrize(
    "text", ["R1-R" + "9" * 4999, "R1-" + "9" * 5000, "C1..C1" + "4" * 4400, "R5000000000-R5000000003"]
)
def test_a_range_of_numbers_that_no_board_has_is_a_complaint(text):
    refs, complaints = expand_references(text)
    assert refs == []
    assert len(complaints[0]) < 100


@pytest.mark.rows(
    ("written", "plain"),
    [
        ("J1*", "J1"),
        ("J1 *", "J1"),
        ("J1**, J2", "J1, J2"),
        ("J1†", "J1"),
        ("J1¹", "J1"),
        ("J1*)", "J1"),
        ("*J1", "J1"),
        ("R1*-R4*", "R1-R4"),
        ("D+1", "D+1"),
        ("A*B", "A*B"),
        ("REF**", "REF**"),
        ("G***", "G***"),
    ],
)
def test_marks_of_footnotes_are_no_part_of_a_reference(written, plain):
    assert without_footnotes(written) == plain


def test_a_reference_that_is_known_keeps_its_mark():
    assert without_footnotes("J1*", {"J1*"}) == "J1*"
