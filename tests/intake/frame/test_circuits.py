"""Panels are recognised by repeated references, half turns and suffixes, and stepped from board.toml."""

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from capcheck.intake.frame import circuits as panels
from capcheck.intake.frame.circuits import circuit_box, step, step_outline
from capcheck.model import Outline
from capcheck.model.stated import PanelSource

X, Y = np.array([3.0, 10.0, 17.5, 8.0]), np.array([2.0, 9.0, 4.0, 15.0])


def find_panel(refs, x, y, side):
    return panels.find_panel(refs, x, y, side, unique=len(set(refs)) == len(refs))


REFS = ["R1", "C1", "U1", "L1"]


def repeated(moves):
    """Return the circuit's rows once for each way of moving it."""
    x = np.concatenate([m(X, Y)[0] for m in moves])
    y = np.concatenate([m(X, Y)[1] for m in moves])
    return x, y, np.zeros(len(x), dtype=np.int8)


def moved(dx, dy):
    return lambda x, y: (x + dx, y + dy)


def turned(cx, cy):
    return lambda x, y: (cx - x, cy - y)


@given(st.integers(1, 4), st.integers(1, 3), st.floats(20, 60), st.floats(20, 60))
def test_repeated_references_by_common_steps_are_a_panel(columns, rows, pitch_x, pitch_y):
    moves = [moved(i * pitch_x, j * pitch_y) for j in range(rows) for i in range(columns)]
    panel = find_panel(REFS * len(moves), *repeated(moves))
    if len(moves) == 1:
        assert panel is None
    else:
        assert panel.circuits == len(moves)
        assert panel.circuit.tolist() == list(np.repeat(np.arange(1, len(moves) + 1), 4))
        assert not panel.turned


def test_rows_in_any_order_are_still_a_panel():
    x, y, side = repeated([moved(0, 0), moved(30, 0)])
    order = [0, 5, 2, 3, 4, 1, 7, 6]
    refs = [(REFS * 2)[i] for i in order]
    assert find_panel(refs, x[order], y[order], side).circuits == 2


def test_half_turned_circuits_are_a_panel():
    panel = find_panel(REFS * 2, *repeated([moved(0, 0), turned(60, 20)]))
    assert panel.circuits == 2
    assert panel.turned


def test_a_reference_copied_by_mistake_is_no_panel():
    x, y, side = repeated([moved(0, 0)])
    assert find_panel(["R1", "R1", "U1", "L1"], x, y, side) is None


def test_circuits_that_differ_are_no_panel():
    x, y, side = repeated([moved(0, 0), moved(30, 0)])
    x[5] += 3.0
    x[6] -= 2.0
    assert find_panel(REFS * 2, x, y, side) is None


def test_suffixes_number_the_circuits():
    refs = [f"{r}_{k}" for k in (1, 2, 3) for r in REFS]
    panel = find_panel(refs, *repeated([moved(0, 0), moved(30, 0), moved(60, 0)]))
    assert panel.circuits == 3
    assert list(panel.base[4:8]) == REFS


def test_numbered_connectors_are_no_circuits():
    x, y, side = repeated([moved(0, 0)])
    assert find_panel(["J1_1", "J1_2", "R1", "R2"], x, y, side) is None


def spec(**fields):
    return PanelSource.model_validate(fields)


def test_stepping_copies_every_row_by_the_pitch():
    panel = spec(columns=2, rows=2, pitch_x="30 mm", pitch_y="25 mm")
    copies = step(X, Y, np.zeros(4), (0, 0, 20, 18), panel)
    assert copies.circuit.tolist() == [1] * 4 + [2] * 4 + [3] * 4 + [4] * 4
    assert copies.x[4:8].tolist() == (X + 30).tolist()
    assert copies.y[12:].tolist() == (Y + 25).tolist()


def test_a_half_turn_keeps_the_circuit_in_its_box():
    panel = spec(columns=2, pitch_x="30 mm", half_turns="columns")
    copies = step(X, Y, np.full(4, 90.0), (0, 0, 20, 18), panel)
    assert copies.x[4:].tolist() == (30 + 20 - X).tolist()
    assert copies.y[4:].tolist() == (18 - Y).tolist()
    assert copies.rotation_deg[4:].tolist() == [270.0] * 4


def test_the_outline_becomes_the_panel_with_its_rails():
    outline = Outline(shapely.box(0, 0, 20, 18), ((2.0, 2.0, 3.0),))
    stepped = step_outline(outline, spec(columns=2, rows=3, pitch_x="22 mm", rails={"top": "6 mm", "bottom": "5 mm"}))
    # 22 + 20 wide; 3 × 18 and both rails high, as circuits without a stated pitch touch.
    assert stepped.polygon.bounds == (0, -5, 42, 60)
    assert len(stepped.holes) == 6


def test_rails_around_a_single_circuit_count():
    outline = Outline(shapely.box(0, 0, 60, 40))
    railed = step_outline(outline, spec(columns=1, rows=1, rails={"top": "6 mm", "bottom": "6 mm"}))
    assert railed.polygon.bounds == (0, -6, 60, 46)
    assert step_outline(outline, spec(columns=1, rows=1)) is outline


@pytest.mark.parametrize(("half_turns", "second"), [("none", (34, 4)), ("columns", (40, 8))])
def test_cut_outs_are_stepped_and_turned_like_holes(half_turns, second):
    """A slot from (4, 4) to (10, 10) in a circuit of 20 × 18; a half turn takes it to (10, 8) … (16, 14)."""
    outline = Outline(shapely.box(0, 0, 20, 18).difference(shapely.box(4, 4, 10, 10)))
    stepped = step_outline(outline, spec(columns=2, pitch_x="30 mm", half_turns=half_turns))
    corners = sorted(ring.bounds[:2] for ring in stepped.polygon.interiors)
    assert corners == [(4, 4), second]


def test_circuits_that_overlap_still_have_a_valid_contour():
    outline = Outline(shapely.box(0, 0, 20, 18).difference(shapely.box(4, 4, 10, 10)))
    assert step_outline(outline, spec(columns=2, pitch_x="3 mm")).polygon.is_valid


def test_an_outline_that_is_the_panel_already_stays():
    outline = Outline(shapely.box(0, 0, 62, 30))
    panel = spec(columns=3, pitch_x="20 mm")
    assert step_outline(outline, panel) is outline
    assert circuit_box(outline, X, Y, panel) == (3.0, 2.0, 17.5, 15.0)


@pytest.mark.parametrize("half_turns", ["rows", "alternate", "none"])
def test_each_way_of_turning(half_turns):
    copies = step(X, Y, np.zeros(4), (0, 0, 20, 18), spec(columns=2, rows=2, half_turns=half_turns))
    angles = {k: copies.rotation_deg[copies.circuit == k][0] for k in (1, 2, 3, 4)}
    expected = {"rows": [0, 0, 180, 180], "alternate": [0, 180, 180, 0], "none": [0, 0, 0, 0]}[half_turns]
    assert list(angles.values()) == expected
