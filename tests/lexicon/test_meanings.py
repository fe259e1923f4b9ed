"""Words do not contradict each other; one that means two things in two languages says neither alone."""

import itertools

import pytest

from capcheck.intake.tables import Role, read_side_labels
from capcheck.intake.tables.header_words import read_title
from capcheck.lexicon import Concept, vocabulary
from capcheck.lexicon.sorts import FOLDER, LANGUAGES, language
from capcheck.model import Side

CONTRARIES = [
    [("sides", ("top", "top_labels")), ("sides", ("bottom", "bottom_labels"))],
    [("answers", ("yes", "yes_marks")), ("answers", ("no", "no_marks")), ("answers", ("unstated", "any_part"))],
    [("answers", ("yes", "yes_marks", "mirrored")), ("answers", ("no", "no_marks", "not_mirrored"))],
    [("fitted", ("fitted", "fitted_labels")), ("fitted", ("not_fitted", "not_fitted_labels", "excluded"))],
    [("features", (f,)) for f in ("fiducial", "hole", "test_point", "logo", "solder_bridge", "break_off_edge")],
    [("layers", ("outline", "board")), ("layers", ("other",))],
    [("lines", ("total", "end")), ("lines", ("page",)), ("lines", ("unit",)), ("lines", ("revision", "issue"))],
    [("lists", ("conjunction",)), ("lists", ("up_to",)), ("lists", ("pieces",))],
]
"""Sorts of which a word may stand in one alone."""


@pytest.mark.rows("contraries", CONTRARIES)
def test_no_word_means_two_contrary_things(contraries):
    words = vocabulary()
    meant = [
        {word for sort in sorts for word in getattr(getattr(words, section), sort).spelt}
        for section, sorts in contraries
    ]
    for one, other in itertools.combinations(meant, 2):
        assert one & other == set()


TWO_MEANINGS = {
    "nombre": {Concept.QUANTITY, Concept.NAME},  # French: how many; Spanish: what it is called
    "lage": {Concept.POSITION, Concept.SIDE},  # German: where it lies; the layer
    "masse": {Concept.MASS, Concept.SIZE},  # German Masse: how heavy it is; Maße: how large
}


def test_a_word_of_a_title_has_one_meaning_but_for_those_known_to_have_two():
    meanings = {}
    for concept, words in vocabulary().titles.items():
        for word in words.spelt:
            meanings.setdefault(word, set()).add(concept)
    assert {word: meant for word, meant in meanings.items() if len(meant) > 1} == TWO_MEANINGS


def test_a_title_of_two_meanings_claims_both_and_the_cells_decide(read_table):
    assert {Role.QUANTITY, Role.REF} <= read_title("Nombre").claims.keys()
    french = read_table("Repère,Valeur,Nombre", "R1,10k,1", "C1,100n,1")
    assert french[Role.QUANTITY] == 2
    spanish = read_table("Nombre,Valor,Cantidad", "R1,10k,1", "C1,100n,1")
    assert (spanish[Role.REF], spanish[Role.QUANTITY]) == (0, 2)


def test_a_label_of_two_meanings_is_a_side_only_beside_the_other_side():
    assert read_side_labels(["BS", "LS"]) == {"BS": Side.TOP, "LS": Side.BOTTOM}  # Bestückungsseite, Lötseite
    assert read_side_labels(["TS", "BS"]) == {"TS": Side.TOP, "BS": Side.BOTTOM}  # top side, bottom side
    assert read_side_labels(["BS"]) == {"BS": None}


def test_a_word_that_names_the_column_names_no_side():
    assert read_side_labels(["Face", "Face arrière"]) == {"Face": None, "Face arrière": Side.BOTTOM}


@pytest.mark.rows("name", LANGUAGES)
def test_a_language_says_where_its_words_come_from(name):
    text = (FOLDER / f"{name}.toml").read_text(encoding="utf-8")
    assert text.startswith("#")
    assert "source" in text.partition("[")[0]
    assert language(name)
