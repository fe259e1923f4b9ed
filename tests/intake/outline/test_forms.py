"""A form of outline file is recognised by content, and a new one is one module of the folder of forms.

Figures: invented, or the digits of the text.
"""

from itertools import pairwise

import ezdxf
import pytest

from capcheck.intake.folder.find import find_inputs
from capcheck.intake.opened import OpenedFiles
from capcheck.intake.outline import forms
from capcheck.intake.outline.form import Likeness
from capcheck.intake.outline.outline_file import OutlineOptions, read_outline


@pytest.mark.rows(
    ("head", "name", "likeness"),
    [
        (b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n", "DXF", Likeness.OUTLINE),
        (b"\xef\xbb\xbf999\nmade by hand\n  0\nSECTION\n", "DXF", Likeness.OUTLINE),
        (b"G04 profile*\n%FSLAX46Y46*%\n%MOMM*%\n", "Gerber", Likeness.OUTLINE),
        (b"%TF.FileFunction,Profile,NP*%\n%FSLAX46Y46*%\n", "Gerber", Likeness.SAYS_OUTLINE),
        (b"%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n", "Gerber", Likeness.NO_OUTLINE),
        (b"X0Y0D02*\nX10Y0D01*\n", "Gerber", Likeness.NO_OUTLINE),
        (b"# invented\n.HEADER\nBOARD_FILE 3.0 x y 1\n", "IDF", Likeness.OUTLINE),
        (b".HEADER\nLIBRARY_FILE 3.0 x y 1\n", "DXF", Likeness.DAMAGED),
        (b"Ref,X,Y\nR1,0,0\n", "DXF", Likeness.DAMAGED),
        (b"", "DXF", Likeness.DAMAGED),
    ],
)
def test_a_form_is_recognised_by_content(head, name, likeness):
    form, found = forms.likeliest_form(head)
    assert (form.name, found) == (name, likeness)


def test_a_binary_dxf_is_recognised_by_content(tmp_path):
    ezdxf.new().saveas(tmp_path / "outline.dxf", fmt="bin")
    form, likeness = forms.likeliest_form((tmp_path / "outline.dxf").read_bytes()[:100])
    assert (form.name, likeness) == ("DXF", Likeness.OUTLINE)


CORNERS = """
from typing import Final

import numpy as np

from capcheck.intake.outline.drawing import Drawing, Stroke
from capcheck.intake.outline.form import Likeness, OutlineForm


def _likeness(head):
    return Likeness.SAYS_OUTLINE if head.startswith(b"corners of the board") else Likeness.NONE


def _read(path, unit):
    corners = np.array([line.split() for line in path.read_text().splitlines()[1:]], float)
    return Drawing(str(path), strokes=[Stroke(np.vstack([corners, corners[:1]]), "")], unit="mm")


FORM: Final = OutlineForm("corners", _likeness, _read)
"""


@pytest.fixture
def folder_of_forms(tmp_path, monkeypatch):
    folder = tmp_path / "forms"
    folder.mkdir()
    monkeypatch.setattr(forms, "__path__", [*forms.__path__, str(folder)])
    forms.forms.cache_clear()
    yield folder
    forms.forms.cache_clear()


def test_a_new_form_is_one_module(folder_of_forms, tmp_path):
    (folder_of_forms / "corners.py").write_text(CORNERS)
    board = tmp_path / "board"
    board.mkdir()
    (board / "edge.txt").write_text("corners of the board\n0 0\n80 0\n80 50\n0 50\n")
    (board / "places.csv").write_text("Ref,X,Y,Rotation,Side\nR1,10,10,0,top\nR2,20,10,0,top\nC1,30,40,90,top\n")
    assert read_outline(board / "edge.txt", OutlineOptions()).outline.polygon.area == 4000
    assert find_inputs(board, OpenedFiles()).outlines[0] == board / "edge.txt"


@pytest.mark.parametrize("content", ["import nothing_of_this_name", "FORM = missing", "likeness = 1"])
def test_a_broken_form_is_an_error_and_not_left_out(folder_of_forms, content):
    (folder_of_forms / "broken.py").write_text(content)
    with pytest.raises((ImportError, NameError, AttributeError)):
        forms.likeliest_form(b"")


def test_a_drawing_without_a_header_states_no_unit(tmp_path):
    """The library makes such a file a header of its own, which counts in metres."""
    corners = [(0, 0), (80, 0), (80, 60), (0, 60), (0, 0)]
    lines = (f"0\nLINE\n8\n0\n10\n{a}\n20\n{b}\n11\n{c}\n21\n{d}\n" for (a, b), (c, d) in pairwise(corners))
    file = tmp_path / "outline.dxf"
    file.write_text(f"0\nSECTION\n2\nENTITIES\n{''.join(lines)}0\nENDSEC\n0\nEOF\n")
    drawing = forms.read_drawing(file)
    assert (drawing.unit, drawing.metric_hint) == (None, None)
