"""Lines that cross each other everywhere are no outline, and are told before they are joined.

Figures: invented drawings.
"""

import ezdxf
import numpy as np
import pytest

from capcheck.intake.outline.outline_file import OutlineOptions, read_outline
from capcheck.values import InputError


def drawn(tmp_path, lines):
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True, dxfattribs={"layer": "edge"})
    for (x1, y1), (x2, y2) in lines.tolist():
        space.add_line((x1, y1), (x2, y2))
    drawing.saveas(tmp_path / "board.dxf")
    return tmp_path / "board.dxf"


def test_thousands_of_lines_across_each_other_are_refused_at_once(tmp_path, in_time):
    lines = np.random.default_rng(1).uniform((0, 0), (100, 80), (3000, 2, 2))
    file = drawn(tmp_path, lines)
    with in_time(2), pytest.raises(InputError, match="cross each other about"):
        read_outline(file, OutlineOptions())
    assert read_outline(file, OutlineOptions(layer="edge")).outline.polygon.bounds == (0, 0, 100, 80)


def test_lines_beside_each_other_are_not_for_being_many(tmp_path):
    at = np.linspace(1, 60, 1000)
    lines = np.stack([np.column_stack([at, at * 0 + 1]), np.column_stack([at + 20, at * 0 + 79])], axis=1)
    assert read_outline(drawn(tmp_path, lines), OutlineOptions()).outline.polygon.bounds == (0, 0, 100, 80)
