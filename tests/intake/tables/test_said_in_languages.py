"""What is said of the lists in the languages that customers write is taken for the same; what sounds alike is not.

Figures: invented.
"""

import pytest

from capcheck.intake.compare import begins_provisional
from capcheck.intake.tables import is_about_data, speaks_of_panel


@pytest.mark.rows(
    "line",
    [
        "provisoire",
        "non validé",
        "pendiente de aprobación",
        "non approvato",
        "provisorisch",
        "本清单未发布",
        "この部品表は暫定版です",
        "wersja robocza",
        "niezatwierdzone",
    ],
)
def test_a_list_that_is_not_to_be_built_from_yet(line):
    assert begins_provisional(line)


@pytest.mark.rows(
    "line",
    [
        "origine en haut à droite",
        "origen en la esquina superior derecha",
        "origine in alto a destra",
        "Nullpunkt oben links",
        "原点在右上角",
        "原点は右上",
        "początek w prawym górnym rogu",
        "nomenclature incomplète",
        "lista de materiales incompleta",
        "distinta incompleta",
        "BOM不完整",
        "部品表未完成",
        "lista niekompletna",
    ],
)
def test_an_origin_at_a_corner_and_a_list_that_is_incomplete_are_about_the_data(line):
    assert is_about_data(line)


@pytest.mark.rows("line", ["en flan de 4", "panel de 4", "quadrotto da 4", "panel po 4", "panel 4 szt.", "Nutzen zu 4"])
def test_a_panel_of_some_boards(line):
    assert speaks_of_panel(line)


@pytest.mark.rows(
    "line", ["panel de control", "panneau de commande", "pannello di controllo", "仮想回路", "validé", "oben"]
)
def test_words_that_sound_alike_say_nothing(line):
    assert not any(says(line) for says in (begins_provisional, is_about_data, speaks_of_panel))
