"""Every CSV table is converted, row by row, into the record of the module that reads it."""

import pytest

from capcheck.packages.bodies import consequences, lead_rows, made_sizes, mass, size_code_evidence
from capcheck.packages.names import arrays, cans, chip_codes, devices, written_sizes
from capcheck.packages.names.outlines import drawing_codes, published, stated_width
from capcheck.packages.tables import ball_diameters, sizes, tapes
from capcheck.packages.tables.rows import DATA, part_words, rows_of

RECORDS = {
    "array_bodies": arrays._ArrayBody,
    "balls": ball_diameters._Ball,
    "cans": cans._Can,
    "chip_extents": chip_codes._Extent,
    "densities": mass._Density,
    "drawing_codes": drawing_codes._Code,
    "greatest_metric_values": size_code_evidence._Greatest,
    "jedec_letters": published._Letter,
    "lamp_bodies": devices._Lamp,
    "lead_rows": lead_rows._Rows,
    "made_sizes": made_sizes._Made,
    "resistor_arrays": arrays._ResistorArray,
    "size_code_clashes": sizes._ClashRow,
    "size_codes": sizes.Size,
    "tape_choice": tapes._Choice,
    "tapes": tapes._Tape,
    "trays": consequences._Tray,
    "usual_pitches": written_sizes._UsualPitch,
    "widths_in_mil": stated_width._Width,
}


def test_no_table_is_without_a_record():
    assert set(RECORDS) == {path.stem for path in DATA.glob("*.csv")}


@pytest.mark.rows("name", RECORDS)
def test_every_row_is_of_its_record(name):
    assert rows_of(name, RECORDS[name])


@pytest.mark.parametrize("section", ["kind_before_code", "box"])
def test_a_word_means_one_kind_of_part(section):
    words = [word for of_one in part_words()[section].values() for word in of_one]
    assert len(words) == len(set(words))


def test_a_package_word_has_two_letters_at_least():
    # A name of single letters, such as C0805, is therefore read without these tables.
    assert min(map(len, published.words())) >= 2
