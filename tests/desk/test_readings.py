"""A reading that is stated is an entry of board.toml that the command line reads, or nothing is written at all.

Figures: invented.
"""

import pytest

from capcheck.desk.readings import STATABLE, changes_kept, state_reading, undo_reading
from capcheck.model import load_manifest
from capcheck.values import InputError

WRITTEN = '# By hand.\nname = "Pump"  # kept\noutline = "edge.dxf"\nlayers = true\n\n[columns.bom]\nheight = "H"\n'


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "pump"
    made.mkdir()
    return made


@pytest.mark.rows(
    ("key", "value", "read"),
    [
        ("units", "mil", lambda m: m.units == "mil"),
        ("bottom_view", "from below", lambda m: m.bottom_view == "from below"),
        ("origin.x", "-2.5 mm", lambda m: m.origin.x == -2.5),
        ("outline.unit", "inch", lambda m: (m.outline.file, m.outline.unit) == ("edge.dxf", "inch")),
        ("outline", "rim.dxf", lambda m: m.outline.file == "rim.dxf"),
        ("columns.placements.x", "From left", lambda m: m.columns.placements == {"x": "From left"}),
        ("layers.top.gbr", "copper top", lambda m: m.layers == {"top.gbr": "copper top"}),
        ("thickness", "0.8 mm", lambda m: m.thickness == 0.8),
        ("variant", 'Fit "A"\n[x]', lambda m: m.variant == 'Fit "A"\n[x]'),
        ("bom", "<b>.csv", lambda m: m.bom == "<b>.csv"),
    ],
)
def test_an_entry_is_written_as_a_person_would_and_can_be_taken_back(request, key, value, read):
    folder = request.getfixturevalue("folder")
    own, kept = folder / "board.toml", folder.parent / "kept" / key
    path = key.split(".", 1) if key.startswith("layers") else key.split(".")
    own.write_text(WRITTEN, encoding="utf-8")
    state_reading(folder, kept, path, value)
    text = own.read_text(encoding="utf-8")
    assert read(load_manifest(own))
    assert text.startswith('# By hand.\nname = "Pump"  # kept\n')
    assert load_manifest(own).columns.bom == {"height": "H"}
    assert changes_kept(kept) == 1
    undo_reading(folder, kept)
    assert own.read_text(encoding="utf-8") == WRITTEN
    assert not changes_kept(kept)


@pytest.mark.rows(
    ("written", "key", "value", "told"),
    [
        (WRITTEN, "units", "furlong", "units"),
        (WRITTEN, "origin.x", "left", "origin.x"),
        (WRITTEN, "thickness", "-1 mm", "thickness"),
        (WRITTEN, "bottom_view", "<script>", "bottom_view"),
        (WRITTEN, "variant", "x" * 301, "shorten it"),
        (WRITTEN, "outline", "edge.dxf", "is read so already"),
        (WRITTEN, "units", "", "is not stated"),
        ("name = [", "units", "mm", "not valid TOML"),
        ("columns = 3", "columns.bom.x", "X", "columns"),
        ("x = " + "[" * 5_000, "units", "mm", "board.toml"),
        ("#" * 100_001, "units", "mm", "larger than 100 kB"),
    ],
)
def test_what_board_toml_may_not_say_is_refused_and_nothing_is_written(request, written, key, value, told):
    folder = request.getfixturevalue("folder")
    own, kept = folder / "board.toml", folder.parent / "kept"
    own.write_text(written, encoding="utf-8")
    with pytest.raises(InputError, match=told) as found:
        state_reading(folder, kept, key.split("."), value)
    assert all(problem.remedy for problem in found.value.problems)
    assert str(folder) not in str(found.value)
    assert own.read_text(encoding="utf-8") == written
    assert not changes_kept(kept)


def test_a_board_without_a_file_gets_one_and_loses_it_again(folder):
    kept = folder.parent / "kept"
    state_reading(folder, kept, ["units"], "mm")
    state_reading(folder, kept, ["side"], "bottom")
    assert load_manifest(folder / "board.toml").side == "bottom"
    state_reading(folder, kept, ["units"], "")
    assert load_manifest(folder / "board.toml").units is None
    for left in (2, 1, 0):
        undo_reading(folder, kept)
        assert changes_kept(kept) == left
    assert list(folder.iterdir()) == []
    with pytest.raises(InputError, match="no change that could be undone"):
        undo_reading(folder, kept)


def test_choices_are_those_of_board_toml():
    assert STATABLE["bottom_view"].options == ("through the board", "from below")
    assert STATABLE["outline.unit"].options == STATABLE["units"].options != ()
    assert STATABLE["thickness"].options == ()
