"""Not fitted in all its spellings; what may mean something else is not taken for it."""

import re

import pytest
from hypothesis import given, strategies as st

from capcheck.intake.tables import fitted
from capcheck.intake.tables.fitted import (
    ambiguous_nc,
    says_not_fitted,
    value_says_not_fitted,
)
from capcheck.intake.tables.fitting_remarks import Remark, remark_in, sheet_is_not_fitted, sheet_may_be_off
from capcheck.intake.tables.grouping import code


@pytest.mark.rows(
    "text",
    [
        "DNP",
        "dnp",
        "DNF",
        "DNI",
        "DNM",
        "D.N.P.",
        "NF",
        "NM",
        "N/F",
        "no pop",
        "NO-POP",
        "do not fit",
        "Do Not Populate",
        "not fitted",
        "not mounted",
        "nicht bestückt",
        "unbestückt",
        "non monté",
        "ne pas monter",
        "未実装",
        "100n DNP",
        "DNP/10k",
        "10k (DNF)",
        "no load",
        "unpopulated",
        "DNM RCHIP",
        "DNL",
        "100n DNL",
        "NI",
        "N.I.",
        "n/i",
        "don't fit",
        "10k (do not solder)",
        "not to be fitted",
        "depop",
        "not used",
        "leave empty",
        "nicht einlöten",
        "Bestückung entfällt",
        "entfällt",
        "ne pas souder",
        "R non câblée",
        "no soldado",
        "da non montare",
        "実装なし",
        "未搭載",
        "不安装",
        "空焊",
        "niet plaatsen",
        "nie montować",
        "не устанавливать",
        "vacant",
        "position left empty",
        "none fitted",
        "do not insert",
        "weggelassen",
        "Leerplatz",
        "nicht verbaut",
        "pas de composant",
        "senza componente",
        "sin componente",
        "10k nepájet",
        "vynechat",
        "nie lutować",
        "puste",
        "onbestukt",
        "leeg",
        "utelämnas",
        "ei juoteta",
        "üres",
        "boş",
        "не паять",
        "ne lemiti",
        "미장착",
        "留空",
    ],
)
def test_these_say_not_fitted(text):
    assert says_not_fitted(text)


@pytest.mark.rows(
    "text",
    [
        "10 NF",
        "10nF",
        "1NM",
        "100n",
        "DNPX4",
        "fitted",
        "NC",
        "SN74",
        "mounted",
        "DNA-4",
        "note",
        "unmarked",
        "10 NI",
        "4 ns",
        "NI-9999",
        "opens",
        "gold plated",
        "avoid vibration",
        "blank",
        "missing",
        "fehlt",
        "bottom",
        "",
    ],
)
def test_these_do_not(text):
    assert not says_not_fitted(text)


def test_a_column_without_such_a_word_costs_nothing():
    assert value_says_not_fitted(*code(["10k", "", "100n"])) is None
    assert value_says_not_fitted(*code(["10k", "DNP"])).tolist() == [False, True]


def test_nc_is_reported_as_ambiguous():
    assert ambiguous_nc(["10k", "NC", "N/C", "NCQ9999"]) == [1, 2]


def test_a_sheet_can_say_so():
    assert sheet_is_not_fitted("No Mount Components")
    assert sheet_is_not_fitted("DNP")
    assert not sheet_is_not_fitted("MOUNT")
    assert not sheet_is_not_fitted(None)


@pytest.mark.rows(
    "name",
    ["NS-3000", "BOM NL", "BOM vacant", "open points", "incl. DNP", "mit DNP", "all + DNP", "excl. DNP", "w/o DNP"],
)
def test_letters_or_words_within_the_name_of_a_sheet_take_none_of_its_parts_off(name):
    assert not sheet_is_not_fitted(name)
    assert sheet_may_be_off(name)


@pytest.mark.rows("text", ["Tom", "frei", "utelämnas inte", "не пропускать", "pominąć nie", "不打孔"])
def test_what_is_a_name_or_is_denied_takes_no_part_off(text):
    assert remark_in(text) is not Remark.PLAIN


@given(st.from_regex(re.compile(fitted._NOT_WHOLE.pattern), fullmatch=True))
def test_no_cell_that_says_not_fitted_has_other_letters_than_a_word(cell):
    assert fitted._is_not_fitted(cell)


@given(
    st.from_regex(re.compile(fitted.NOT_FITTED_WORD.pattern), fullmatch=True), st.sampled_from(["", "10k ", "100n, "])
)
def test_no_spelling_is_lost_to_the_quick_look(word, before):
    assert says_not_fitted(before + word)
