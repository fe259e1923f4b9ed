"""An outline whose holes repeat is asked about: it may be a panel of the circuit.

Figures: invented, or the digits of the text.
"""

import tomllib

import numpy as np
import pytest
import shapely

from capcheck.intake.frame.panel_in_outline import circuits_in_outline
from capcheck.lexicon import sentence
from capcheck.model import Outline
from capcheck.model.stated import PanelSource

CORNERS = ((3.0, 3.0, 2.2), (37.0, 3.0, 2.2), (3.0, 27.0, 3.2))
X, Y = np.array([5.0, 20, 35, 10]), np.array([5.0, 25, 12, 20])


def panel(columns, rows):
    holes = [(x + 42.0 * i, y + 33.0 * j, d) for i in range(columns) for j in range(rows) for x, y, d in CORNERS]
    return Outline(shapely.box(0, 0, 42 * columns - 2, 33 * rows - 3), tuple(holes))


@pytest.mark.parametrize(("columns", "rows"), [(2, 1), (1, 3), (3, 2)])
def test_repeated_holes_show_the_circuits(columns, rows):
    decision = circuits_in_outline(panel(columns, rows), X, Y)
    assert decision.open
    assert f"{columns} × {rows} boards in a panel" in sentence(decision.evidence)
    assert ("pitch_x" in decision.settle) == (columns > 1)
    assert ("pitch_y" in decision.settle) == (rows > 1)
    stated = PanelSource.model_validate(tomllib.loads(decision.settle)["panel"])
    assert (stated.columns, stated.rows) == (columns, rows)
    assert stated.pitch_x == pytest.approx(42.0 if columns > 1 else None)


def test_one_circuit_is_no_panel():
    four = Outline(shapely.box(0, 0, 40, 30), ((3, 3, 3.2), (37, 3, 3.2), (3, 27, 3.2), (37, 27, 3.2)))
    assert circuits_in_outline(four, X, Y) is None


def test_parts_all_over_the_outline_are_no_panel():
    assert circuits_in_outline(panel(2, 1), np.linspace(2, 80, 30), np.linspace(2, 28, 30)) is None
