"""Words count however they are spelt, and nothing that only looks like them does.

Figures: invented, or the digits of the text.
"""

import re

import msgspec
import pytest
from hypothesis import given, strategies as st

from capcheck.lexicon import Concept, Words, fold, shape, units, vocabulary
from capcheck.lexicon.sorts import LANGUAGES, Sides, Vocabulary, language


@pytest.mark.rows(
    ("listed", "text"),
    [
        ("lötseite", "LÖTSEITE"),
        ("lötseite", "loetseite"),
        ("lötseite", "Lotseite"),
        ("côté composants", "Cote-Composants"),
        ("top side", "TopSide"),
        ("top side", "top_side"),
        ("no fit|load", "no load"),
        ("部品面", "部品面"),
        ("トップ", "ﾄｯﾌﾟ"),
        ("n/a", "N/A"),
        ("-", "-"),
    ],
)
def test_a_spelling_of_a_word_is_the_word(listed, text):
    assert text in Words(listed)
    assert re.fullmatch(str(Words(listed)), fold(text))


@pytest.mark.rows(
    ("listed", "text", "found"),
    [
        ("top", "board-top.csv", True),
        ("top", "laptop", False),
        ("top", "TOP面", True),
        ("gesamt*", "Gesamtsumme", True),
        ("*rand", "Platinenrand", True),
        ("*rand", "random", False),
        ("表", "部品表", False),
        ("表", "実装-表", True),
        ("未実装", "10k未実装品", True),
        ("", "anything", False),
    ],
)
def test_a_word_is_found_in_a_text_where_it_stands_alone_or_its_stars_allow_more(listed, text, found):
    assert bool(re.search(str(Words(listed)), fold(text))) is found


def test_a_sort_that_nobody_asks_for_is_an_error():
    with pytest.raises(msgspec.ValidationError, match="sidez"):
        msgspec.convert({"sidez": {}}, Vocabulary)
    with pytest.raises(msgspec.ValidationError, match="topp"):
        msgspec.convert({"topp": "oben"}, Sides)


@pytest.mark.rows("name", LANGUAGES)
def test_a_language_names_units_that_are_known(name):
    assert set(language(name).units) <= set(units().unit)


@pytest.mark.rows("word", ["Oberseite", "top", "dessus", "部品面", "顶层", "arriba", "sopra"])
def test_all_languages_together_have_the_words_of_each(word):
    assert word in vocabulary().sides.top


_JOINTS = st.sampled_from(["", " ", "-", "_"])


@given(
    entry=st.sampled_from(["dessus", "gesamt*", "*rand", "not fitted", "no fit|load", "für hand*", "客户 自装"]),
    joint=_JOINTS,
    around=st.tuples(st.text(max_size=5), st.text(max_size=5)),
)
def test_the_quick_look_says_yes_wherever_the_expression_finds_a_word(
    entry: str, joint: str, around: tuple[str, str]
) -> None:
    words = Words(entry)
    for listed in words.listed:
        text = fold(around[0] + joint.join(listed.strip("*").split()) + around[1])
        if re.search(str(words), text):
            assert words.may_stand_in(text)
    assert not words.may_stand_in("0815")


@given(
    entry=st.sampled_from(["dessus", "gesamt*", "not fitted", "2 row", "sma 90|180", "für hand*", "客户 自装", "h7"]),
    number=st.integers(0, 10**6),
    words=st.sampled_from(
        ["dessus", "GESAMTHÖHE", "not-fitted", "NotFitted", "2row", "sma-180", "客户自装", "H7", "x"]
    ),
)
def test_what_a_text_of_one_form_cannot_say_none_of_that_form_says(entry, number, words):
    text = fold(f"C{number} {words} 4{number}")
    listed = Words(entry)
    if re.search(str(listed), text):
        assert listed.may_stand_in(text)
        assert listed.may_stand_in_shape(shape(text))


def test_texts_that_differ_in_their_numbers_are_of_one_form():
    assert shape("100nF 0402 ±10%") == shape("220nF 1206 ±20%") == "000nF 0000 ±00%"


def test_a_phrase_may_stand_only_where_each_of_its_words_does():
    assert not Words("low body, flat top").may_stand_in("body 5x5 mm, top side")
    assert Words("low body, flat top").may_stand_in("low-body")


def test_words_that_are_asked_for_once_a_form_have_no_digit():
    mountings, lines = vocabulary().mountings, vocabulary().lines
    asked = (mountings.surface, mountings.drilled, mountings.leads, lines.tall, lines.stature, lines.overall)
    for words in (*asked, vocabulary().titles[Concept.HEIGHT]):
        assert not any(c.isdigit() for word in words.listed for c in word)
