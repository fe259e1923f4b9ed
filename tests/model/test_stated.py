"""board.toml is checked key by key, and its errors say where and what to write instead.

Figures: what the tests write is invented.
"""

import pytest

from capcheck.model.stated import Manifest, load_manifest
from capcheck.values.errors import InputError


@pytest.fixture
def load(tmp_path):
    def write(text):
        path = tmp_path / "board.toml"
        path.write_text(text, encoding="utf-8")
        return load_manifest(path)

    return write


def error_of(load, text):
    with pytest.raises(InputError) as caught:
        load(text)
    return caught.value.problems


def test_everything_is_optional(load):
    assert load("") == Manifest()


def test_a_single_file_and_a_list_of_files_mean_the_same(load):
    assert load('placements = "a.csv"').placements == load('placements = ["a.csv"]').placements


def test_a_placement_file_may_state_its_own_side_and_unit(load):
    (one,) = load('placements = [{ file = "a.csv", side = "bottom", units = "thou" }]').placements
    assert (one.side, one.units) == ("bottom", "mil")


# An inch is 25.4 mm by definition.
def test_quantities_become_mm_and_gram(load):
    manifest = load('thickness = "63 mil"\nmass = "0.085 kg"\norigin = { x = "-1 in", y = "2 mm" }')
    # 1 inch is 25.4 mm exactly (international inch, 1959).
    assert manifest.thickness == pytest.approx(1.6002)
    assert manifest.mass == pytest.approx(85)
    assert (manifest.origin.x, manifest.origin.y) == (-25.4, 2.0)


def test_a_misspelt_key_names_its_line_and_the_nearest_key(load):
    (problem,) = error_of(load, 'name = "x"\nthicknes = "1.6 mm"\n')
    assert problem.where.row == 2
    assert problem.where.column == "thicknes"
    assert 'did you mean "thickness"' in problem.remedy


def test_a_misspelt_key_in_a_table_is_found_there(load):
    (problem,) = error_of(load, "[panel]\ncolums = 2\n")
    assert problem.where.column == "panel.colums"
    assert "columns" in problem.remedy


def test_a_misspelt_key_of_a_file_is_found_in_the_list_of_files(load):
    text = 'placements = [\n  { file = "a.csv" },\n  { file = "b.csv", sid = "bottom" },\n]\n'
    (problem,) = error_of(load, text)
    assert (problem.where.row, problem.where.column) == (3, "placements[2].sid")
    assert 'did you mean "side"' in problem.remedy


def test_a_wrong_kind_is_named_by_its_reference_and_told_what_is_meant(load):
    (problem,) = error_of(load, '[kinds]\n"TP*" = "hole"\n')
    assert (problem.where.row, problem.where.column) == (2, "kinds.TP*")
    assert "what the row stands for" in problem.remedy


def test_a_wrong_dimension_names_both_dimensions(load):
    (problem,) = error_of(load, 'thickness = "1.6 g"\n')
    assert "mass" in problem.what
    assert "length" in problem.what
    assert problem.where.row == 1


@pytest.mark.parametrize(
    ("spelt", "unit"),
    [
        ("mm", "mm"),
        ("Millimetre", "mm"),
        ("millimeter", "mm"),
        ("mils", "mil"),
        ("in", "inch"),
        ("Inches", "inch"),
        ('\\"', "inch"),
        ("cm", "cm"),
        ("um", "µm"),
        ("µm", "µm"),
        ("μm", "µm"),
        ("micron", "µm"),
    ],
)
def test_the_unit_of_placements_may_be_spelt_as_any_length_is(load, spelt, unit):
    assert load(f'units = "{spelt}"').units == unit


def test_a_number_without_unit_is_refused(load):
    (problem,) = error_of(load, "thickness = 1.6\n")
    assert "no unit" in problem.what


def test_all_wrong_keys_are_reported_together(load):
    assert len(error_of(load, 'thickness = "1.6 g"\nmas = "3 g"\nsize_codes = "imperial"\n')) == 3


def test_bad_toml_names_the_line(load):
    (problem,) = error_of(load, 'name = "x"\nthickness = 1.6 mm\n')
    assert problem.where.row == 2


def test_every_field_is_described():
    def models(model):
        yield model
        for field in model.model_fields.values():
            for inner in (field.annotation, *getattr(field.annotation, "__args__", ())):
                if hasattr(inner, "model_fields"):
                    yield from models(inner)

    assert [n for m in models(Manifest) for n, f in m.model_fields.items() if not f.description] == []
