"""Which texts take a part off the board plainly, and which hold words that may speak of something else."""

import pytest

from capcheck.intake.tables.fitting_remarks import Remark, TextColumn, remark_in


@pytest.mark.rows(
    "text",
    [
        "replaces Q7 (not fitted)",
        "Socket not fitted",
        "Socket: not fitted",
        "heat sink, not mounted on the board",
        "load switch no load current 1 uA",
        "DNP resistor R2",
        "R2: DNP",
        "R2 -> DNP",
        "was DNP",
        "no longer DNP",
        "DNP if R2 fitted",
        "only DNP in variant B",
        "do not fit before test",
        "Kühlkörper aus Alu nicht montiert",
        "Ersetzt R9, nicht bestückt",
        "Radiateur non monté",
        "zócalo no montado",
        "zoccolo non montato",
        "ソケット未実装",
        "代替Q7(未実装)",
        "插座不贴",
        "不可不贴",
    ],
)
@pytest.mark.rows("column", list(TextColumn))
def test_a_phrase_about_something_else_takes_nothing_off_the_board(text, column):
    assert remark_in(text, ["R1"], column) is Remark.DOUBTED


@pytest.mark.rows(
    "text",
    [
        "DNP",
        "(DNP)",
        "do not populate",
        "this part is not fitted",
        "100n DNP",
        "capacitor 100 nF D.N.P. X7R",
        "resistor 10k 1 %, not fitted",
        "resistor 10k (no montar)",
        "CAP CER 10uF 0603 DNP",
        "R1 not fitted",
        "R1 nicht bestückt",
        "DNP: R1",
        "未実装",
        "不贴装",
    ],
)
def test_a_phrase_of_its_own_or_beside_the_value_is_plain(text):
    assert remark_in(text, ["R1"]) is Remark.PLAIN


@pytest.mark.rows(
    "text", ["open drain", "open frame", "do not remove", "NC7S08", "no-clean flux", "leave flux residues", ""]
)
@pytest.mark.rows("column", list(TextColumn))
def test_other_words_say_nothing_of_fitting(text, column):
    assert remark_in(text, ["R1"], column) is Remark.NOTHING


def test_letters_beside_a_name_are_about_the_part_and_within_a_number_are_not():
    assert remark_in("LED green DNP", ["D1"], TextColumn.NAME) is Remark.PLAIN
    assert remark_in("LED green DNP", ["D1"]) is Remark.DOUBTED
    assert remark_in("DNP-12", ["D1"], TextColumn.NUMBER) is Remark.DOUBTED


@pytest.mark.rows(
    "text", ["never omit", "do not omit", "not DNP", "must not be omitted", "nie unbestückt lassen", "jamais non monté"]
)
@pytest.mark.rows("column", list(TextColumn))
def test_a_denial_of_not_fitted_says_nothing_that_is_open(text, column):
    assert remark_in(text, ["R1"], column) is Remark.NOTHING


@pytest.mark.parametrize("text", ["do not omit unless DNP", "was not, is now DNP", "do not fit; never omit R2"])
def test_a_denial_beside_other_words_for_not_fitted_is_open(text):
    assert remark_in(text, ["R1"], TextColumn.TEXT) is Remark.DOUBTED
