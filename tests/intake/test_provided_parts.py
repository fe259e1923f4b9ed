"""Parts that the customer provides: read from the BOM's words or board.toml, not bought, not asked for their number.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import json

import pytest

from capcheck.checking import check, read_board
from capcheck.lexicon.sorts import LANGUAGES, language
from capcheck.report.questions import questions

ROWS = ["U1,10,10,0,top,,SOIC-8", "U2,30,10,0,top,,SOIC-8", "R1,50,10,0,top,10k,0805"]


def provided(make_board, comment, *, toml="", title="Comment"):
    bom = [f"Ref,Part number,Value,{title}", f"U1,W-1,,{comment}", "U2,W-2,,", "R1,W-3,10k,"]
    return dict(read_board(make_board(ROWS, bom=bom, toml=toml)).provided)


@pytest.mark.parametrize(
    "text", ["consigned", "Free issue", "customer supplied", "supplied by the customer", "CUSTOMER-FURNISHED part"]
)
def test_a_text_says_who_provides_a_part(make_board, text):
    assert provided(make_board, text) == {"U1": text}


@pytest.mark.parametrize(
    "text", ["not consigned", "no free issue", "consigned if out of stock", "customer logo", "issue 3"]
)
def test_a_text_that_turns_it_or_speaks_of_something_else_says_nothing(make_board, text):
    assert provided(make_board, text) == {}


@pytest.mark.parametrize(("cell", "found"), [("yes", {"U1": "Consigned: yes"}), ("no", {}), ("", {})])
def test_a_column_of_such_a_title_is_read_by_its_answers(make_board, cell, found):
    assert provided(make_board, cell, title="Consigned") == found


@pytest.mark.parametrize("name", LANGUAGES)
def test_each_word_of_each_language_is_known(make_board, name):
    for word in language(name).supplies.provided.listed:
        text = word.replace("*", "")
        assert provided(make_board, f'"{text}"') == {"U1": text}, word


def test_board_toml_goes_before_the_words_of_the_bom(make_board):
    assert provided(make_board, "consigned", toml='bought = ["U1"]\n') == {}
    assert provided(make_board, "", toml='provided = ["U1-U2"]\n') == dict.fromkeys(("U1", "U2"), "board.toml")


def asked(board, shop):
    return {q.key: q for q in questions(check(board, line=shop / "lines" / "full.line.toml"))}


def test_what_the_words_say_is_confirmed_once(make_board, shop):
    bom = ["Ref,Part number,Value,Comment", "U1,W-1,,consigned", "U2,W-2,,", "R1,W-3,10k,"]
    assert asked(make_board(ROWS, bom=bom), shop)["provided"].refs == ("U1",)
    assert "provided" not in asked(make_board(ROWS, bom=bom, toml='provided = ["U1"]\n'), shop)
    assert "provided" not in asked(make_board(ROWS, bom=bom, toml='bought = ["U1"]\n'), shop)


@pytest.mark.parametrize("text", ["consigned", "Free issue", "customer supplied", "RoHS, consigned"])
def test_whether_such_a_part_is_fitted_is_no_question(make_board, shop, text):
    bom = ["Ref,Part number,Value,Comment", f'U1,W-1,,"{text}"', "U2,W-2,,", "R1,W-3,10k,"]
    found = asked(make_board(ROWS, bom=bom), shop)
    assert "provided" in found
    assert not [key for key in found if key.startswith("row-in-question")]
    # A word beside it that leaves its fitting open is still asked about.
    bom[1] = f'U1,W-1,,"{text}, optional"'
    assert [key for key in asked(make_board(ROWS, bom=bom), shop) if key.startswith("row-in-question")]


def test_nobody_is_asked_for_the_number_of_a_part_that_is_not_bought(make_board, shop):
    bom = ["Ref,Part number,Value,Comment", "U1,,opamp,", "U2,,opamp,", "R1,W-3,10k,"]
    assert set(asked(make_board(ROWS, bom=bom), shop)["part-number-missing"].every) == {"U1", "U2"}
    found = asked(make_board(ROWS, bom=bom, toml='provided = ["U1"]\n'), shop)
    assert set(found["part-number-missing"].every) == {"U2"}
    assert "part-number-missing" not in asked(make_board(ROWS, bom=bom, toml='provided = ["U1", "U2"]\n'), shop)


def test_what_is_provided_is_not_ordered_and_still_listed(make_board, run):
    bom = ["Ref,Part number,Value,Comment", "U1,W-1,,consigned", "U2,W-1,,", "R1,W-3,10k,consigned"]
    board = make_board(ROWS, bom=bom)
    code, out, _ = run("lists", "order", board, "--boards", 10, "--format", "json")
    assert code == 0
    data = json.loads(out)
    rows = {row["part_number"]: row for row in data["rows"]}
    assert rows["W-3"]["to_order"] == 0
    assert rows["W-3"]["needed"] == 10
    # One of the two is bought: 10 for 10 boards, and what is lost of the number.
    assert rows["W-1"]["to_order"] == 10 + rows["W-1"]["lost"]
    assert rows["W-1"]["needed"] == 20
