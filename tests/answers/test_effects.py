"""What an answer does is said for each box of each type of question, and what it writes is what board.toml takes.

Figures: invented, or the digits of the text; an inch is 25.4 mm by definition.
"""

import tomllib

import pytest
import tomli
from hypothesis import given, strategies as st

from capcheck.answers import Edit, effects, with_entries, without_entries
from capcheck.answers.effects import filled_in
from capcheck.answers.filled_list import _titles
from capcheck.lexicon import customers_catalogue, customers_language
from capcheck.model import Manifest
from capcheck.report.questions import DATA_SHEET, FIGURES
from capcheck.report.questions.question_types import question_types

VALUES = {
    "title": "assembled",
    "other_title": "variant B",
    "unit": "mm",
    "other_unit": "mil",
    "mark": ".",
    "opposite_mark": ",",
    "dx": 1.25,
    "dy": -2.0,
    "drawn": 1.6,
    "stated": 1.0,
    "x": "Centre X",
    "y": "Centre Y",
}
"""Values of questions, as their records hold them; invented."""


@pytest.mark.rows(
    ("text", "path", "value", "found"),
    [
        ('outline = "edge.dxf"\n', ("outline", "unit"), "mm", {"outline": {"file": "edge.dxf", "unit": "mm"}}),
        ("layers = true\n", ("layers", "a.gbr"), "none", {"layers": {"a.gbr": "none"}}),
        ('units = "mm"\n', ("origin", "x"), "1 mm", {"units": "mm", "origin": {"x": "1 mm"}}),
    ],
)
def test_an_entry_is_set_in_a_table_that_is_written_short(text, path, value, found):
    assert tomli.loads(with_entries(text, [Edit(path, value)])[0]) == found


def test_an_entry_is_taken_away_and_what_is_not_there_is_no_change():
    text = '# kept\nunits = "mm"\n[origin]\nx = "1 mm" # and this\ny = "2 mm"\n'
    left, changes = without_entries(text, [("origin", "x"), ("units", "x"), ("side",)])
    assert tomli.loads(left) == {"units": "mm", "origin": {"y": "2 mm"}}
    assert [(one.path, one.old, one.new) for one in changes] == [(("origin", "x"), '"1 mm"', "")]
    assert "# kept" in left


def test_each_box_of_each_type_has_an_effect():
    wordings = customers_catalogue().questions
    assert set(effects()) == set(question_types().types)
    for type_, boxes in effects().items():
        assert len(boxes) == len(wordings[type_].boxes), type_


@pytest.mark.rows("type_", sorted(effects()))
def test_what_is_written_is_taken_by_board_toml(type_):
    for effect in effects()[type_]:
        edits = []
        for key, template in effect.board.items():
            blank = "inch" if key == "units" else "5 mm"
            text = blank if template[:2] in {"{1", "{2"} else filled_in(template, VALUES)
            edits.append(Edit(tuple(key.split(".")), text))
        edits += [Edit((effect.refs,), ("R1", "R2"))] if effect.refs else []
        edits += [Edit((effect.rest,), ("R3",))] if effect.rest else []
        edits += [Edit((effect.table, "R1"), effect.as_)] if effect.table else []
        text, changes = with_entries("", edits)
        assert len(changes) == len(edits)
        Manifest.model_validate(tomllib.loads(text))


def test_a_file_gets_plain_numbers_and_the_customers_words_as_they_are():
    with customers_language("de"):
        assert filled_in("{dx:.6f} mm", {"dx": -1.25}) == "-1.250000 mm"
    assert filled_in("{title}", {"title": "fit at \u221240 °C"}) == "fit at \u221240 °C"
    assert filled_in("{1}", {}, ["{2}"]) == "{2}"


def test_a_blank_that_an_effect_reads_is_there_in_its_box():
    for type_, boxes in effects().items():
        for effect, box in zip(boxes, customers_catalogue().questions[type_].boxes, strict=True):
            read = [name for template in effect.board.values() for name in "12" if f"{{{name}" in template]
            read += ["1"] if effect.of != "all" else []
            assert len(set(read)) <= box.count("___"), (type_, box)


def test_no_title_of_a_column_stands_for_two():
    names = {"key", "asked", "choice", "boxes", "answer", DATA_SHEET, *FIGURES}
    assert set(_titles().values()) == names


KEYS = st.sampled_from(["thickness", "units", "side", "variant", "size_codes"])
TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=30)
FILE = """\
# a board of ours
name = "demo"  # as on the order
thickness   = "1.0 mm"              # by the drawing
not_fitted = [
  "R1",  # a spare
  "[R9]",
]

# below stand the parts by hand
[mounting]
K1   = "surface"

[[fiducials]]
x = "1 mm"   # lower left
y = "1 mm"
"""


@given(st.lists(st.tuples(KEYS, TEXTS), max_size=4), st.lists(st.sampled_from(["R1", "R7", "R8"]), max_size=3))
def test_every_other_line_and_comment_stays(sets, refs):
    edits = [Edit((key,), text) for key, text in sets]
    edits += [Edit(("not_fitted",), tuple(refs)), Edit(("mounting", "R5"), "none")]
    text, _ = with_entries(FILE, edits)
    read, before = tomli.loads(text), tomli.loads(FILE)
    assert read == before | dict(sets) | {
        "not_fitted": [*before["not_fitted"], *dict.fromkeys(ref for ref in refs if ref != "R1")],
        "mounting": {"K1": "surface", "R5": "none"},
    }
    kept = [line for line in FILE.splitlines() if not line.startswith("thickness")]
    rest = iter(text.splitlines())
    assert all(line in rest for line in kept), "each of them, in their order"
    assert "# by the drawing" in text


def test_a_new_key_stands_above_the_comment_of_the_first_table():
    text, _ = with_entries(FILE, [Edit(("units",), "mm")])
    lines = text.splitlines()
    assert lines.index('units = "mm"') < lines.index("# below stand the parts by hand")
    assert lines[lines.index("[mounting]") - 1] == "# below stand the parts by hand"
