"""Heights that are stated without the word for a height are read, in the languages of customers' files.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import pytest

from capcheck.lexicon import heights_in_words


@pytest.mark.rows(
    ("text", "mm"),
    [
        ("tall version 40mm", 40),
        ("connector, tall version: 40 mm", 40),
        ("profile 30mm", 30),
        ("stands 12 mm above board", 12),
        ("12 mm above the PCB", 12),
        ("low profile 1.1 mm", 1.1),
        ("overall 8mm", 8),
        ("rises up to 12 mm", 12),
        ("header pitch 2.54 mm profile 8.5mm", 8.5),
        ("8.5mm profile", 8.5),
        ("profile 0.5 inch", 12.7),
        ("steht 12 mm über der Platine", 12),
        ("hohe Ausführung 40mm", 40),
        ("gesamt 8mm", 8),
        ("version haute 40 mm", 40),
        ("dépasse de 12 mm", 12),
        ("versión alta 40 mm", 40),
        ("12 mm sobre la placa", 12),
        ("sporge 12 mm", 12),
        ("高出板面12mm", 12),
        ("基板上12mm", 12),
    ],
)
def test_a_height_in_other_words_is_read(text, mm):
    assert [found.mm for found in heights_in_words(text)] == [pytest.approx(mm)]


@pytest.mark.parametrize(
    "text", ["profile photo 30 days", "overall tolerance 5%", "10x5x3 mm overall 12 mm", "tall order"]
)
def test_other_measures_are_none(text):
    assert not heights_in_words(text)
